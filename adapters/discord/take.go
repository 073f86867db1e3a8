package discord

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"runtime/debug"
	"strings"
	"time"

	"kitbell/bot"
)

const (
	callFor = 10 * time.Second
	// ackWithin is when an interaction is answered at the latest, whatever the
	// disk does: its token dies after tokenDies.
	ackWithin = 2 * time.Second
	tokenDies = 3 * time.Second
)

// answer is what an interaction is answered with at once.
type answer struct {
	Type int `json:"type"`
	Data any `json:"data,omitempty"`
}

// onlyFlags is the data of an answer that is nothing but private, or not.
type onlyFlags struct {
	Flags int `json:"flags"`
}

// response is the first answer of an interaction and what follows it.
type response struct {
	answer answer
	handle *handle
	after  func(context.Context) // nil when nothing follows
}

// given says that the first answer is with the platform, or that it is not.
func (r response) given(err error) {
	if r.handle != nil {
		flags, _ := r.answer.Data.(onlyFlags)
		r.handle.answered(r.answer.Type == waitAnswer, flags.Flags&ephemeralFlag != 0, err)
	}
}

// work takes in what the link queued, one thing after the other, until ctx ends.
func (g *gateway) work(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case p := <-g.queue:
			g.take(ctx, p)
		}
	}
}

// take takes one payload in. A panic over one, such as a payload of a shape that
// nobody expected, is the end of that one only.
func (g *gateway) take(ctx context.Context, p payload) {
	defer func() {
		if wrong := recover(); wrong != nil {
			g.options.Log.ErrorContext(ctx, "payload set aside", "kind", p.Type, "panic", wrong, "stack", string(debug.Stack()))
		}
	}()
	switch p.Type {
	case "INTERACTION_CREATE":
		g.takeInteraction(ctx, p.Data)
	case "MESSAGE_CREATE", "MESSAGE_UPDATE", "MESSAGE_DELETE", "MESSAGE_REACTION_ADD":
		g.hearsOf(p.Data)
		if err := g.takeMessage(ctx, g.handler, p); err != nil && ctx.Err() == nil {
			g.options.Log.WarnContext(ctx, "payload set aside", "kind", p.Type, "error", err)
		}
	case "CHANNEL_DELETE", "GUILD_DELETE":
		g.loses(ctx, p)
	default:
		g.places.learnFrom(p.Type, p.Data)
	}
}

// loses tells of a channel or a guild that is gone. A guild that is not available
// for a while is not.
func (g *gateway) loses(ctx context.Context, p payload) {
	var gone struct {
		ID          string `json:"id"`
		Guild       string `json:"guild_id"`
		Unavailable bool   `json:"unavailable"`
	}
	if json.Unmarshal(p.Data, &gone) != nil || gone.Unavailable || !isID(gone.ID) {
		return
	}
	if p.Type == "CHANNEL_DELETE" {
		g.options.Lost(ctx, bot.Address{Platform: Name, Workspace: gone.Guild, Channel: gone.ID}, "the channel was deleted")
		return
	}
	g.options.Lost(ctx, bot.Address{Platform: Name, Workspace: gone.ID}, "I was taken out of the server")
}

// hearsOf keeps the latest id, after which a gap would begin.
func (g *gateway) hearsOf(raw json.RawMessage) {
	var at idOnly
	if json.Unmarshal(raw, &at) != nil {
		return
	}
	if n := number(at.ID); n > g.last.Load() {
		g.last.Store(n) // only the worker writes
	}
}

// takeMessage hands on what a person did to a message.
func (a *Adapter) takeMessage(ctx context.Context, h bot.Handler, p payload) error {
	heard, ok, err := a.hear(ctx, p.Type, p.Data)
	if err != nil || !ok {
		return err
	}
	e := heard.event
	if p.fetched && a.recent.heard(heard.message) {
		return nil
	}
	place, known := a.options.Directory(e.Where, e.From.ID)
	switch {
	case !known:
		a.options.Count("refused")
		return nil
	case heard.plain && !place.Listen:
		return nil
	}
	e.Department = place.Department
	a.options.Count("event")
	if e.Kind == bot.Said || e.Kind == bot.Shared {
		a.recent.add(heard.message, author{id: e.From.ID, direct: e.Direct})
	}
	if err := h.Handle(ctx, e); err != nil && ctx.Err() == nil {
		a.tell(ctx, e, a.sentence(ctx, e, err))
	}
	return nil
}

// sentence is what the person of an event hears when it was not stored.
func (a *Adapter) sentence(ctx context.Context, e bot.Event, err error) string {
	if forPerson := (*bot.UserError)(nil); errors.As(err, &forPerson) {
		return forPerson.Say
	}
	a.options.Log.ErrorContext(ctx, "event not stored", "event", e.ID, "error", err)
	return bot.SayNotStored.With().Say
}

// tell says a sentence to the person of an event, now: it does not go through
// the outbox, for the store may be what is in trouble. What answers no
// interaction stands in the channel: the platform shows it to one person only as
// an answer to one.
func (a *Adapter) tell(ctx context.Context, e bot.Event, sentence string) {
	ctx, cancel := context.WithTimeout(ctx, callFor)
	defer cancel()
	o := bot.Outgoing{Key: "trouble/" + e.ID, To: e.Where, Answers: e.ID, Reply: bot.Reply{Text: sentence}}
	if a.handles.get(e.ID) != nil {
		o.To.Person = e.From.ID
	}
	if _, err := a.Send(ctx, o); err != nil {
		a.options.Log.WarnContext(ctx, "person not told", "event", e.ID, "error", err)
	}
}

// takeInteraction decides the first answer of an interaction, and leaves the
// calls to others: the next payload does not wait for them.
func (g *gateway) takeInteraction(ctx context.Context, raw json.RawMessage) {
	i, ok := g.readInteraction(ctx, raw)
	if !ok {
		return
	}
	r := g.respond(ctx, g.handler, i)
	// A first answer that is on its way when ctx ends still arrives: the person
	// waits for it, and what they did is stored.
	g.behind.Go(func() {
		last, cancel := context.WithTimeout(context.WithoutCancel(ctx), tokenDies)
		defer cancel()
		path := "interactions/" + i.ID + "/" + i.Token + "/callback"
		err := g.do(last, request{method: http.MethodPost, path: path, body: r.answer, secret: true}, nil)
		if hasCode(err, codeAcknowledged) { // it came twice
			err = nil
		}
		if err != nil {
			g.options.Log.WarnContext(ctx, "interaction not answered", "event", i.ID, "error", err)
		}
		r.given(err)
		if r.after != nil {
			r.after(ctx)
		}
	})
}

// readInteraction reads an interaction and checks that it can be answered: what
// fails to decode must not be used (PLATFORMS.md).
func (a *Adapter) readInteraction(ctx context.Context, raw json.RawMessage) (interaction, bool) {
	i, err := decode[interaction](raw)
	if err != nil || i.Type < commandInteraction || i.Type > formInteraction || !isID(i.ID) || !isToken(i.Token) || !isID(i.person()) {
		a.options.Log.WarnContext(ctx, "interaction that nobody can answer set aside", "kind", i.Type, "error", err)
		return i, false
	}
	if app, _ := a.whoami(); app == "" && isID(i.App) {
		a.know(i.App, "")
	}
	return i, true
}

// isToken says whether a reply token can stand in a path.
func isToken(text string) bool {
	for _, r := range text {
		if !(r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("_-.=:", r)) {
			return false
		}
	}
	return strings.Trim(text, ".") != ""
}

// respond decides what an interaction is answered with at once. It is handed on
// before that; where the disk takes too long, the answer goes out first.
func (a *Adapter) respond(ctx context.Context, h bot.Handler, i interaction) response {
	heard, ok := a.interacted(ctx, i)
	if i.Type == typingInteraction {
		return response{answer: a.suggest(ctx, i, heard.event)}
	}
	if !ok {
		return response{answer: say(bot.SayOldButton.With().Say)}
	}
	e := heard.event
	place, known := a.options.Directory(e.Where, e.From.ID)
	if !known {
		a.options.Count("refused")
		return response{answer: say(bot.SayElsewhere.With().Say)}
	}
	e.Department = place.Department
	a.options.Count("event")
	if form, ok := a.formFor(ctx, e, i.Type == commandInteraction); ok {
		return response{answer: answer{Type: formAnswer, Data: form}}
	}
	return a.handOn(ctx, h, i, e)
}

// handOn hands an event on and says that an answer is on its way. How to send
// that is kept before anybody can send it.
func (a *Adapter) handOn(ctx context.Context, h bot.Handler, i interaction, e bot.Event) response {
	r := response{answer: acknowledgement(i, e), handle: a.handles.open(e.ID, i.App, i.Token)}
	stored := make(chan error, 1)
	go func() {
		last, cancel := context.WithTimeout(context.WithoutCancel(ctx), callFor)
		defer cancel()
		stored <- safely(last, h, e)
	}()
	late := time.NewTimer(ackWithin)
	defer late.Stop()
	select {
	case err := <-stored:
		if err != nil {
			r.answer = say(a.sentence(ctx, e, err))
		}
	case <-late.C:
		r.after = func(ctx context.Context) {
			if err := <-stored; err != nil {
				a.tell(ctx, e, a.sentence(ctx, e, err))
			}
		}
	}
	return r
}

// safely makes a handler's panic an error.
func safely(ctx context.Context, h bot.Handler, e bot.Event) (err error) {
	defer func() {
		if recover() != nil {
			err = errors.New("handler panicked")
		}
	}()
	return h.Handle(ctx, e)
}

// acknowledgement is the first answer of what is answered later. Who sees that
// is fixed by it.
func acknowledgement(i interaction, e bot.Event) answer {
	switch {
	case i.Type == pressInteraction || i.Type == formInteraction && i.Message != nil:
		return answer{Type: quietAnswer}
	case e.Where.Person != "":
		return answer{Type: waitAnswer, Data: onlyFlags{ephemeralFlag}}
	}
	return answer{Type: waitAnswer, Data: onlyFlags{}}
}

// say is a sentence for the one person, as a first answer.
func say(sentence string) answer {
	c := contentOf(bot.Reply{Text: sentence})
	c.Flags |= ephemeralFlag
	return answer{Type: messageAnswer, Data: c}
}

// suggest answers typing.
func (a *Adapter) suggest(ctx context.Context, i interaction, e bot.Event) answer {
	out := choices{Choices: []choice{}}
	_, known := a.options.Directory(e.Where, e.From.ID)
	partial, ok := a.typing(i)
	if ok && known && a.options.Prompter != nil {
		for _, c := range a.options.Prompter.Suggest(ctx, partial) {
			if len(out.Choices) < maxOptions && c.Label != "" && len([]rune(c.Value)) <= 100 {
				out.Choices = append(out.Choices, choice{bot.Shorten(c.Label, 100), c.Value})
			}
		}
	}
	return answer{Type: choicesAnswer, Data: out}
}

// formFor is the form that a press asks for, or a command whose options leave out
// what the form needs.
func (a *Adapter) formFor(ctx context.Context, e bot.Event, typed bool) (form, bool) {
	if e.Kind != bot.Pressed && (e.Kind != bot.Submitted || !typed) {
		return form{}, false
	}
	press := e.Press
	if e.Kind == bot.Submitted {
		press = "form:" + strings.ToLower(e.Form)
	}
	f, ok := a.prompted(ctx, e, press)
	if !ok || e.Kind == bot.Submitted && !filledIn(&f, e.Values) && len(e.Values) > 0 {
		return form{}, false
	}
	return formOf(f, press), true
}

// filledIn puts a command's options into its form, and says whether something
// that is needed is still open: what a person did not type is not settled by what
// the form begins with.
func filledIn(f *bot.Form, values map[string]string) (open bool) {
	for i, in := range f.Inputs {
		if v := values[in.Name]; v != "" {
			f.Inputs[i].Value = v
		} else if in.Needed {
			open = true
		}
	}
	return open
}

// prompted asks for a form.
func (a *Adapter) prompted(ctx context.Context, e bot.Event, press string) (bot.Form, bool) {
	if a.options.Prompter == nil || press == "" {
		return bot.Form{}, false
	}
	f, ok := a.options.Prompter.Form(ctx, bot.Press{From: e.From, Where: e.Where, Value: press, Outside: e.Outside})
	return f, ok && len(f.Inputs) > 0
}
