package schedule_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"kitbell/bot"
	"kitbell/schedule"
)

func entry(t testing.TB, spec string, units ...string) schedule.Entry {
	return schedule.Entry{ID: "weekly-check", Cron: parse(t, spec), Kind: schedule.CheckDue, Units: units, Zone: zone(t, "America/New_York")}
}

func TestOccurrences(t *testing.T) {
	e := entry(t, "0 9 * * MON", "engine-1", "engine-2")
	from := time.Date(2026, 11, 23, 14, 0, 0, 0, time.UTC) // Monday 09:00 itself is past
	dues := e.Occurrences(from, from.AddDate(0, 0, 14))
	var got []string
	for _, d := range dues {
		got = append(got, d.Unit+" "+d.Wall)
	}
	want := []string{"engine-1 2026-11-30T09:00", "engine-2 2026-11-30T09:00", "engine-1 2026-12-07T09:00", "engine-2 2026-12-07T09:00"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	digest := entry(t, "0 9 * * MON")
	if dues := digest.Occurrences(from, from.AddDate(0, 0, 7)); len(dues) != 1 || dues[0].Unit != "" {
		t.Errorf("an entry without units: %v", dues)
	}
}

func TestCatchUp(t *testing.T) {
	monday := time.Date(2026, 11, 23, 14, 0, 0, 0, time.UTC)
	for _, row := range []struct {
		name      string
		from, now time.Time
		wall      string // empty: nothing is due
		missed    int
		late      bool
	}{
		{"in time", monday.Add(-1), monday.Add(time.Second), "2026-11-23T09:00", 0, false},
		{"twenty minutes late", monday.Add(-1), monday.Add(20 * time.Minute), "2026-11-23T09:00", 0, true},
		{"three weeks down", monday.Add(-1), monday.AddDate(0, 0, 21), "2026-12-14T09:00", 3, true},
		{"nothing yet", monday, monday.AddDate(0, 0, 6), "", 0, false},
		{"the clock went back", monday, monday.AddDate(0, 0, -6), "", 0, false},
	} {
		t.Run(row.name, func(t *testing.T) {
			dues := entry(t, "0 9 * * MON", "engine-1").CatchUp(row.from, row.now)
			if row.wall == "" {
				if dues != nil {
					t.Errorf("due: %v", dues)
				}
				return
			}
			if len(dues) != 1 || dues[0].Wall != row.wall || dues[0].Missed != row.missed || dues[0].Late != row.late {
				t.Errorf("got %+v", dues)
			}
		})
	}
}

func TestCollapse(t *testing.T) {
	e := entry(t, "0 9 * * MON", "engine-1", "engine-2")
	from := time.Date(2026, 11, 23, 15, 0, 0, 0, time.UTC)
	waiting := e.Occurrences(from, from.AddDate(0, 0, 21))
	waiting[0], waiting[4] = waiting[4], waiting[0] // the order of the rows does not matter
	kept := schedule.Collapse(waiting)
	if len(kept) != 2 {
		t.Fatalf("kept %v", kept)
	}
	for _, d := range kept {
		if d.Wall != "2026-12-14T09:00" || d.Missed != 2 {
			t.Errorf("kept %+v", d)
		}
	}
}

// apply does what a store does with the changes, as far as these tests need.
func apply(t *testing.T, rows map[string]schedule.Due, cursors map[string]schedule.Cursor, changes []bot.Change) (fell int) {
	t.Helper()
	for _, c := range changes {
		switch c := c.(type) {
		case schedule.Fell:
			key := c.Record().Subject
			if _, there := rows[key]; !there {
				rows[key] = c.Due
				fell++
			}
		case schedule.Advanced:
			id := c.Old.Entry + c.New.Entry
			if c.Old.Entry != "" {
				id = c.Old.Entry
			}
			if cursors[id] != c.Old {
				t.Fatalf("stored %v, old %v", cursors[id], c.Old)
			}
			cursors[id] = c.New
			if c.New.Entry == "" {
				delete(cursors, id)
			}
		}
	}
	return fell
}

func TestAdvance(t *testing.T) {
	rows, cursors := map[string]schedule.Due{}, map[string]schedule.Cursor{}
	e := entry(t, "0 9 * * MON", "engine-1", "engine-2")
	entries := []schedule.Entry{e}
	tuesday := time.Date(2026, 11, 24, 12, 0, 0, 0, time.UTC)
	monday := time.Date(2026, 11, 30, 14, 0, 0, 0, time.UTC)
	for _, row := range []struct {
		name string
		now  time.Time
		fell int
		next time.Time
	}{
		{"a new entry begins now", tuesday, 0, monday},
		{"nothing happens in between", tuesday.AddDate(0, 0, 3), 0, monday},
		{"the moment", monday, 2, monday.AddDate(0, 0, 7)},
		{"the same moment again", monday, 0, monday.AddDate(0, 0, 7)},
		{"after three weeks down", monday.AddDate(0, 0, 22), 2, monday.AddDate(0, 0, 28)},
		{"the clock is set back", tuesday, 0, monday},
		{"and comes to the moment again", monday, 0, monday.AddDate(0, 0, 7)},
	} {
		t.Run(row.name, func(t *testing.T) {
			changes, next := schedule.Advance(entries, cursors, row.now)
			if fell := apply(t, rows, cursors, changes); fell != row.fell || !next.Equal(row.next) {
				t.Errorf("%d fell due, next %s; want %d, %s", fell, next, row.fell, row.next)
			}
		})
	}
	t.Run("a changed spec begins anew", func(t *testing.T) {
		changed := []schedule.Entry{entry(t, "0 10 * * MON", "engine-1")}
		changes, next := schedule.Advance(changed, cursors, monday.AddDate(0, 0, 8))
		if fell := apply(t, rows, cursors, changes); fell != 0 || !next.Equal(monday.AddDate(0, 0, 14).Add(time.Hour)) {
			t.Errorf("%d fell due, next %s", fell, next)
		}
	})
	t.Run("an entry that left the file", func(t *testing.T) {
		changes, next := schedule.Advance(nil, cursors, monday)
		apply(t, rows, cursors, changes)
		if len(cursors) != 0 || !next.IsZero() {
			t.Errorf("cursors %v, next %s", cursors, next)
		}
	})
}

// However the loop is woken, delayed or set back, every moment falls due once or
// is stood for by a later one, and none falls twice.
func TestNoMomentIsLost(t *testing.T) {
	e := entry(t, "30 1 * * *", "engine-1")
	rapid.Check(t, func(rt *rapid.T) {
		rows, cursors := map[string]schedule.Due{}, map[string]schedule.Cursor{}
		began := time.Unix(rapid.Int64Range(1.7e9, 1.9e9).Draw(rt, "began"), 0)
		now := began
		for range rapid.IntRange(1, 30).Draw(rt, "steps") {
			changes, next := schedule.Advance([]schedule.Entry{e}, cursors, now)
			apply(t, rows, cursors, changes)
			if !next.After(now) {
				rt.Fatalf("at %s the next moment is %s", now, next)
			}
			now = now.Add(time.Duration(rapid.Int64Range(0, int64(72*time.Hour)).Draw(rt, "pause")))
		}
		changes, _ := schedule.Advance([]schedule.Entry{e}, cursors, now)
		apply(t, rows, cursors, changes)
		told := 0
		for _, d := range rows {
			told += 1 + d.Missed
		}
		if moments := len(e.Cron.Between(began, now, e.Zone)); told != moments {
			rt.Fatalf("%d moments were told of, there were %d", told, moments)
		}
	})
}

func TestChangesAreRecorded(t *testing.T) {
	next := time.Date(2026, 11, 30, 14, 0, 0, 0, time.UTC)
	cursor := schedule.Cursor{Entry: "weekly-check", Spec: "0 9 * * MON", Zone: "America/New_York", Next: next}
	due := schedule.Due{ID: 7, Entry: "weekly-check", Unit: "engine-1", Wall: "2026-11-30T09:00", Kind: schedule.CheckDue}
	for _, row := range []struct {
		name   string
		change bot.Change
		want   bot.Record
	}{
		{"fell", schedule.Fell{Due: due}, bot.Record{Verb: "due-fell", Subject: "due:weekly-check/engine-1/2026-11-30T09:00", New: "check "}},
		{"carried", schedule.Carried{Dues: []schedule.Due{due}, Bundle: "b1"}, bot.Record{Verb: "due-carried", Subject: "bundle:b1", New: "[7]"}},
		{"advanced", schedule.Advanced{New: cursor}, bot.Record{Verb: "entry-advanced", Subject: "entry:weekly-check",
			New: "0 9 * * MON in America/New_York, next 2026-11-30T14:00:00Z"}},
		{"dropped", schedule.Advanced{Old: cursor}, bot.Record{Verb: "entry-advanced", Subject: "entry:weekly-check",
			Old: "0 9 * * MON in America/New_York, next 2026-11-30T14:00:00Z"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			if diff := cmp.Diff(row.want, row.change.Record()); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestSpan(t *testing.T) {
	z := zone(t, "America/New_York")
	quiet := schedule.Span{From: 21 * time.Hour, To: 7 * time.Hour}
	morning := schedule.Span{From: 8 * time.Hour, To: 10 * time.Hour}
	at := func(day, hour, minute int) time.Time { return time.Date(2026, 11, day, hour, minute, 0, 0, z) }
	for _, row := range []struct {
		name           string
		at             time.Time
		quiet, morning bool
		next           time.Time // start of the morning window that holds at or comes next
	}{
		{"night", at(24, 3, 0), true, false, at(24, 8, 0)},
		{"quiet ends", at(24, 7, 0), false, false, at(24, 8, 0)},
		{"morning begins", at(24, 8, 0), false, true, at(24, 8, 0)},
		{"morning ends", at(24, 10, 0), false, false, at(25, 8, 0)},
		{"quiet begins", at(24, 21, 0), true, false, at(25, 8, 0)},
	} {
		t.Run(row.name, func(t *testing.T) {
			if got := quiet.Holds(row.at, z); got != row.quiet {
				t.Errorf("quiet: %v", got)
			}
			if got := morning.Holds(row.at, z); got != row.morning {
				t.Errorf("morning: %v", got)
			}
			if got := morning.Next(row.at, z); !got.From.Equal(row.next) || got.To.Sub(got.From) != 2*time.Hour {
				t.Errorf("next morning: %v", got)
			}
		})
	}
	if got := quiet.Next(at(24, 3, 0), z); !got.From.Equal(at(23, 21, 0)) || !got.To.Equal(at(24, 7, 0)) {
		t.Errorf("the night that holds 03:00: %v", got)
	}
	if empty := (schedule.Span{}); empty.Holds(at(24, 0, 0), z) || empty.Next(at(24, 3, 0), z).From.Before(at(24, 3, 0)) {
		t.Error("an empty span holds something")
	}
}

func TestWindowsOfATour(t *testing.T) {
	r := rotation(t, plan(t, "ABC", "48/96"))
	tour := r.TourAt(time.Date(2026, 1, 1, 12, 0, 0, 0, r.Zone()))
	morning := schedule.Span{From: 7 * time.Hour, To: 10 * time.Hour}
	var got []string
	for _, w := range morning.Within(tour, r.Zone()) {
		got = append(got, w.From.Format("2 15:04")+" to "+w.To.Format("15:04"))
	}
	want := []string{"1 07:30 to 10:00", "2 07:00 to 10:00", "3 07:00 to 07:30"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}
