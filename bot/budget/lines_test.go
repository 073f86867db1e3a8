package budget_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot/budget"
	"kitbell/bot/kit"
)

// history makes a line's steps: the report, then what is done to it, a day apart.
func history(t *testing.T, r kit.Report, steps ...kit.Step) []kit.Change {
	t.Helper()
	r.Kit, r.Unit, r.At = "k07", "engine-4", on("2027-06-20")
	all := []kit.Change{kit.Open(r, 41)}
	for i, s := range steps {
		s.At = r.At.AddDate(0, 0, i+1)
		c, err := kit.Advance(all[len(all)-1].New, s)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, c)
	}
	return all
}

func queued(kind budget.Kind, day string, n int, cents int64) budget.Record {
	return budget.Record{Date: on(day), Kit: "k07", Unit: "engine-4", Item: "air-wedge", Kind: kind, Count: n, Cents: cents, Line: 41}
}

func TestRecordsOfLines(t *testing.T) {
	missing := kit.Report{Item: "air-wedge", Condition: kit.Missing, Count: 1}
	film := kit.Report{Item: "latch-film", Condition: kit.Missing, Count: 2}
	damaged := kit.Report{Item: "air-wedge", Condition: kit.Damaged, Count: 1}
	usedUp := queued(budget.UsedUp, "2027-06-20", 2, 0)
	usedUp.Item = "latch-film"
	shortFilm := queued(budget.DaysShort, "2027-06-21", 1, 0)
	shortFilm.Item = "latch-film"
	// Closed at noon a day later, a span ends a second before it.
	end := func(r budget.Record) budget.Record { r.Date = r.Date.Add(-time.Second); return r }
	for _, row := range []struct {
		name    string
		history []kit.Change
		told    budget.Return
		want    []budget.Record
	}{
		{"nothing", nil, budget.NotTold, nil},
		{"found again", history(t, missing, kit.Step{To: kit.InHand}, kit.Step{To: kit.BackInKit}), budget.NotTold,
			[]budget.Record{end(queued(budget.DaysShort, "2027-06-22", 2, 0))}},
		{"found on another rig, though the quartermaster had it", history(t, missing, kit.Step{To: kit.Taken, Where: kit.OtherRig}, kit.Step{To: kit.BackInKit}), budget.NotTold,
			[]budget.Record{end(queued(budget.DaysShort, "2027-06-22", 2, 0))}},
		{"found, as somebody tells", history(t, missing, kit.Step{To: kit.Ordered}, kit.Step{To: kit.BackInKit}), budget.FoundAgain,
			[]budget.Record{end(queued(budget.DaysShort, "2027-06-22", 2, 0))}},
		{"worked by the quartermaster", history(t, missing, kit.Step{To: kit.Taken}, kit.Step{To: kit.BackInKit}), budget.NotTold,
			[]budget.Record{queued(budget.Lost, "2027-06-20", 1, 0), end(queued(budget.DaysShort, "2027-06-22", 2, 0))}},
		{"replaced from a shelf", history(t, missing, kit.Step{To: kit.BackInKit}), budget.Replaced,
			[]budget.Record{queued(budget.Lost, "2027-06-20", 1, 0), end(queued(budget.DaysShort, "2027-06-21", 1, 0))}},
		{"bought", history(t, missing, kit.Step{To: kit.Ordered, Order: "A1"}, kit.Step{Pieces: 1, Paid: 44_00}, kit.Step{To: kit.BackInKit}), budget.NotTold,
			[]budget.Record{queued(budget.Lost, "2027-06-20", 1, 0), end(queued(budget.DaysShort, "2027-06-23", 3, 0)), queued(budget.Paid, "2027-06-22", 1, 44_00)}},
		{"written off", history(t, missing, kit.Step{Where: kit.WrittenOff}, kit.Step{To: kit.BackInKit}), budget.NotTold,
			[]budget.Record{queued(budget.Lost, "2027-06-20", 1, 0), end(queued(budget.DaysShort, "2027-06-22", 2, 0))}},
		{"broken up", history(t, missing, kit.Step{Where: kit.BrokenUp}, kit.Step{To: kit.BackInKit}), budget.NotTold,
			[]budget.Record{queued(budget.Broken, "2027-06-20", 1, 0), end(queued(budget.DaysShort, "2027-06-22", 2, 0))}},
		{"damaged", history(t, damaged, kit.Step{To: kit.BackInKit}), budget.NotTold,
			[]budget.Record{queued(budget.Broken, "2027-06-20", 1, 0), end(queued(budget.DaysShort, "2027-06-21", 1, 0))}},
		{"no fault", history(t, damaged, kit.Step{To: kit.NotAFault}), budget.NotTold, nil},
		{"a consumable is used up", history(t, film, kit.Step{To: kit.BackInKit}), budget.NotTold, []budget.Record{usedUp, end(shortFilm)}},
		{"dirty is there", history(t, kit.Report{Item: "air-wedge", Condition: kit.Dirty, Count: 1}, kit.Step{To: kit.BackInKit}), budget.NotTold, nil},
		{"open over a year's end", history(t, missing), budget.NotTold, []budget.Record{
			queued(budget.Lost, "2027-06-20", 1, 0),
			{Date: july.End(2027).Add(-time.Second), Kit: "k07", Unit: "engine-4", Item: "air-wedge", Kind: budget.DaysShort, Count: 11, Line: 41},
			end(queued(budget.DaysShort, "2027-07-04", 4, 0)),
		}},
	} {
		reader := budget.LineReader{
			Calendar: july, Now: on("2027-07-04"), Consumable: func(item string) bool { return item == "latch-film" },
			Returned: func(int) budget.Return { return row.told },
		}
		if diff := cmp.Diff(row.want, reader.Records(row.history)); diff != "" {
			t.Errorf("%s: %s", row.name, diff)
		}
	}
}

// A delivery in two parts is two payments; one that was undone is none.
func TestPayments(t *testing.T) {
	all := history(t, kit.Report{Item: "air-wedge", Condition: kit.Missing, Count: 3},
		kit.Step{To: kit.Ordered}, kit.Step{Pieces: 1, Paid: 44_00}, kit.Step{Pieces: 2}, kit.Step{Paid: 80_00})
	paid := func(history []kit.Change) (counts, cents []int64) {
		for _, r := range (budget.LineReader{Calendar: july, Now: on("2027-07-04")}).Records(history) {
			if r.Kind == budget.Paid {
				counts, cents = append(counts, int64(r.Count)), append(cents, r.Cents)
			}
		}
		return counts, cents
	}
	counts, cents := paid(all)
	if diff := cmp.Diff([][]int64{{1, 2}, {44_00, 80_00}}, [][]int64{counts, cents}); diff != "" {
		t.Error(diff)
	}
	last := all[len(all)-1]
	undone := append(all, kit.Undo(last.New, last.Old, "m1", last.At))
	counts, cents = paid(undone)
	if diff := cmp.Diff([][]int64{{1}, {44_00}}, [][]int64{counts, cents}); diff != "" {
		t.Error(diff)
	}
}

// What was ordered and then undone was not ordered: the wedge was found.
func TestUndoneOrder(t *testing.T) {
	all := history(t, kit.Report{Item: "air-wedge", Condition: kit.Missing, Count: 1}, kit.Step{To: kit.Ordered})
	undone := kit.Undo(all[1].New, all[1].Old, "m1", all[1].At)
	back, err := kit.Advance(undone.New, kit.Step{To: kit.BackInKit, At: on("2027-06-25")})
	if err != nil {
		t.Fatal(err)
	}
	if c := budget.Count(budget.LineReader{Calendar: july}.Records(append(all, undone, back))); c != (budget.Counts{DaysShort: 5}) {
		t.Errorf("%+v", c)
	}
	wrong := kit.Undo(all[0].New, kit.Line{}, "m1", all[0].At) // the report itself was a slip
	if records := (budget.LineReader{Calendar: july}).Records([]kit.Change{all[0], wrong}); len(records) != 0 {
		t.Errorf("%+v", records)
	}
}

// A line that is opened again is short twice, and gone once.
func TestReopened(t *testing.T) {
	all := history(t, kit.Report{Item: "air-wedge", Condition: kit.Damaged, Count: 1}, kit.Step{To: kit.BackInKit})
	again, err := kit.Reopen(all[1].New, "m1", on("2027-07-01"))
	if err != nil {
		t.Fatal(err)
	}
	records := budget.LineReader{Calendar: july, Now: on("2027-07-04")}.Records(append(all, again))
	if c := budget.Count(records); c.Broken != 1 || c.DaysShort != 1+3 {
		t.Errorf("%+v", c)
	}
}
