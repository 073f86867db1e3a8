package command

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
)

// UndoCommand takes back what a person wrote last, for kit.UndoFor: queue lines
// and journal entries, all that one message wrote.
func UndoCommand() Command {
	return Command{
		Name:    string(understand.Undo),
		Usage:   "undo",
		Summary: "Take back what you just reported, for 5 minutes.",
		Run:     undo,
	}
}

func undo(ctx context.Context, r *Request) (Result, error) {
	event, err := r.eventToUndo(ctx)
	if err != nil {
		return Result{}, err
	}
	steps, entries, err := r.Books.Done(ctx, r.Department.Slug, event)
	if err != nil {
		return Result{}, fmt.Errorf("read what event wrote: %w", err)
	}
	return r.takeBack(ctx, steps, entries)
}

// eventToUndo is the event that wrote the line of the button, or the person's
// last one.
func (r *Request) eventToUndo(ctx context.Context) (string, error) {
	if r.Ref != "" {
		return r.Ref, nil
	}
	event, ok, err := r.Books.LastEventBy(ctx, r.Department.Slug, r.Who.Person, seenKind, r.Now.Add(-kit.UndoFor))
	if err != nil {
		return "", fmt.Errorf("read last write: %w", err)
	}
	if !ok {
		return "", bot.SayNothingUndo.With()
	}
	return event, nil
}

func (r *Request) takeBack(ctx context.Context, steps []kit.Change, entries []bot.Entry) (Result, error) {
	var out Result
	var said []string
	for _, step := range lastSteps(steps) {
		now, err := r.Books.Line(ctx, r.Department.Slug, step.New.Number)
		if err != nil {
			return Result{}, fmt.Errorf("read line %d: %w", step.New.Number, err)
		}
		if isUndone(step, now) {
			continue
		}
		if err := r.mayUndo(step, now); err != nil {
			return Result{}, err
		}
		if err := r.mayReopen(ctx, step, now); err != nil {
			return Result{}, err
		}
		change := kit.Undo(now, step.Old, r.Who.Person, r.Now)
		out.Changes = append(out.Changes, change)
		said = append(said, r.undoneWords(change))
	}
	for _, e := range entries {
		if e.Person != r.Who.Person {
			return Result{}, bot.SayNotYours.With()
		}
		if r.Now.Sub(e.At) > kit.UndoFor {
			return Result{}, bot.SayUndoLate.With()
		}
		if e.Kind == photoKind {
			dropped, err := r.unkeep(e)
			if err != nil {
				return Result{}, err
			}
			out.Changes = append(out.Changes, dropped)
		}
		out.Changes = append(out.Changes, bot.Withdrawn{Entry: e, At: r.Now})
		said = addWords(said, r.undoneEntry(e))
	}
	if len(said) == 0 {
		return Result{}, bot.SayUndoTwice.With()
	}
	out.Posts = []Post{{Reply: bot.Reply{Text: "Undone: " + strings.Join(said, ", ") + "."}}}
	return out, nil
}

// lastSteps leaves of each line's steps the last: with the later wordings of a
// message there can be several, and taking the last one back is taking back what
// the message says.
func lastSteps(steps []kit.Change) []kit.Change {
	var last []kit.Change
	for _, step := range steps {
		i := slices.IndexFunc(last, func(s kit.Change) bool { return s.New.Number == step.New.Number })
		switch {
		case i < 0:
			last = append(last, step)
		case step.New.Version > last[i].New.Version:
			last[i] = step
		}
	}
	return last
}

// undoneWords says what an undo leaves: a line that others reported too stays.
func (r *Request) undoneWords(c kit.Change) string {
	words := fmt.Sprintf("#%d %s", c.New.Number, r.lineWords(c.New))
	if c.New.State.Open() {
		words += " (the line stays open)"
	}
	return words
}

// mayUndo says why a step cannot be taken back. Officers may undo for their
// crews.
func (r *Request) mayUndo(step kit.Change, now kit.Line) error {
	switch {
	case step.By != r.Who.Person && !r.Who.May(department.Officer):
		return bot.SayNotYours.With()
	case r.Now.Sub(step.At) > kit.UndoFor:
		return bot.SayUndoLate.With()
	case now.Version != step.New.Version:
		return bot.SayUndoMoved.With(now.Number)
	}
	return nil
}

// isUndone says whether there is nothing of a step any more to take back.
func isUndone(step kit.Change, now kit.Line) bool {
	return step.Verb == kit.Undone || now.Version > step.New.Version && lastWasUndo(now, step)
}

// mayReopen says why a line that was closed cannot be opened again: the same
// thing was reported since and has a line of its own.
func (r *Request) mayReopen(ctx context.Context, step kit.Change, now kit.Line) error {
	if now.State.Open() || !step.Old.State.Open() || step.Old.Number == 0 {
		return nil
	}
	open, err := r.openOn(ctx, now.Kit)
	if err != nil {
		return err
	}
	if other, ok := kit.Find(open, kit.Report{Kit: now.Kit, Item: now.Item, Condition: now.Condition}); ok {
		return bot.SayUndoAgain.With(other.Number)
	}
	return nil
}

func lastWasUndo(now kit.Line, step kit.Change) bool {
	if step.Verb == kit.Opened {
		return now.State == kit.NotAFault
	}
	return now.Version == step.New.Version+1 && now.State == step.Old.State && now.Reports == step.Old.Reports
}

// notFound says whether an error means that a row is not there.
func notFound(err error) bool { return errors.Is(err, bot.ErrNotFound) }
