package storetest

import (
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot"
	"kitbell/bot/kit"
	"kitbell/bot/store"
)

// filed reports an item, as one event does, and gives the step.
func filed(t testing.TB, db *store.DB, event string, r kit.Report) kit.Change {
	t.Helper()
	open, err := db.OpenLines(t.Context(), Department)
	check(t, err)
	number, err := db.NextNumber(t.Context(), Department)
	check(t, err)
	step := kit.File(open, r, number)
	check(t, db.Apply(t.Context(), received(t, db, event, step)))
	return step
}

func linesKeepVersions(t *testing.T, open Opener) {
	db := fresh(t, open)
	opened := filed(t, db, "1", Report("door-strap"))
	opened.New.Note = "" // as stored
	joined := filed(t, db, "2", Report("door-strap"))
	moved, _ := kit.Close([]kit.Line{joined.New}, "k07", "door-strap", kit.BackInKit, "p-marsh", Noon.Add(time.Hour))
	moved.New.Note = "was in the other bag"
	check(t, db.Apply(t.Context(), received(t, db, "3", moved)))

	now, err := db.Line(t.Context(), Department, opened.New.Number)
	check(t, err)
	if diff := cmp.Diff(moved.New, now); diff != "" {
		t.Error("now:", diff)
	}
	history, err := db.History(t.Context(), Department, opened.New.Number)
	check(t, err)
	if diff := cmp.Diff([]kit.Change{opened, joined, moved}, history); diff != "" {
		t.Error("history:", diff)
	}
	was, err := db.LineAt(t.Context(), Department, opened.New.Number, 2)
	check(t, err)
	if diff := cmp.Diff(joined.New, was); diff != "" {
		t.Error("version 2:", diff)
	}
	_, err = db.LineAt(t.Context(), Department, opened.New.Number, 4)
	wantError(t, err, bot.ErrNotFound)
	_, err = db.Line(t.Context(), "other", opened.New.Number)
	wantError(t, err, bot.ErrNotFound)
	if history, err := db.History(t.Context(), Department, 999); err != nil || len(history) != 0 {
		t.Errorf("history of no line: %v, %v", history, err)
	}
	other := filed(t, db, "4", Report("latch-film"))
	other.New.Note = ""
	all, err := db.LineSteps(t.Context(), Department)
	check(t, err)
	if diff := cmp.Diff([]kit.Change{opened, joined, moved, other}, all); diff != "" {
		t.Error("steps of all lines:", diff)
	}
	if none, err := db.LineSteps(t.Context(), "other"); err != nil || len(none) != 0 {
		t.Errorf("steps of another department: %v, %v", none, err)
	}
}

func staleLinesConflict(t *testing.T, open Opener) {
	db := fresh(t, open)
	line := filed(t, db, "1", Report("door-strap")).New
	first, _ := kit.Close([]kit.Line{line}, "k07", "door-strap", kit.Taken, "a", Noon)
	second, _ := kit.Close([]kit.Line{line}, "k07", "door-strap", kit.Ordered, "b", Noon)
	check(t, db.Apply(t.Context(), Turn("", first)))
	wantError(t, db.Apply(t.Context(), Turn("", second)), bot.ErrConflict)
	sameNumber := kit.File(nil, Report("latch-film"), line.Number)
	wantError(t, db.Apply(t.Context(), Turn("", sameNumber)), bot.ErrConflict)
	got, err := db.Line(t.Context(), Department, line.Number)
	check(t, err)
	if got.State != kit.Taken || got.Item != "door-strap" {
		t.Errorf("got %+v", got)
	}
}

// oneOpenLine checks, for every pair of conditions, that the database takes a
// second open line exactly when the kit package would open one.
func oneOpenLine(t *testing.T, open Opener) {
	db := fresh(t, open)
	for i, a := range kit.Conditions() {
		for j, b := range kit.Conditions() {
			item := fmt.Sprintf("item-%d-%d", i, j)
			first, second := Report(item), Report(item)
			first.Condition, second.Condition = a, b
			n := 1 + 2*(i*100+j)
			opened := kit.File(nil, first, n)
			check(t, db.Apply(t.Context(), Turn("", opened)))
			joins := kit.File([]kit.Line{opened.New}, second, n+1).Verb == kit.Joined
			err := db.Apply(t.Context(), Turn("", kit.File(nil, second, n+1)))
			if joins {
				wantError(t, err, bot.ErrConflict)
			} else {
				check(t, err)
			}
		}
	}
	reopened(t, db)
}

// reopened checks that a closed line leaves room for a new one, and cannot come
// back beside it.
func reopened(t *testing.T, db *store.DB) {
	opened := kit.File(nil, Report("door-strap"), 90001)
	check(t, db.Apply(t.Context(), Turn("", opened)))
	closed, _ := kit.Close([]kit.Line{opened.New}, "k07", "door-strap", kit.NotAFault, "a", Noon)
	check(t, db.Apply(t.Context(), Turn("", closed, kit.File(nil, Report("door-strap"), 90002))))
	back := kit.Undo(closed.New, closed.Old, "a", Noon)
	wantError(t, db.Apply(t.Context(), Turn("", back)), bot.ErrConflict)
}

func linesAreFound(t *testing.T, open Opener) {
	db := fresh(t, open)
	for i, r := range []struct {
		unit, item string
		state      kit.State
		at         time.Time
	}{
		{"engine-4", "door-strap", kit.Reported, Noon}, {"engine-4", "latch-film", kit.Ordered, Noon},
		{"tower-6", "door-strap", kit.BackInKit, Noon}, {"tower-6", "wood-wedge", kit.NotAFault, Noon.Add(-time.Hour)},
	} {
		report := Report(r.item)
		report.Unit, report.Kit, report.At = r.unit, "kit-"+r.unit, r.at
		step := kit.File(nil, report, i+1)
		step.New.State = r.state
		check(t, db.Apply(t.Context(), Turn("", step)))
	}
	for _, row := range []struct {
		name       string
		unit, item string
		state      kit.State
		since      time.Time
		want       []int
	}{
		{"the open ones", "", "", "", time.Time{}, []int{1, 2}},
		{"and those closed since", "", "", "", Noon, []int{1, 2, 3}},
		{"all", "", "", "", Noon.Add(-time.Hour), []int{1, 2, 3, 4}},
		{"a unit's", "tower-6", "", "", Noon.Add(-time.Hour), []int{3, 4}},
		{"an item's", "", "door-strap", "", Noon, []int{1, 3}},
		{"in a state", "", "", kit.Ordered, Noon, []int{2}},
		{"none", "boat-5", "", "", Noon, nil},
	} {
		lines, err := db.Lines(t.Context(), Department, row.unit, row.item, row.state, row.since)
		check(t, err)
		var got []int
		for _, l := range lines {
			got = append(got, l.Number)
		}
		if !cmp.Equal(got, row.want) {
			t.Errorf("%s: %v, want %v", row.name, got, row.want)
		}
	}
}

func numbersRise(t *testing.T, open Opener) {
	place := t.TempDir()
	db := open(t, place)
	want := func(department string, number int) {
		t.Helper()
		got, err := db.NextNumber(t.Context(), department)
		if err != nil || got != number {
			t.Errorf("%s: got %d, %v, want %d", department, got, err, number)
		}
	}
	want(Department, 1)
	want("other", 1)
	check(t, db.Apply(t.Context(), Turn("", kit.File(nil, Report("door-strap"), 40))))
	want(Department, 41)
	check(t, db.Close())
	db = open(t, place)
	defer db.Close()
	want(Department, 42)
	want("other", 2)
}

func doneIsFound(t *testing.T, open Opener) {
	db := fresh(t, open)
	strap := kit.File(nil, Report("door-strap"), 1)
	film := kit.File(nil, Report("latch-film"), 2)
	check(t, db.Apply(t.Context(), received(t, db, "1", film, strap,
		bot.Written{Entry: entry("check", "k07", Noon)}, bot.Written{Entry: entry("use", "k07", Noon)})))
	joined := filed(t, db, "2", Report("door-strap"))

	steps, entries, err := db.Done(t.Context(), Department, "1")
	check(t, err)
	if diff := cmp.Diff([]kit.Change{strap, film}, steps); diff != "" {
		t.Error("steps:", diff)
	}
	if len(entries) != 2 || entries[0].Kind != "check" || entries[0].Event != "1" || entries[0].ID == 0 {
		t.Errorf("entries: %+v", entries)
	}
	check(t, db.Apply(t.Context(), Turn("", bot.Withdrawn{Entry: entries[0], At: Noon})))
	if _, entries, err = db.Done(t.Context(), Department, "1"); err != nil || len(entries) != 1 {
		t.Errorf("after a withdrawal: %+v, %v", entries, err)
	}
	steps, _, err = db.Done(t.Context(), Department, "2")
	check(t, err)
	if diff := cmp.Diff([]kit.Change{joined}, steps); diff != "" {
		t.Error("the second event:", diff)
	}
	edited := filed(t, db, bot.EditID("2", "1"), Report("wood-wedge"))
	filed(t, db, "2a", Report("latch-film"))
	steps, _, err = db.Done(t.Context(), Department, "2")
	check(t, err)
	if diff := cmp.Diff([]kit.Change{joined, edited}, steps); diff != "" {
		t.Error("the second event with its later wording:", diff)
	}
	if steps, entries, err = db.Done(t.Context(), "other", "1"); err != nil || len(steps)+len(entries) != 0 {
		t.Errorf("another department: %v, %v, %v", steps, entries, err)
	}
}

func lastEventStands(t *testing.T, open Opener) {
	db := fresh(t, open)
	want := func(since time.Time, event string) {
		t.Helper()
		got, ok, err := db.LastEventBy(t.Context(), Department, "a-crew", "seen", since)
		check(t, err)
		if got != event || ok != (event != "") {
			t.Errorf("got %q, %v, want %q", got, ok, event)
		}
	}
	want(Noon, "")
	check(t, db.Apply(t.Context(), received(t, db, "0", bot.Written{Entry: entry("seen", "m1", Noon.Add(time.Hour))})))
	want(Noon, "")
	later := Report("latch-film")
	later.At = Noon.Add(2 * time.Minute)
	line := filed(t, db, "1", Report("door-strap")).New
	check(t, db.Apply(t.Context(), received(t, db, "2", bot.Written{Entry: entry("use", "k07", Noon.Add(time.Minute))})))
	film := filed(t, db, "3", later).New
	want(Noon, "3")
	want(Noon.Add(3*time.Minute), "")

	check(t, db.Apply(t.Context(), received(t, db, "4", kit.Undo(film, kit.Line{}, "a-crew", later.At))))
	want(Noon, "2")
	_, entries, err := db.Done(t.Context(), Department, "2")
	check(t, err)
	check(t, db.Apply(t.Context(), received(t, db, "5", bot.Withdrawn{Entry: entries[0], At: later.At})))
	want(Noon, "1")
	check(t, db.Apply(t.Context(), received(t, db, "6", kit.Undo(line, kit.Line{}, "a-crew", later.At))))
	want(Noon, "")
}
