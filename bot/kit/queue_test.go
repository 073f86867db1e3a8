package kit_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"kitbell/bot/kit"
)

var noon = time.Date(2026, 11, 23, 12, 0, 0, 0, time.UTC)

func report(item string, c kit.Condition, count int) kit.Report {
	return kit.Report{Kit: "k07", Unit: "engine-4", Item: item, Condition: c, Count: count, By: "a", Platoon: "A", At: noon}
}

func TestFileOpensALine(t *testing.T) {
	got := kit.File(nil, report("door-strap", kit.Missing, 1), 41)
	want := kit.Change{Verb: kit.Opened, By: "a", At: noon, New: kit.Line{
		Number: 41, Kit: "k07", Unit: "engine-4", Item: "door-strap", Condition: kit.Missing, Count: 1, State: kit.Reported,
		By: "a", Platoon: "A", Reports: 1, OpenedAt: noon, ChangedAt: noon, StateAt: noon, Version: 1}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestFileJoins(t *testing.T) {
	first := kit.File(nil, report("wood-wedge", kit.Worn, 1), 41).New
	otherKit := first
	otherKit.Kit = "k01"
	closed := first
	closed.State = kit.BackInKit
	for _, row := range []struct {
		name      string
		open      []kit.Line
		report    kit.Report
		verb      kit.Verb
		condition kit.Condition
		count     int
	}{
		{"the same again", []kit.Line{first}, report("wood-wedge", kit.Worn, 1), kit.Joined, kit.Worn, 1},
		{"more and graver", []kit.Line{first}, report("wood-wedge", kit.Damaged, 2), kit.Joined, kit.Damaged, 2},
		{"gone is another matter than worn", []kit.Line{first}, report("wood-wedge", kit.Missing, 2), kit.Opened, kit.Missing, 2},
		{"less and milder", []kit.Line{first}, report("wood-wedge", kit.Dirty, 1), kit.Joined, kit.Worn, 1},
		{"another item", []kit.Line{first}, report("steel-wedge", kit.Worn, 1), kit.Opened, kit.Worn, 1},
		{"another kit", []kit.Line{otherKit}, report("wood-wedge", kit.Worn, 1), kit.Opened, kit.Worn, 1},
		{"a closed line", []kit.Line{closed}, report("wood-wedge", kit.Worn, 1), kit.Opened, kit.Worn, 1},
		{"too many is another matter", []kit.Line{first}, report("wood-wedge", kit.Extra, 1), kit.Opened, kit.Extra, 1},
	} {
		t.Run(row.name, func(t *testing.T) {
			got := kit.File(row.open, row.report, 42)
			if got.Verb != row.verb || got.New.Condition != row.condition || got.New.Count != row.count {
				t.Errorf("got %s %s %d, want %s %s %d", got.Verb, got.New.Condition, got.New.Count, row.verb, row.condition, row.count)
			}
		})
	}
}

func TestCloseAndUndo(t *testing.T) {
	opened := kit.File(nil, report("door-strap", kit.Missing, 1), 41).New
	closed, ok := kit.Close([]kit.Line{opened}, "k07", "door-strap", kit.BackInKit, "b", noon)
	if !ok || closed.New.State != kit.BackInKit || closed.New.Version != 2 {
		t.Fatalf("closing: %+v, %v", closed, ok)
	}
	if _, ok := kit.Close([]kit.Line{closed.New}, "k07", "door-strap", kit.BackInKit, "b", noon); ok {
		t.Error("a closed line was closed again")
	}
	again := kit.Undo(closed.New, closed.Old, "b", noon)
	if !again.New.State.Open() || again.New.Version != 3 {
		t.Errorf("undo of a closing: %+v", again.New)
	}
	if gone := kit.Undo(opened, kit.Line{}, "a", noon); gone.New.State != kit.NotAFault || gone.New.Number != 41 {
		t.Errorf("undo of an opening: %+v", gone.New)
	}
}

// However reports come in, an item of a kit has at most one open line about
// being short of it, and the line never claims less than was once reported.
func TestOneOpenLineAnItem(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		matters := [][]kit.Condition{{kit.Missing, kit.Low, kit.Expired}, {kit.Damaged, kit.Worn, kit.Dirty}}
		short := rapid.SampledFrom(matters).Draw(t, "matter")
		var open []kit.Line
		most := 0
		for i := range rapid.IntRange(1, 20).Draw(t, "reports") {
			r := report("latch-film", rapid.SampledFrom(short).Draw(t, "condition"), rapid.IntRange(1, 4).Draw(t, "count"))
			most = max(most, r.Count)
			c := kit.File(open, r, 100+i)
			open = []kit.Line{c.New}
			if i > 0 && c.Verb != kit.Joined {
				t.Fatalf("report %d opened a second line", i)
			}
		}
		if open[0].Count != most {
			t.Fatalf("count %d, want %d", open[0].Count, most)
		}
	})
}

func TestTally(t *testing.T) {
	for _, row := range []struct {
		name       string
		count, qty int
		ok         bool
	}{
		{"one of one", 1, 1, true}, {"none", 0, 1, false}, {"negative", -3, 2, false},
		{"more than the kit holds", 40, 4, false}, {"item not on the list", 3, 0, true},
	} {
		t.Run(row.name, func(t *testing.T) {
			if _, err := kit.Tally(row.count, row.qty); (err == nil) != row.ok {
				t.Errorf("Tally(%d, %d): %v", row.count, row.qty, err)
			}
		})
	}
}
