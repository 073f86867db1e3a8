package command

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"kitbell/bot"
	"kitbell/bot/kit"
)

// seenKind is the journal's word for a mark that says "I have seen this".
const seenKind = "seen"

// seenMarks are the names of the mark that means seen. It never means checked.
func seenMarks() []string { return []string{"+1", "thumbsup", "👍"} }

// seen is the body of such an entry; its subject is the message.
type seen struct {
	Channel string `json:"channel"`
}

func asUserError(err error) (string, bool) {
	var forPerson *bot.UserError
	if errors.As(err, &forPerson) {
		return forPerson.Say, true
	}
	return "", false
}

// habit answers what people do on chat platforms beside typing and pressing.
// done is false for what the commands answer.
func (r *Request) habit(ctx context.Context) (result Result, done bool, err error) {
	switch r.Event.Kind {
	case bot.Deleted:
		result, err = r.deleted(ctx)
	case bot.Reacted:
		result = r.reacted()
	case bot.Shared:
		result, err = r.shared()
	case bot.Opened:
		result, err = r.home(ctx)
	default:
		return Result{}, false, nil
	}
	if sentence, ok := asUserError(err); ok {
		return Answer(bot.Reply{Text: sentence, Private: true}), true, nil
	}
	return result, true, err
}

// deleted removes nothing. Where the message had booked something, the person
// hears that it stands, and can undo it.
func (r *Request) deleted(ctx context.Context) (Result, error) {
	if r.Memory.Photo != nil && r.Memory.Photo.Event == r.Event.About {
		r.Memory.Photo = nil
	}
	steps, entries, err := r.Books.Done(ctx, r.Department.Slug, r.Event.About)
	if err != nil {
		return Result{}, fmt.Errorf("read what event wrote: %w", err)
	}
	var stands string
	for _, s := range lastSteps(steps) {
		now, err := r.Books.Line(ctx, r.Department.Slug, s.New.Number)
		if err != nil {
			return Result{}, fmt.Errorf("read line %d: %w", s.New.Number, err)
		}
		if r.Now.Sub(s.At) <= kit.UndoFor && !isUndone(s, now) {
			stands = fmt.Sprintf("#%d %s", now.Number, r.lineWords(now))
		}
	}
	for _, e := range entries {
		if r.Now.Sub(e.At) <= kit.UndoFor {
			stands = r.undoneEntry(e)
		}
	}
	value := "undo:" + r.Event.About
	if stands == "" || len(value) > bot.MaxButtonValue {
		return Result{}, nil
	}
	return Answer(bot.Reply{
		Text: "You took your message away. What it booked stands: " + stands + ".", Private: true,
		Buttons: []bot.Button{{Label: "Undo", Value: value}},
	}), nil
}

// saidBy is the event by which the message was first said: what a later wording
// of it booked is taken back with what the first one did.
func (r *Request) saidBy() string {
	if r.Event.Kind == bot.Edited {
		return r.Event.About
	}
	return r.Event.ID
}

// reacted keeps that somebody has seen a message. Any other mark means nothing.
func (r *Request) reacted() Result {
	if !slices.Contains(seenMarks(), r.Event.Text) || r.Event.On == "" {
		return Result{}
	}
	entry := bot.NewEntry(seenKind, r.Event.On, r.Who.Person, r.Now, seen{Channel: r.Event.Where.Channel})
	return Result{Changes: []bot.Change{bot.Written{Entry: entry}}}
}

// sayAmended says, above the answer to the new wording, what of the first one is
// taken back.
func (r *Request) sayAmended(result *Result) {
	switch {
	case r.amended == "":
	case len(result.Posts) == 0 || result.Posts[0].To != (Place{}):
		result.Posts = append(Say(r.amended).Posts, result.Posts...)
	default:
		reply := &result.Posts[0].Reply
		reply.Text = strings.TrimSuffix(r.amended+"\n"+reply.Text, "\n")
	}
}

// amend makes of a changed message what it would have been: what the first
// wording booked is taken back, where nobody has worked on it since, and the new
// wording is heard in its place. The first step is a turn of its own; a crash
// behind it repeats both, and finds the first one done.
func (ro *Router) amend(ctx context.Context, r *Request) error {
	steps, entries, err := r.Books.Done(ctx, r.Department.Slug, r.Event.About)
	if err != nil {
		return fmt.Errorf("read what event wrote: %w", err)
	}
	if len(steps)+len(entries) == 0 {
		return nil
	}
	result, err := r.takeBack(ctx, steps, entries)
	if sentence, ok := asUserError(err); ok && sentence == bot.SayUndoTwice.With().Say {
		return nil
	}
	if err != nil {
		return err
	}
	r.amended = result.Posts[0].Reply.Text
	return ro.Ledger.Apply(ctx, bot.Turn{
		Department: r.Event.Department, Platform: r.Event.Where.Platform, Actor: r.Who.Person, At: r.Now, Changes: result.Changes,
	})
}
