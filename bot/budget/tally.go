package budget

import (
	"cmp"
	"fmt"
	"slices"
)

// Counts is how many of each kind there are in a set of records.
type Counts struct {
	Used      int   `json:"used,omitempty"`
	Absent    int   `json:"absent,omitempty"`
	UsedUp    int   `json:"used_up,omitempty"`
	Lost      int   `json:"lost,omitempty"`
	Broken    int   `json:"broken,omitempty"`
	WornOut   int   `json:"worn_out,omitempty"`
	DaysShort int   `json:"days_short,omitempty"`
	Bought    int   `json:"bought,omitempty"` // pieces that were paid for
	Cents     int64 `json:"cents,omitempty"`  // that were paid
}

// Count adds up records.
func Count(records []Record) Counts {
	var c Counts
	for _, r := range records {
		if of := c.of(r.Kind); of != nil {
			*of += r.Count
		}
		if r.Kind == Paid {
			c.Cents += r.Cents
		}
	}
	return c
}

func (c *Counts) of(kind Kind) *int {
	switch kind {
	case Used:
		return &c.Used
	case Absent:
		return &c.Absent
	case UsedUp:
		return &c.UsedUp
	case Lost:
		return &c.Lost
	case Broken:
		return &c.Broken
	case WornOut:
		return &c.WornOut
	case DaysShort:
		return &c.DaysShort
	case Paid:
		return &c.Bought
	}
	return nil
}

// Of is the count of one kind; for Paid, of the pieces.
func (c Counts) Of(kind Kind) int {
	if of := c.of(kind); of != nil {
		return *of
	}
	return 0
}

// Gone is how many pieces are no longer there.
func (c Counts) Gone() int { return c.UsedUp + c.Lost + c.Broken + c.WornOut }

// Group is the records that have one key, with their counts.
type Group struct {
	Key     string
	Counts  Counts
	Records []Record // oldest first
}

// Tally groups records by a key, the groups in the order of their keys.
func Tally(records []Record, key func(Record) string) []Group {
	at := map[string]int{}
	var groups []Group
	for _, r := range records {
		k := key(r)
		i, known := at[k]
		if !known {
			i = len(groups)
			at[k] = i
			groups = append(groups, Group{Key: k})
		}
		groups[i].Records = append(groups[i].Records, r)
	}
	for i := range groups {
		SortRecords(groups[i].Records)
		groups[i].Counts = Count(groups[i].Records)
	}
	slices.SortFunc(groups, func(a, b Group) int { return cmp.Compare(a.Key, b.Key) })
	return groups
}

// ByItem is a key for Tally: the item's id.
func ByItem(r Record) string { return r.Item }

// ByKit is a key for Tally: the kit's id.
func ByKit(r Record) string { return r.Kit }

// ByUnit is a key for Tally: the id of the unit that carried the kit then.
func ByUnit(r Record) string { return r.Unit }

// ByYear is a key for Tally: the fiscal year, as "2027".
func ByYear(c Calendar) func(Record) string {
	return func(r Record) string { return fmt.Sprintf("%04d", c.Year(r.Date)) }
}

// OfYear are the records of a fiscal year, oldest first.
func OfYear(records []Record, c Calendar, year int) []Record {
	var of []Record
	for _, r := range records {
		if c.Year(r.Date) == year {
			of = append(of, r)
		}
	}
	SortRecords(of)
	return of
}
