package kit

import (
	"fmt"
	"time"

	"kitbell/bot"
)

// UndoFor is how long a person can take back what they reported.
const UndoFor = 5 * time.Minute

// Change is one step of a queue line: from Old, as it was read, to New. Old is
// the zero Line when the step opens the line. It implements bot.Change.
type Change struct {
	Verb Verb
	Old  Line
	New  Line
	By   string // member who did it
	At   time.Time
}

// Verb names a step of a line for the audit and the line's history.
type Verb string

// The steps of a line.
const (
	Opened Verb = "line-opened"
	Joined Verb = "line-joined" // the same thing was reported again
	Moved  Verb = "line-moved"  // to another state
	Noted  Verb = "line-noted"  // more is known of it, its state is the same
	Undone Verb = "line-undone"
)

// Record is the audit's view of the step.
func (c Change) Record() bot.Record {
	r := bot.Record{Verb: string(c.Verb), Subject: fmt.Sprintf("line:%d", c.New.Number), New: c.New.summary()}
	if c.Old.Number != 0 {
		r.Old = c.Old.summary()
	}
	return r
}

func (l Line) summary() string {
	words := fmt.Sprintf("%s %s %s %d %s, %d reports", l.Unit, l.Item, l.Condition, l.Count, l.State, l.Reports)
	if l.Order != "" || l.Received > 0 || l.Paid > 0 {
		words += fmt.Sprintf(", order %s, %d received, %d paid", l.Order, l.Received, l.Paid)
	}
	if !l.Expected.IsZero() {
		words += ", expected " + l.Expected.Format(time.DateOnly)
	}
	if l.Where != "" {
		words += fmt.Sprintf(", %s, fetched by %q", l.Where, l.Fetch)
	}
	return words
}

// Tally is the most of an item that a line can claim, given what a complete kit
// holds. A count above it is a slip of the thumb; one below 1 is no report.
func Tally(count, qty int) (int, error) {
	switch {
	case count < 1:
		return 0, fmt.Errorf("count %d: a report is about one piece at least", count)
	case qty > 0 && count > qty:
		return 0, fmt.Errorf("count %d: the kit holds %d", count, qty)
	}
	return count, nil
}

// File decides what a report does to the queue: it joins the open line about the
// same matter, or opens a new one under number, which is used only then.
func File(open []Line, r Report, number int) Change {
	if line, ok := Find(open, r); ok {
		return Join(line, r)
	}
	return Open(r, number)
}

// Find gives the open line that a report is about: the same item of the same
// kit, in the same matter. ok is false when the report needs a line of its own.
func Find(open []Line, r Report) (line Line, ok bool) {
	for _, line := range open {
		if line.State.Open() && line.Kit == r.Kit && line.Item == r.Item && sameMatter(line.Condition, r.Condition) {
			return line, true
		}
	}
	return Line{}, false
}

// Open makes a report a new line under a number that was never used.
func Open(r Report, number int) Change {
	return Change{Verb: Opened, By: r.By, At: r.At, New: Line{
		Number: number, Kit: r.Kit, Unit: r.Unit, Item: r.Item, Condition: r.Condition, Count: r.Count,
		State: Reported, By: r.By, Platoon: r.Platoon, Reports: 1, OpenedAt: r.At, ChangedAt: r.At, StateAt: r.At, Version: 1, Note: r.Note,
	}}
}

// Join adds a report to the open line that Find gave. One that says the same
// again raises Reports. One that says more (a higher count, a graver condition)
// also changes the line. One that says less does not shrink it: only "found"
// and the quartermaster do that.
func Join(line Line, r Report) Change {
	next := step(line, r.At)
	next.Reports++
	next.Count = max(line.Count, r.Count)
	if graver(r.Condition, line.Condition) {
		next.Condition = r.Condition
	}
	if r.Note != "" {
		next.Note = r.Note
	}
	return Change{Verb: Joined, Old: line, New: next, By: r.By, At: r.At}
}

// Close moves the open line about an item of a kit to state. ok is false when
// there is no such line.
func Close(open []Line, kitID, item string, state State, by string, at time.Time) (c Change, ok bool) {
	for _, line := range open {
		if line.State.Open() && line.Kit == kitID && line.Item == item {
			next := step(line, at)
			next.State, next.StateAt = state, at
			return Change{Verb: Moved, Old: line, New: next, By: by, At: at}, true
		}
	}
	return Change{}, false
}

// Undo takes the last step of a line back. was is the line before that step;
// the zero Line when the step opened it, which then ends as not a fault.
func Undo(now, was Line, by string, at time.Time) Change {
	next := was
	if was.Number == 0 {
		next = now
		next.State, next.StateAt = NotAFault, at
	}
	next.Version, next.ChangedAt = now.Version+1, at
	return Change{Verb: Undone, Old: now, New: next, By: by, At: at}
}

func step(line Line, at time.Time) Line {
	line.Version++
	line.ChangedAt = at
	return line
}

// sameMatter says whether two conditions of one item are one piece of work for
// the quartermaster: to bring what is gone, or to mend or swap what is there but
// unfit. Too many of an item, or the wrong one in its slot, is another matter
// again. The store's schema knows the same matters.
func sameMatter(a, b Condition) bool { return matter(a) == matter(b) }

func matter(c Condition) string {
	switch c {
	case Extra, Wrong:
		return string(c)
	case Damaged, Worn, Dirty:
		return "unfit"
	default:
		return "short"
	}
}

// graver orders the conditions by what they cost a crew: gone before broken
// before used up before worn.
func graver(a, b Condition) bool { return gravity(a) > gravity(b) }

func gravity(c Condition) int {
	for i, other := range []Condition{Dirty, Worn, Low, Expired, Damaged, Missing} {
		if c == other {
			return i
		}
	}
	return -1
}
