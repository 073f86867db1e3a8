package command

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
)

// bagList is what the quartermaster packs: a bag for each station, in the order
// of the file, with what is in hand for its kits.
func (r *Request) bagList(ctx context.Context) (Result, error) {
	if !r.Who.May(department.Quartermaster) {
		return Result{}, bot.SayQueueWhose.With()
	}
	open, err := r.openNow(ctx)
	if err != nil {
		return Result{}, err
	}
	reply := bot.Reply{Title: "Bag list, " + r.day(r.Now)}
	for _, s := range r.Department.Stations {
		lines := r.inHandAt(open, s.ID, r.Now)
		if len(lines) == 0 {
			continue
		}
		words := make([]string, len(lines))
		for i, l := range lines {
			words[i] = fmt.Sprintf("%s: %d × %s (#%d)", r.unitName(l.Unit), l.Count, r.itemName(l.Item), l.Number)
		}
		reply.Steps = append(reply.Steps, fmt.Sprintf("Station %s. %s", s.Name, strings.Join(words, "; ")))
		reply.Buttons = append(reply.Buttons, bot.Button{
			Label: "Dropped off at " + s.Name, Value: fmt.Sprintf("queue:dropped-at:%s:%d", s.ID, r.Now.Unix()),
		})
	}
	if len(reply.Steps) == 0 {
		return Say("Nothing is in hand, so there is nothing to pack. Type queue to see what is open."), nil
	}
	reply.Text = "In the order of the file. A tap notes all of a station's bag as dropped off; the crew closes each line when it is in the kit."
	return Answer(reply), nil
}

// inHandAt are the lines that were in hand for a station's rigs by a moment.
func (r *Request) inHandAt(open []kit.Line, station string, by time.Time) []kit.Line {
	lines := slices.DeleteFunc(slices.Clone(open), func(l kit.Line) bool {
		u, _ := r.Department.Unit(l.Unit)
		return l.State != kit.InHand || u.Station != station || l.StateAt.After(by)
	})
	order := func(l kit.Line) int {
		return slices.IndexFunc(r.Department.Units, func(u department.Unit) bool { return u.ID == l.Unit })
	}
	slices.SortStableFunc(lines, func(a, b kit.Line) int { return order(a) - order(b) })
	return lines
}

// droppedAt notes a station's bag as dropped off: STATION:SECONDS, the moment of
// the bag list. What came in hand after it was not in the bag.
func (r *Request) droppedAt(ctx context.Context, ref string) (Result, error) {
	if !r.Who.May(department.Quartermaster) {
		return Result{}, bot.SayQueueWhose.With()
	}
	station, moment, _ := cutLast(ref, ":")
	seconds, err := strconv.ParseInt(moment, 10, 64)
	if err != nil {
		return Result{}, bot.SayOldButton.With()
	}
	open, err := r.openNow(ctx)
	if err != nil {
		return Result{}, err
	}
	// The list was made within that second.
	lines := r.inHandAt(open, station, time.Unix(seconds+1, 0))
	if len(lines) == 0 {
		return Say("That bag is noted as dropped off already."), nil
	}
	var out Result
	var numbers []string
	for _, l := range lines {
		line, err := r.line(ctx, l.Number)
		if err != nil {
			return Result{}, err
		}
		change, err := kit.Advance(line, kit.Step{To: kit.Dropped, By: r.Who.Person, At: r.Now})
		if err != nil {
			return Result{}, r.stepRefused(l, err)
		}
		out.Changes = append(out.Changes, r.withNews(change)...)
		numbers = append(numbers, fmt.Sprintf("#%d", l.Number))
	}
	s, _ := r.Department.Station(station)
	text := fmt.Sprintf("Dropped off at %s: %s. The crews hear it in their next post and close the lines.", s.Name, list(numbers, "and"))
	out.Posts = []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}}
	return out, nil
}

// Packed is one thing that is in hand for a rig's kit, for a label to be tied to
// it.
type Packed struct {
	Line    int
	Rig     string
	Station string
	Count   int
	Item    string
}

// Bags lists what is in hand, in the order of the bag list.
func Bags(ctx context.Context, desk *Desk, books Books) ([]Packed, error) {
	r := &Request{Desk: desk, Books: books}
	open, err := r.openNow(ctx)
	if err != nil {
		return nil, err
	}
	var packed []Packed
	for _, s := range desk.Department.Stations {
		for _, l := range r.inHandAt(open, s.ID, time.Unix(1<<40, 0)) {
			packed = append(packed, Packed{l.Number, r.unitName(l.Unit), s.Name, l.Count, r.itemName(l.Item)})
		}
	}
	return packed, nil
}
