package command

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"kitbell/bot"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
)

// mostLines is how many queue lines one reply shows: a phone's screen.
const mostLines = 15

// QueueCommand lists what is open.
func QueueCommand() Command {
	return Command{
		Name:    string(understand.Queue),
		Usage:   "queue, or: queue E4",
		Summary: "See every open line, or those of one rig, station or tool.",
		Run:     showQueue,
	}
}

func showQueue(ctx context.Context, r *Request) (Result, error) {
	if len(r.Reading.Numbers) > 0 {
		return r.showLine(ctx, r.Reading.Numbers[0])
	}
	open, err := r.Books.OpenLines(ctx, r.Department.Slug)
	if err != nil {
		return Result{}, fmt.Errorf("read open lines: %w", err)
	}
	keep, about := r.filter()
	lines := slices.DeleteFunc(open, func(l kit.Line) bool { return !keep(l) })
	if len(lines) == 0 {
		return Say(fmt.Sprintf("Nothing open%s.", about)), nil
	}
	title := fmt.Sprintf("%s open%s", plural(len(lines), "line"), about)
	return Answer(bot.Reply{Title: title, Text: strings.Join(r.listLines(lines), "\n")}), nil
}

// filter is what the message narrows the queue to, and how to say it.
func (r *Request) filter() (keep func(kit.Line) bool, about string) {
	switch {
	case r.Reading.UnitNamed:
		return func(l kit.Line) bool { return l.Unit == r.Reading.Unit }, " on " + r.unitName(r.Reading.Unit)
	case r.Reading.Station != "":
		at := r.Reading.Station
		return func(l kit.Line) bool { u, _ := r.Department.Unit(l.Unit); return u.Station == at }, " at that station"
	case len(r.Reading.Items) > 0:
		item := r.Reading.Items[0]
		return func(l kit.Line) bool { return l.Item == item }, " for the " + r.itemName(item)
	}
	return func(kit.Line) bool { return true }, ""
}

// listLines writes lines in the department's order of rigs, oldest first, and
// says what was left out.
func (r *Request) listLines(lines []kit.Line) []string {
	order := make(map[string]int)
	for i, u := range r.Department.Units {
		order[u.ID] = i
	}
	slices.SortStableFunc(lines, func(a, b kit.Line) int { return order[a.Unit] - order[b.Unit] })
	var out []string
	for i, l := range lines {
		if i == mostLines {
			return append(out, fmt.Sprintf("and %d more. Name a rig to see its lines.", len(lines)-i))
		}
		out = append(out, fmt.Sprintf("#%d %s: %s (%s, since %s)", l.Number, r.unitName(l.Unit), r.lineWords(l), l.State, r.day(l.OpenedAt)))
	}
	return out
}

// showLine tells one line's history.
func (r *Request) showLine(ctx context.Context, number int) (Result, error) {
	history, err := r.Books.History(ctx, r.Department.Slug, number)
	if notFound(err) || err == nil && len(history) == 0 {
		return Result{}, bot.SayNoLine.With(number)
	}
	if err != nil {
		return Result{}, fmt.Errorf("read line %d: %w", number, err)
	}
	last := history[len(history)-1].New
	reply := bot.Reply{Title: fmt.Sprintf("#%d %s: %s", number, r.unitName(last.Unit), r.lineWords(last))}
	for _, c := range history {
		reply.Steps = append(reply.Steps, fmt.Sprintf("%s: %s", c.At.In(r.Department.Zone).Format("Mon 2 Jan 15:04"), stepWords(c)))
	}
	return Answer(reply), nil
}

func stepWords(c kit.Change) string {
	switch c.Verb {
	case kit.Joined:
		return fmt.Sprintf("reported again (%d reports)", c.New.Reports)
	case kit.Undone:
		return "undone: " + string(c.New.State)
	}
	return string(c.New.State)
}
