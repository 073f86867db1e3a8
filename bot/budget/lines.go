package budget

import (
	"time"

	"kitbell/bot/kit"
)

// LineReader makes records of the queue's lines.
type LineReader struct {
	Calendar   Calendar               // days short are cut where a fiscal year ends
	Consumable func(item string) bool // what is missing of a consumable is used up; nil: nothing is one
	FromShelf  func(line int) bool    // whether a piece from a shelf closed the line; nil: none did
	Now        time.Time              // until when an open line has been short
}

// Records are what a line's steps, oldest first, say in the end: steps that were
// undone say nothing, and a line that was no fault leaves only what was paid.
//
// A durable that was missing is lost while its line is open, and once it was
// ordered, paid for, taken from a shelf or written off. One that came back
// without any of these was found again: it was short for some days, no more.
func (r LineReader) Records(history []kit.Change) []Record {
	if len(history) == 0 {
		return nil
	}
	last := history[len(history)-1].New
	var records []Record
	if last.State != kit.NotAFault {
		records = append(records, r.gone(history, last)...)
		records = append(records, r.daysShort(history, last)...)
	}
	return append(records, paid(history)...)
}

// record is one about a line, dated by default when it was opened.
func record(l kit.Line, kind Kind, count int) Record {
	return Record{Date: l.OpenedAt.UTC(), Kit: l.Kit, Unit: l.Unit, Item: l.Item, Kind: kind, Count: count, Line: l.Number}
}

// gone is what the line says is no longer there.
func (r LineReader) gone(history []kit.Change, l kit.Line) []Record {
	kind := r.kind(l)
	if kind == "" || kind == Lost && r.found(history, l) {
		return nil
	}
	return []Record{record(l, kind, l.Count)}
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

// found says whether what was missing came back by itself.
func (r LineReader) found(history []kit.Change, l kit.Line) bool {
	if l.State.Open() || l.Where == kit.WrittenOff || l.Order != "" || l.Paid > 0 || r.FromShelf != nil && r.FromShelf(l.Number) {
		return false
	}
	for _, c := range history {
		if c.New.State == kit.Ordered && c.Verb != kit.Undone {
			return false
		}
	}
	return true
}

// daysShort counts the days on which the line was open, a begun day as a whole
// one, each fiscal year by itself and dated when its part ended.
func (r LineReader) daysShort(history []kit.Change, last kit.Line) []Record {
	if last.Condition == kit.Extra || last.Condition == kit.Dirty {
		return nil
	}
	var records []Record
	from, open := last.OpenedAt, true
	until := func(to time.Time) {
		for from.Before(to) {
			end := r.Calendar.End(r.Calendar.Year(from))
			if to.Before(end) {
				end = to
			}
			rec := record(last, DaysShort, int((end.Sub(from)+day-1)/day))
			rec.Date = end.Add(-time.Nanosecond).UTC().Truncate(time.Second)
			records = append(records, rec)
			from = end
		}
	}
	for _, c := range history {
		switch now := c.New.State.Open(); {
		case open && !now:
			until(c.At)
		case !open && now:
			from = c.At
		}
		open = c.New.State.Open()
	}
	if open {
		until(r.Now)
	}
	return records
}

const day = 24 * time.Hour

// paid are the payments that no later step took back. What was paid without a
// word of how many came is for all that have come and were not paid for yet.
func paid(history []kit.Change) []Record {
	var records []Record
	pieces := 0
	for _, c := range history {
		if c.Verb == kit.Undone && c.New.Paid < c.Old.Paid && len(records) > 0 {
			pieces -= records[len(records)-1].Count
			records = records[:len(records)-1]
			continue
		}
		if c.New.Paid <= c.Old.Paid {
			continue
		}
		rec := record(c.New, Paid, max(0, c.New.Received-pieces))
		rec.Date, rec.Cents = c.At.UTC(), c.New.Paid-c.Old.Paid
		pieces += rec.Count
		records = append(records, rec)
	}
	return records
}
