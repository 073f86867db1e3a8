package budget

import (
	"slices"
	"time"

	"kitbell/bot/kit"
)

// Return says how a missing durable came back, where somebody knows.
type Return string

// The returns.
const (
	NotTold    Return = ""
	FoundAgain Return = "found"
	Replaced   Return = "replaced" // bought, or from a shelf
)

// LineReader makes records of the queue's lines.
type LineReader struct {
	Calendar   Calendar               // days short are cut where a fiscal year ends
	Consumable func(item string) bool // what is missing of a consumable is used up; nil: nothing is one
	Returned   func(line int) Return  // how what was missing came back; nil: nobody can tell
	Now        time.Time              // until when an open line has been short
}

// Records are what a line's steps, oldest first, say in the end: steps that were
// undone say nothing, and a line that was no fault leaves only what was paid.
//
// A durable that was missing is lost while its line is open. Once it is back,
// Returned tells whether it was found. Where it cannot, what was ordered, paid for
// or written off was lost; of the rest, what was left on a scene or on another rig
// was found, and else it was lost if the quartermaster had taken the line on. What
// was found was short for some days, no more.
func (r LineReader) Records(history []kit.Change) []Record {
	steps := standing(history)
	if len(steps) == 0 {
		return nil
	}
	var records []Record
	if last := steps[len(steps)-1].New; last.State != kit.NotAFault {
		records = slices.Concat(r.gone(steps, last), r.daysShort(steps, last))
	}
	return append(records, paid(steps)...)
}

// standing are the steps that nobody undid.
func standing(history []kit.Change) []kit.Change {
	var steps []kit.Change
	for _, c := range history {
		if c.Verb != kit.Undone {
			steps = append(steps, c)
		} else if len(steps) > 0 {
			steps = steps[:len(steps)-1]
		}
	}
	return steps
}

// about is a record of a line, dated when it was opened.
func about(l kit.Line, kind Kind, count int) Record {
	return Record{Date: l.OpenedAt.UTC(), Kit: l.Kit, Unit: l.Unit, Item: l.Item, Kind: kind, Count: count, Line: l.Number}
}

// gone is what the line says is no longer there.
func (r LineReader) gone(steps []kit.Change, l kit.Line) []Record {
	kind := r.kind(l)
	if kind == "" || kind == Lost && r.found(steps, l) {
		return nil
	}
	return []Record{about(l, kind, l.Count)}
}

// kind is "" for a line that takes no piece away, such as a dirty one.
func (r LineReader) kind(l kit.Line) Kind {
	switch l.Condition {
	case kit.Damaged:
		return Broken
	case kit.Worn, kit.Expired:
		return WornOut
	case kit.Missing, kit.Low:
		switch {
		case r.Consumable != nil && r.Consumable(l.Item):
			return UsedUp
		case l.Where == kit.BrokenUp:
			return Broken
		}
		return Lost
	}
	return ""
}

// found says whether what was missing came back itself.
func (r LineReader) found(steps []kit.Change, l kit.Line) bool {
	if l.State.Open() {
		return false
	}
	told := NotTold
	if r.Returned != nil {
		told = r.Returned(l.Number)
	}
	been := func(s kit.State) bool {
		return slices.ContainsFunc(steps, func(c kit.Change) bool { return c.New.State == s })
	}
	switch {
	case told != NotTold:
		return told == FoundAgain
	case been(kit.Ordered), l.Order != "", l.Paid > 0, l.Where == kit.WrittenOff:
		return false
	case l.Where == kit.OnScene, l.Where == kit.OtherRig:
		return true
	}
	return !been(kit.Taken)
}

// daysShort counts the days on which the line was open.
func (r LineReader) daysShort(steps []kit.Change, last kit.Line) []Record {
	if last.Condition == kit.Extra || last.Condition == kit.Dirty {
		return nil
	}
	var records []Record
	from, open := last.OpenedAt, true
	for _, c := range steps {
		is := c.New.State.Open()
		if open && !is {
			records = append(records, r.short(last, from, c.At)...)
		}
		if !open && is {
			from = c.At
		}
		open = is
	}
	if open {
		records = append(records, r.short(last, from, r.Now)...)
	}
	return records
}

// day is how long a day short is; one that has begun counts.
const day = 24 * time.Hour

// short makes the records of one stretch, each fiscal year by itself and dated
// just before its part ended.
func (r LineReader) short(l kit.Line, from, to time.Time) []Record {
	var records []Record
	for from.Before(to) {
		end := r.Calendar.End(r.Calendar.Year(from))
		if to.Before(end) {
			end = to
		}
		part := about(l, DaysShort, int((end.Sub(from)+day-1)/day))
		part.Date = end.Add(-time.Nanosecond).UTC().Truncate(time.Second)
		records = append(records, part)
		from = end
	}
	return records
}

// paid are the payments. What was paid without a word of how many came is for all
// that have come and were not paid for yet.
func paid(steps []kit.Change) []Record {
	var records []Record
	pieces := 0
	for _, c := range steps {
		if more := c.New.Paid - c.Old.Paid; more > 0 {
			payment := about(c.New, Paid, max(0, c.New.Received-pieces))
			payment.Date, payment.Cents = c.At.UTC(), more
			pieces += payment.Count
			records = append(records, payment)
		}
	}
	return records
}
