package command

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"kitbell/bot/door"
	"kitbell/bot/kit"
)

// rankedLine is a queue line with what its shortage costs a crew.
type rankedLine struct {
	kit.Line
	minutes float64 // of an average entry, the mark counted in
	cost    string  // the same in words, empty when it costs nothing
}

// ranked orders lines by what they cost a crew by the door model, and then by
// age. Each line is weighed as if nothing else were missing, so that the order
// does not turn on what else is.
func (r *Request) ranked(ctx context.Context, lines []kit.Line) ([]rankedLine, error) {
	doors, err := r.learnedDoors(ctx)
	if err != nil {
		return nil, err
	}
	fleet, err := r.fleet(ctx)
	if err != nil {
		return nil, err
	}
	w := weigher{Request: r, doors: doors, known: make(map[string]rankedLine)}
	ranked := make([]rankedLine, len(lines))
	for i, l := range lines {
		k, _ := fleet.Kit(l.Kit)
		cost := w.cost(k.List, l)
		ranked[i] = rankedLine{l, cost.minutes, cost.cost}
	}
	slices.SortStableFunc(ranked, func(a, b rankedLine) int {
		return cmp.Or(cmp.Compare(math.Round(b.minutes*10), math.Round(a.minutes*10)), a.OpenedAt.Compare(b.OpenedAt), a.Number-b.Number)
	})
	return ranked, nil
}

// weigher keeps what an item means for a kit of a list version.
type weigher struct {
	*Request
	doors Doors
	known map[string]rankedLine
}

func (w *weigher) cost(version int, l kit.Line) rankedLine {
	list, _ := w.Department.List(version)
	if !blocks(list, l) {
		return rankedLine{}
	}
	key := fmt.Sprint(version, " ", l.Item)
	if cost, ok := w.known[key]; ok {
		return cost
	}
	complete := w.CompleteKit(version)
	without := door.Tools{}
	for id, why := range complete {
		if id != l.Item {
			without[id] = why
		}
	}
	var cost rankedLine
	for _, worth := range w.doors.Worth(without, []string{l.Item}) {
		cost.minutes = worth.Minutes
	}
	cost.cost = costWords(w.doors.CannotDo(without, complete), cost.minutes)
	w.known[key] = cost
	return cost
}

// costWords says what a shortage costs: the doors that stay shut, or else the
// minutes that the next best way takes longer.
func costWords(cannot []string, minutes float64) string {
	switch {
	case len(cannot) > 2:
		return fmt.Sprintf("cannot do: %s, and %d more", strings.Join(cannot[:2], "; "), len(cannot)-2)
	case len(cannot) > 0:
		return "cannot do: " + strings.Join(cannot, "; ")
	case minutes >= 0.05:
		return fmt.Sprintf("costs %.1f min an entry", minutes)
	}
	return ""
}

// blocks says whether a line leaves its kit without the tool: all pieces that
// the list has of it are gone or of no use.
func blocks(list kit.List, l kit.Line) bool {
	on, listed := list.Line(l.Item)
	return listed && l.State.Open() && unfit(l.Condition) && l.Count >= on.Qty
}
