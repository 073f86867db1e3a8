package command

import (
	"context"
	"fmt"
	"strings"

	"kitbell/bot"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
	"kitbell/schedule"
)

// checkKind is the journal's word for an answered kit check.
const checkKind = "check"

// CheckCommand records what a crew found at a kit check, typed or pressed.
func CheckCommand() Command {
	return Command{
		Name:    string(understand.Check),
		Usage:   "E4 checked, all there",
		Summary: "Answer a kit check: all there, something is off, or not today.",
		Run:     answerCheck,
	}
}

// checkButtons are the answers to a due check of a unit's kit. until names the
// tour that they count for; after it they have had their day.
func checkButtons(unitName, unit, until string) []bot.Button {
	value := func(result kit.CheckResult) string {
		return strings.Join([]string{"check", string(result), unit, until}, ":")
	}
	return []bot.Button{
		{Label: unitName + ": all there", Value: value(kit.AllThere)},
		{Label: "Something's off", Value: value(kit.Off)},
		{Label: "Can't today", Value: value(kit.NotToday)},
	}
}

func answerCheck(ctx context.Context, r *Request) (Result, error) {
	unit, result := r.Reading.Unit, r.Reading.Check
	if r.Verb != "" {
		var until string
		parts := strings.SplitN(r.Ref, ":", 3)
		if len(parts) == 3 {
			result, unit, until = kit.CheckResult(parts[0]), parts[1], parts[2]
		}
		if until != r.tourKey() {
			return Result{}, bot.SayOldButton.With()
		}
	}
	k, err := r.kitOn(ctx, unit)
	if err != nil {
		return Result{}, err
	}
	if result == "" {
		return Answer(bot.Reply{
			Text:    fmt.Sprintf("Was everything on %s there and in order?", r.unitName(unit)),
			Buttons: checkButtons(r.unitName(unit), unit, r.tourKey()),
		}), nil
	}
	return r.recordCheck(ctx, k, unit, result, "")
}

// recordCheck writes the check down and says what is still open on that kit.
func (r *Request) recordCheck(ctx context.Context, k kit.Kit, unit string, result kit.CheckResult, note string) (Result, error) {
	check := kit.Check{Kit: k.ID, Unit: unit, Platoon: r.Who.Platoon, By: r.Who.Person, At: r.Now, Result: result, Note: note}
	entry := bot.NewEntry(checkKind, unit, r.Who.Person, r.Now, check)
	out := Result{Changes: []bot.Change{bot.Written{Entry: entry}}}
	open, err := r.openOn(ctx, k.ID)
	if err != nil {
		return Result{}, err
	}
	out.Posts = []Post{{Reply: r.checkReply(unit, result, open)}}
	return out, nil
}

func (r *Request) checkReply(unit string, result kit.CheckResult, open []kit.Line) bot.Reply {
	reply := bot.Reply{Buttons: []bot.Button{r.undoButton()}}
	switch result {
	case kit.AllThere:
		reply.Text = fmt.Sprintf("%s kit: all there, %s.", r.unitName(unit), r.day(r.Now))
	case kit.NotToday:
		reply.Text = fmt.Sprintf("%s kit: no check this tour. It counts as unknown. The next platoon gets it.", r.unitName(unit))
	default:
		reply.Text = fmt.Sprintf("%s kit: something is off. What is it? Type it like this: film torn, one strap gone.", r.unitName(unit))
	}
	if len(open) > 0 {
		reply.Text += fmt.Sprintf("\nStill open: %s. Is one back? Say: found it, and its name.", list(r.shortLines(open), "and"))
	}
	return reply
}

// undoButton takes back what this event writes. Platforms whose event ids are
// too long for a button's value leave undo to the typed word.
func (r *Request) undoButton() bot.Button {
	value := "undo:" + r.Event.ID
	if len(value) > bot.MaxButtonValue {
		return typed("Undo", "undo")
	}
	return bot.Button{Label: "Undo", Value: value}
}

func (r *Request) openOn(ctx context.Context, kitID string) ([]kit.Line, error) {
	open, err := r.Books.OpenLines(ctx, r.Department.Slug)
	if err != nil {
		return nil, fmt.Errorf("read open lines: %w", err)
	}
	var on []kit.Line
	for _, l := range open {
		if l.Kit == kitID {
			on = append(on, l)
		}
	}
	return on, nil
}

func (r *Request) shortLines(lines []kit.Line) []string {
	out := make([]string, len(lines))
	for i, l := range lines {
		out[i] = fmt.Sprintf("#%d %s", l.Number, r.lineWords(l))
	}
	return out
}

// tourKey names the tour that is on now.
func (r *Request) tourKey() string { return tourKey(r.Department.Rotation.TourAt(r.Now)) }

func tourKey(t schedule.Tour) string { return t.Platoon + t.Start.Format("20060102T1504") }
