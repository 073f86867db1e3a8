package budget

import (
	"slices"
	"time"
)

// span is the time that records are of, less the fiscal years without any.
type span struct {
	from, to time.Time
	silent   []int
	calendar Calendar
}

// newSpan takes records that are sorted and no later than to.
func newSpan(c Calendar, records []Record, since, to time.Time) span {
	s := span{from: since, to: to, calendar: c}
	if s.from.IsZero() {
		if len(records) == 0 {
			s.from = to
			return s
		}
		s.from = records[0].Date
	}
	spoken := map[int]bool{}
	for _, r := range records {
		spoken[c.Year(r.Date)] = true
	}
	for year := c.Year(s.from); !c.End(year).After(to); year++ {
		if !c.Start(year).Before(s.from) && !spoken[year] {
			s.silent = append(s.silent, year)
		}
	}
	return s
}

// years is how many years of records there are since a day, zero for all.
func (s span) years(since time.Time) float64 {
	from := s.from
	if since.After(from) {
		from = since
	}
	total := years(from, s.to)
	for _, year := range s.silent {
		start := s.calendar.Start(year)
		if from.After(start) {
			start = from
		}
		total -= years(start, s.calendar.End(year))
	}
	return max(0, total)
}

// What one record can be: whatever is beyond was mistyped.
const (
	mostCount = 10_000
	mostPaid  = 1_000_000_000_000_000 // cents
	oldest    = 50                    // years
)

// countable are the records that can be so, sorted and in universal time, and how
// many there are that cannot.
func countable(all []Record, now time.Time) (good []Record, bad int) {
	good = make([]Record, 0, len(all))
	for _, r := range all {
		if !r.possible(now) {
			bad++
			continue
		}
		r.Date = r.Date.UTC()
		good = append(good, r)
	}
	SortRecords(good)
	return good, bad
}

// possible says whether a record can be so. A payment may be for pieces that came
// before, and so for none.
func (r Record) possible(now time.Time) bool {
	least := 1
	if r.Kind == Paid {
		least = 0
	}
	return slices.Contains(Kinds(), r.Kind) && r.Count >= least && r.Count <= mostCount && r.Cents >= 0 && r.Cents <= mostPaid &&
		!r.Date.After(now) && r.Date.After(now.AddDate(-oldest, 0, 0))
}
