package discord

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"strings"
	"time"

	"kitbell/bot"
)

// sayTrouble is what a person hears when an event could not be stored. The
// cause is for the log.
const sayTrouble = "Something went wrong on my side, and nothing was booked. Please try again in a minute."

const (
	callFor   = 10 * time.Second
	ackWithin = 2500 * time.Millisecond // the platform gives three seconds
	// missedFor is how far back a new start looks for messages that it missed.
	missedFor  = 15 * time.Minute
	mostMissed = 100
)

// work takes one delivery after the other.
func (a *Adapter) work(ctx context.Context, h bot.Handler, incoming *queue) {
	for {
		d, ok := incoming.next(ctx)
		if !ok {
			return
		}
		a.handle(ctx, h, d)
	}
}

// handle takes one delivery. A panic over one, such as a payload of a shape that
// nobody expected, is the end of that one only.
func (a *Adapter) handle(ctx context.Context, h bot.Handler, d delivery) {
	defer func() {
		if p := recover(); p != nil {
			a.options.Log.ErrorContext(ctx, "delivery set aside", "type", d.kind, "panic", fmt.Sprint(p))
		}
	}()
	switch d.kind {
	case "READY":
		a.readied(ctx, h, d.raw)
	case "RESUMED":
		a.setUp(true)
	case "THREAD_CREATE":
		if c, err := decode[channel](d.raw); err == nil {
			a.noteThread(c)
		}
	default:
		if _, err := a.take(ctx, h, d); err != nil && ctx.Err() == nil {
			a.options.Log.WarnContext(ctx, "delivery set aside", "type", d.kind, "error", err)
		}
	}
}

// readied begins a session: who the bot is, what commands it has, and what was
// said while it was away.
func (a *Adapter) readied(ctx context.Context, h bot.Handler, raw json.RawMessage) {
	r, err := decode[ready](raw)
	if err != nil {
		a.options.Log.ErrorContext(ctx, "session not understood", "error", err)
		return
	}
	a.loggedIn()
	a.mu.Lock()
	a.self, a.app, a.up = r.User.ID, r.Application.ID, true
	a.mu.Unlock()
	a.options.Log.InfoContext(ctx, "gateway is open")
	if err := a.offerCommands(ctx); err != nil {
		a.options.Log.WarnContext(ctx, "commands not offered", "error", err)
	}
	a.fetchMissed(ctx, h)
}

// fetchMissed hands on what was said in the channels since the last message that
// was seen there. What is known already does nothing twice.
func (a *Adapter) fetchMissed(ctx context.Context, h bot.Handler) {
	for _, id := range a.options.Channels() {
		a.mu.Lock()
		after := a.seen[id]
		a.mu.Unlock()
		if after == "" {
			after = idAt(a.options.Clock.Now().Add(-missedFor))
		}
		var missed []message
		path := fmt.Sprintf("channels/%s/messages?after=%s&limit=%d", id, url.QueryEscape(after), mostMissed)
		if err := a.call(ctx, "GET", path, nil, &missed); err != nil {
			a.options.Log.WarnContext(ctx, "missed messages not fetched", "channel", id, "error", err)
			continue
		}
		for i := len(missed) - 1; i >= 0; i-- { // the newest comes first
			missed[i].Channel = id
			if missed[i].Guild == "" {
				missed[i].Guild = a.guildOf(id)
			}
			if encoded, err := json.Marshal(missed[i]); err == nil {
				a.handle(ctx, h, delivery{"MESSAGE_CREATE", encoded})
			}
		}
	}
}

// guildOf finds the guild whose channel it is, among those of the files.
func (a *Adapter) guildOf(channel string) string {
	for _, guild := range a.options.Guilds() {
		if _, ok := a.options.Directory(bot.Address{Platform: Name, Workspace: guild, Channel: channel}, ""); ok {
			return guild
		}
	}
	return ""
}

// answer is what an interaction is answered with at once.
type answer struct {
	Type int `json:"type"`
	Data any `json:"data,omitempty"`
}

// take hands on what a delivery says and answers an interaction. The answer is
// also given back, for HTTP, where it is not sent by a call.
func (a *Adapter) take(ctx context.Context, h bot.Handler, d delivery) (*answer, error) {
	heard, ok, err := a.hear(d)
	if err != nil || !ok {
		return nil, err
	}
	reply := a.decide(ctx, h, &heard)
	if reply == nil || heard.interaction == nil {
		return reply, nil
	}
	if d.kind != "INTERACTION_CREATE" {
		return reply, nil
	}
	ctx, cancel := context.WithTimeout(ctx, ackWithin)
	defer cancel()
	i := heard.interaction
	return nil, a.call(ctx, "POST", "interactions/"+i.ID+"/"+i.Token+"/callback", reply, nil)
}

// decide does what a delivery asks and gives the answer to its interaction, nil
// where it has none.
func (a *Adapter) decide(ctx context.Context, h bot.Handler, heard *heard) *answer {
	e, i := heard.event, heard.interaction
	place, known := a.options.Directory(e.Where, e.From.ID)
	switch {
	case !known:
		return a.refuse(heard)
	case heard.plain && !place.Listen:
		return nil
	case i != nil && i.Type == typingInteraction:
		return a.suggest(ctx, *i)
	}
	e.Department = place.Department
	a.options.Count("event")
	if i == nil {
		a.handOn(ctx, h, e)
		return nil
	}
	if form, ok := a.formFor(ctx, e); ok {
		return &answer{Type: formAnswer, Data: form}
	}
	if sentence := a.store(ctx, h, e); sentence != "" {
		return &answer{Type: messageAnswer, Data: content{Content: sentence, Flags: ephemeralFlag, Mentions: noMentions()}}
	}
	return a.acknowledge(*i, e)
}

// acknowledge says that an answer is on its way, and keeps how to send it.
func (a *Adapter) acknowledge(i interaction, e bot.Event) *answer {
	t := token{app: i.App, secret: i.Token}
	reply := &answer{Type: quietAnswer}
	if i.Type == commandInteraction || i.Type == formInteraction && i.Message == nil {
		t.waits, t.private = true, e.Where.Person != ""
		reply.Type = waitAnswer
		if t.private {
			reply.Data = content{Flags: ephemeralFlag}
		}
	}
	a.tokens.keep(e.ID, t)
	return reply
}

// store hands an event on and gives the sentence that the person has to hear,
// empty when all is well.
func (a *Adapter) store(ctx context.Context, h bot.Handler, e bot.Event) string {
	err := h.Handle(ctx, e)
	if err == nil || ctx.Err() != nil {
		return ""
	}
	if forPerson := (*bot.UserError)(nil); errors.As(err, &forPerson) {
		return forPerson.Say
	}
	a.options.Log.ErrorContext(ctx, "event not stored", "event", e.ID, "error", err)
	return sayTrouble
}

func (a *Adapter) handOn(ctx context.Context, h bot.Handler, e bot.Event) {
	sentence := a.store(ctx, h, e)
	if sentence == "" {
		return
	}
	ctx, cancel := context.WithTimeout(ctx, callFor)
	defer cancel()
	to := e.Where // the platform shows a message to one person only as the answer to an interaction
	if _, err := a.Send(ctx, bot.Outgoing{Key: "trouble/" + e.ID, To: to, Reply: bot.Reply{Text: sentence}}); err != nil {
		a.options.Log.WarnContext(ctx, "person not told", "event", e.ID, "error", err)
	}
}

// refuse tells somebody elsewhere that the bot does not work there. Nothing of
// it is stored; a message there gets no answer at all.
func (a *Adapter) refuse(h *heard) *answer {
	a.options.Count("refused")
	if h.interaction == nil {
		return nil
	}
	if h.interaction.Type == typingInteraction {
		return &answer{Type: choicesAnswer, Data: choices{Choices: []choice{}}}
	}
	return &answer{Type: messageAnswer, Data: content{Content: bot.SayElsewhere.With().Say, Flags: ephemeralFlag, Mentions: noMentions()}}
}

// suggest answers typing.
func (a *Adapter) suggest(ctx context.Context, i interaction) *answer {
	out := choices{Choices: []choice{}}
	partial, ok := a.typing(i)
	if ok && a.options.Prompter != nil {
		for _, c := range a.options.Prompter.Suggest(ctx, partial) {
			if len(out.Choices) < maxButtons {
				out.Choices = append(out.Choices, choice{short(c.Label, 100), short(c.Value, 100)})
			}
		}
	}
	return &answer{Type: choicesAnswer, Data: out}
}

// formFor is the form that a press or a bare command asks for.
func (a *Adapter) formFor(ctx context.Context, e bot.Event) (form, bool) {
	if a.options.Prompter == nil || e.Kind != bot.Pressed && (e.Kind != bot.Submitted || len(e.Values) > 0) {
		return form{}, false
	}
	value := e.Press
	if e.Kind == bot.Submitted {
		value = "form:" + strings.ToLower(e.Form) // the command with no options
	}
	f, ok := a.options.Prompter.Form(ctx, bot.Press{From: e.From, Where: e.Where, Value: value})
	if !ok {
		return form{}, false
	}
	return formOf(f), true
}
