package budget

import (
	"cmp"
	"slices"
	"time"
)

// Kind says what a record is about.
type Kind string

// The kinds of records.
const (
	Used      Kind = "used"              // on a call; the tool is still there
	Absent    Kind = "wanted and absent" // on a call
	UsedUp    Kind = "used up"           // pieces of a consumable
	Lost      Kind = "lost"
	Broken    Kind = "broken"
	WornOut   Kind = "worn out"   // or past its date
	DaysShort Kind = "days short" // the count is of days
	Paid      Kind = "paid"       // the count is of pieces, the cents are for all of them
)

// Kinds lists them in the order in which they are shown.
func Kinds() []Kind { return []Kind{Used, Absent, UsedUp, Lost, Broken, WornOut, DaysShort, Paid} }

// Gone says whether a piece is no longer there after such a record.
func (k Kind) Gone() bool { return k == UsedUp || k == Lost || k == Broken || k == WornOut }

// Record is one dated fact about an item of a kit. It names nobody. Line or
// Entry says where it stands, so that it can be shown.
type Record struct {
	Date  time.Time `json:"date"`
	Kit   string    `json:"kit,omitempty"`
	Unit  string    `json:"unit,omitempty"` // the rig that carried the kit then
	Item  string    `json:"item"`
	Kind  Kind      `json:"kind"`
	Count int       `json:"count"`
	Cents int64     `json:"cents,omitempty"` // paid
	Line  int       `json:"line,omitempty"`  // number of the queue line; 0 for none
	Entry string    `json:"entry,omitempty"` // key of the journal's entry; empty for none
}

// SortRecords puts records in the order of their dates; those of one instant
// always the same way.
func SortRecords(records []Record) { slices.SortFunc(records, compareRecords) }

func compareRecords(a, b Record) int {
	return cmp.Or(a.Date.Compare(b.Date), cmp.Compare(a.Item, b.Item), cmp.Compare(a.Kit, b.Kit), cmp.Compare(a.Kind, b.Kind),
		cmp.Compare(a.Line, b.Line), cmp.Compare(a.Entry, b.Entry), cmp.Compare(a.Count, b.Count), cmp.Compare(a.Cents, b.Cents), cmp.Compare(a.Unit, b.Unit))
}
