package command

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
)

// mostLines is how many queue lines one reply shows: a phone's screen.
const mostLines = 15

// mostLineButtons is how many of them the quartermaster gets a button for.
const mostLineButtons = 5

// mineFor is how many days back the lines that somebody reported are shown
// after they are closed.
const mineFor = 30

// QueueCommand lists what is open and brings lines on their way.
func QueueCommand() Command {
	return Command{
		Name:    string(understand.Queue),
		Usage:   "queue, queue {rig}, queue ordered, queue mine",
		Summary: "See every open line, or those of a rig, station, tool or state. By number: queue 41.",
		Run:     showQueue,
	}
}

func showQueue(ctx context.Context, r *Request) (Result, error) {
	r.Memory.Hearing = false
	switch said := strings.ToLower(r.Event.Text); {
	case r.Verb != "":
		return r.pressQueue(ctx)
	case !r.Reading.Step.Empty():
		return r.stepsSaid(ctx)
	case mineWords.MatchString(said):
		return r.myLines(ctx)
	case len(r.Reading.Numbers) > 0:
		return r.showLine(ctx, r.Reading.Numbers[0])
	}
	open, err := r.openNow(ctx)
	if err != nil {
		return Result{}, err
	}
	keep, about := r.filter()
	lines := slices.DeleteFunc(open, func(l kit.Line) bool { return !keep(l) })
	if len(lines) == 0 {
		return Say(fmt.Sprintf("Nothing open%s.", about)), nil
	}
	return r.listed(ctx, lines, fmt.Sprintf("%s open%s", plural(len(lines), "line"), about))
}

// listed shows lines, those that cost a crew most first.
func (r *Request) listed(ctx context.Context, lines []kit.Line, title string) (Result, error) {
	ranked, err := r.ranked(ctx, lines)
	if err != nil {
		return Result{}, err
	}
	reply := bot.Reply{Title: title, Text: strings.Join(r.listLines(ranked), "\n")}
	if len(ranked) > 1 {
		reply.Fields = []bot.Field{{Name: "Order", Value: "what costs a crew most first, then the oldest. The cost is the door model's, on assumed figures."}}
	}
	if r.Who.May(department.Quartermaster) {
		for i, l := range ranked {
			if i < mostLineButtons {
				reply.Buttons = append(reply.Buttons, bot.Button{Label: fmt.Sprintf("#%d", l.Number), Value: queueValue("see", l.Number)})
			}
		}
		reply.Buttons = append(reply.Buttons, bot.Button{Label: "Bag list", Value: queueValue("bags")})
	}
	return Answer(reply), nil
}

// filter is what the message narrows the queue to, and how to say it.
func (r *Request) filter() (keep func(kit.Line) bool, about string) {
	keep = func(kit.Line) bool { return true }
	narrow := func(fits func(kit.Line) bool, words string) {
		before := keep
		keep = func(l kit.Line) bool { return before(l) && fits(l) }
		about += words
	}
	if lateWords.MatchString(r.Event.Text) {
		narrow(func(l kit.Line) bool { return r.Department.Limits.Past(l, r.Now) }, " past the limit")
	}
	if state, ok := r.stateSaid(); ok {
		narrow(func(l kit.Line) bool { return l.State == state }, ", "+string(state)+",")
	}
	switch {
	case r.Reading.UnitNamed:
		narrow(func(l kit.Line) bool { return l.Unit == r.Reading.Unit }, " on "+r.unitName(r.Reading.Unit))
	case r.Reading.Station != "":
		at := r.Reading.Station
		narrow(func(l kit.Line) bool { u, _ := r.Department.Unit(l.Unit); return u.Station == at }, " at that station")
	}
	if len(r.Reading.Items) > 0 {
		item := r.Reading.Items[0]
		narrow(func(l kit.Line) bool { return l.Item == item }, " for the "+r.itemName(item))
	}
	return keep, strings.TrimSuffix(about, ",")
}

// stateSaid is the open state that a message names.
func (r *Request) stateSaid() (kit.State, bool) {
	said := strings.ToLower(r.Event.Text)
	for _, s := range kit.States() {
		if s.Open() && strings.Contains(said, string(s)) {
			return s, true
		}
	}
	return "", false
}

// listLines writes ranked lines and says what was left out.
func (r *Request) listLines(lines []rankedLine) []string {
	var out []string
	for i, l := range lines {
		if i == mostLines {
			return append(out, fmt.Sprintf("and %d more. Name a rig to see its lines.", len(lines)-i))
		}
		words := fmt.Sprintf("#%d %s: %s (%s, since %s)", l.Number, r.unitName(l.Unit), r.lineWords(l.Line), r.stateWords(l.Line), r.day(l.OpenedAt))
		if l.cost != "" {
			words += ". " + upperFirst(l.cost)
		}
		out = append(out, words)
	}
	return out
}

// stateWords says how far a line has come, and when it should be here.
func (r *Request) stateWords(l kit.Line) string {
	words := string(l.State)
	if l.Received > 0 && l.Received < l.Count {
		words += fmt.Sprintf(", %d of %d in", l.Received, l.Count)
	}
	if l.State == kit.Ordered && !l.Expected.IsZero() {
		words += ", expected " + l.Expected.In(r.Department.Zone).Format("Mon 2 Jan")
	}
	return words
}

// lateWords ask for the lines that have sat too long where they are.
var lateWords = regexp.MustCompile(`(?i)\b(?:late|overdue|past (?:its|their|the) (?:limit|date)s?|too long)\b`)

// mineWords ask for the speaker's own lines.
var mineWords = regexp.MustCompile(`\bmine\b|\bi reported\b|\bmy (?:reports?|lines?)\b`)

// myLines are those that the speaker reported, with what came of them.
func (r *Request) myLines(ctx context.Context) (Result, error) {
	open, err := r.openNow(ctx)
	if err != nil {
		return Result{}, err
	}
	closed, err := r.Books.ClosedLines(ctx, r.Department.Slug, r.Now.AddDate(0, 0, -mineFor))
	if err != nil {
		return Result{}, fmt.Errorf("read closed lines: %w", err)
	}
	var words []string
	for _, l := range append(open, closed...) {
		if l.By == r.Who.Person {
			words = append(words, fmt.Sprintf("#%d %s: %s (%s)", l.Number, r.unitName(l.Unit), r.lineWords(l), r.stateWords(l)))
		}
	}
	if len(words) == 0 {
		return Say(fmt.Sprintf("You have nothing open, and nothing closed in %d days.", mineFor)), nil
	}
	return Answer(bot.Reply{Title: "What you reported", Text: strings.Join(words, "\n"), Private: true}), nil
}
