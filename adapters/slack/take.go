package slack

import (
	"context"
	"encoding/json"
	"errors"
	"maps"
	"slices"
	"strings"

	"github.com/slack-go/slack"

	"kitbell/bot"
)

// take hands on what a payload says and gives the answer to acknowledge it
// with. An error means that it is not acknowledged: nothing of it is stored and
// nobody was told.
func (a *Adapter) take(ctx context.Context, h bot.Handler, kind string, raw json.RawMessage) (answer any, err error) {
	if kind == kindEvent {
		if c, err := decode[callback](raw); err == nil && a.lost(ctx, c) {
			return nil, nil
		}
	}
	heard, ok, err := a.hear(kind, raw)
	if err != nil {
		a.options.Log.WarnContext(ctx, "payload that nobody can read set aside", "kind", kind, "error", err)
		return nil, nil // it would come again just the same
	}
	if !ok {
		return nil, nil
	}
	e := heard.event
	place, known := a.options.Directory(e.Where, e.From.ID)
	switch {
	case !known:
		a.refuse(ctx, heard)
		return nil, nil
	case heard.plain && !place.Listen:
		return nil, nil
	}
	e.Department = place.Department
	a.options.Count("event")
	if a.openForm(ctx, heard) {
		return nil, nil
	}
	a.handles.keep(e.ID, heard.reply)
	return a.handOn(ctx, h, e)
}

func (a *Adapter) handOn(ctx context.Context, h bot.Handler, e bot.Event) (answer any, err error) {
	err = h.Handle(ctx, e)
	if err == nil {
		return nil, nil
	}
	if ctx.Err() != nil {
		return nil, err
	}
	sentence, field := bot.SayNotStored.With().Say, ""
	if forPerson := (*bot.UserError)(nil); errors.As(err, &forPerson) {
		sentence, field = forPerson.Say, forPerson.Field
	} else {
		a.options.Log.ErrorContext(ctx, "event not stored", "event", e.ID, "error", err)
	}
	if e.Kind == bot.Submitted && len(e.Values) > 0 {
		at := slices.Sorted(maps.Keys(e.Values))[0]
		if _, shown := e.Values[field]; shown {
			at = field
		}
		return slack.NewErrorsViewSubmissionResponse(map[string]string{at: sentence}), nil
	}
	return nil, a.tell(ctx, e, sentence)
}

// tell says a sentence to the person of an event, now: it does not go through
// the outbox, for the store may be what is in trouble.
func (a *Adapter) tell(ctx context.Context, e bot.Event, sentence string) error {
	ctx, cancel := context.WithTimeout(ctx, ackWithin) // the platform waits for its acknowledgement
	defer cancel()
	to := e.Where
	to.Person = e.From.ID
	_, err := a.Send(ctx, bot.Outgoing{To: to, Answers: e.ID, Reply: bot.Reply{Text: sentence, Private: true}})
	return err
}

// refuse tells somebody elsewhere, once, that the bot does not work there.
// Nothing of it is stored.
func (a *Adapter) refuse(ctx context.Context, h heard) {
	e := h.event
	a.options.Count("refused")
	key := e.Where.Workspace + "/" + e.From.ID
	a.mu.Lock()
	told := a.refused[key] || len(a.refused) > mostWaiting
	a.refused[key] = true
	a.mu.Unlock()
	if told || h.plain || e.Kind == bot.Opened {
		return
	}
	a.handles.keep(e.ID, h.reply)
	a.asides.Go(func() { // beside the link: others' messages do not wait for it
		ctx := context.WithoutCancel(ctx)
		if err := a.tell(ctx, e, bot.SayElsewhere.With().Say); err != nil {
			a.options.Log.InfoContext(ctx, "stranger not told", "workspace", e.Where.Workspace, "error", err)
		}
	})
}

// openForm answers a press by the form that it asks for, if any. The press is
// then not handed on: what counts is the form, when it is sent.
func (a *Adapter) openForm(ctx context.Context, h heard) bool {
	e := h.event
	if a.options.Prompter == nil || h.trigger == "" {
		return false
	}
	value := e.Press
	if e.Kind == bot.Said {
		value = "form:" + strings.ToLower(e.Text) // the command with nothing but a form's name behind it
	}
	form, ok := a.options.Prompter.Form(ctx, bot.Press{From: e.From, Where: e.Where, Value: value, Outside: e.Outside})
	if !ok {
		return false
	}
	api, err := a.api(e.Where.Workspace)
	if err == nil {
		ctx, cancel := context.WithTimeout(ctx, ackWithin) // the trigger lives three seconds
		defer cancel()
		_, err = api.OpenViewContext(ctx, h.trigger, modal(form, e.Where))
	}
	if err != nil {
		a.options.Log.WarnContext(ctx, "form not opened", "form", form.ID, "error", a.translate(err, true))
		return false // the command behind the press says what to type
	}
	return true
}
