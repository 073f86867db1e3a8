package budget_test

import (
	"math"
	"strings"
	"testing"

	"kitbell/bot/budget"
)

func TestModelColumn(t *testing.T) {
	b := onList(tarnHarbor(), "air-wedge", "latch-film")
	b.Asks = []budget.Ask{
		{Key: "a", Item: "air-wedge", PerKit: 1}, {Key: "again", Item: "air-wedge", PerKit: 1, Year: 2029}, {Key: "odd", Item: "door-strap", PerKit: 1},
		{Key: "board", Own: true, Title: "board", Pieces: 1, Price: budget.Price{Cents: 1, Source: budget.AskersPrice}},
	}
	r := build(t, b)
	calls := 0
	worth := func(item string) (minutes, marks float64) {
		calls++
		if item == "door-strap" {
			return math.NaN(), 0
		}
		return 2, 0.5
	}
	draws := make([]budget.WorthOf, 41)
	for i := range draws {
		draws[i] = func(string) (float64, float64) { return float64(i) / 10, 0.5 }
	}
	with := r.WithModel(budget.Model{Worth: worth, Draws: draws}, budget.NewSample(31, []budget.MonthlyEntries{{"2027-01", 30}, {"2027-02", 22}, {"2027-03", -4}}))
	l, _ := with.Line("wish/2028/a")
	// The middle 95 % of 0, 0.1 … 4: a fortieth of the way in from each end.
	want := budget.Worth{Minutes: budget.Range{Mean: 2, Low: 0.1, High: 3.9, Bounded: true}, Marks: budget.Range{Mean: 0.5, Low: 0.5, High: 0.5, Bounded: true}}
	if l.Worth == nil || math.Abs(l.Worth.Minutes.Low-0.1) > 1e-9 || math.Abs(l.Worth.Minutes.High-3.9) > 1e-9 || l.Worth.Marks != want.Marks || l.Worth.Minutes.Mean != 2 {
		t.Errorf("%+v", l.Worth)
	}
	for key, known := range map[string]bool{"wish/2029/again": true, "wish/2028/odd": false, "own/2028/board": false, "list/2028/latch-film": true} {
		if l, there := with.Line(key); !there || (l.Worth != nil) != known {
			t.Errorf("%s: %+v", key, l)
		}
	}
	if calls != 3 && calls != 4 { // each item once; one without a figure may be asked again
		t.Errorf("asked %d times", calls)
	}
	if l, _ := r.Line("wish/2028/a"); l.Worth != nil || r.Sample != nil {
		t.Error("the request itself changed")
	}
	if with.Total() != r.Total() {
		t.Error("the model changed a total")
	}
}

func TestWorthWithoutDraws(t *testing.T) {
	b := onList(tarnHarbor(), "air-wedge")
	b.Asks = []budget.Ask{{Key: "a", Item: "air-wedge", PerKit: 1}}
	with := build(t, b).WithModel(budget.Model{Worth: func(string) (float64, float64) { return 2, 1 }}, budget.Sample{})
	if l, _ := with.Line("wish/2028/a"); l.Worth.Minutes != (budget.Range{Mean: 2, Low: 2, High: 2}) {
		t.Errorf("%+v", l.Worth)
	}
}

func TestSample(t *testing.T) {
	for _, row := range []struct {
		name   string
		sample budget.Sample
		words  string
		ok     bool
	}{
		{"counted", budget.Sample{Recorded: 31, Entries: 52}, "31 of 52 entry calls recorded. Recorded calls are a sample", true},
		{"nobody counted", budget.Sample{Recorded: 31}, "31 entry calls recorded; how many there were is not known. Recorded", false},
		{"fewer counted than recorded", budget.Sample{Recorded: 31, Entries: 30}, "31 entry calls recorded; how many", false},
		{"fewer than none", budget.Sample{Recorded: -1, Entries: 30}, "0 entry calls recorded; how many", false},
	} {
		share, low, high, ok := row.sample.Share()
		if !strings.HasPrefix(row.sample.Words(), row.words) || ok != row.ok || !(low <= share && share <= high) {
			t.Errorf("%s: %q, %v of %v to %v", row.name, row.sample.Words(), share, low, high)
		}
	}
	// FACTS E4, Jeffreys 95 %: 5 of 10 is 0.2235 to 0.7765.
	if _, low, high, _ := (budget.Sample{Recorded: 5, Entries: 10}).Share(); math.Abs(low-0.2235) > 0.00005 || math.Abs(high-0.7765) > 0.00005 {
		t.Errorf("%v to %v", low, high)
	}
	if floor, ok := (budget.Sample{Recorded: 26, Entries: 52}).Floor(3); floor != 1.5 || !ok {
		t.Errorf("%v", floor)
	}
}

// Two kinds of doors, of which one is opened: the share is a Beta variate, and its
// middle 95 % for 5 of 10 with half a call beside each is Jeffreys' interval, 0.2235
// to 0.7765 (FACTS E4).
func TestMixModel(t *testing.T) {
	asked := 0
	door := func(calls, minutes float64) budget.MixedDoor {
		return budget.MixedDoor{Calls: calls, Worth: func(string) (float64, float64) { asked++; return minutes, 1 }}
	}
	worth := func(doors ...budget.MixedDoor) budget.Worth {
		b := onList(tarnHarbor(), "air-wedge")
		b.Asks = []budget.Ask{{Key: "a", Item: "air-wedge", PerKit: 1}}
		l, _ := build(t, b).WithModel(budget.MixModel(doors, 4000, 7), budget.Sample{}).Line("wish/2028/a")
		return *l.Worth
	}
	few := worth(door(5.5, 0), door(5.5, 1))
	if few.Minutes.Mean != 0.5 || math.Abs(few.Minutes.Low-0.2235) > 0.02 || math.Abs(few.Minutes.High-0.7765) > 0.02 || few.Marks.Low < 1-1e-9 || few.Marks.High > 1+1e-9 {
		t.Errorf("%+v", few)
	}
	if asked != 2 {
		t.Errorf("the doors were asked %d times", asked)
	}
	many := worth(door(550, 0), door(550, 1), door(0, 99), door(-3, 99))
	if many.Minutes.Mean != 0.5 || many.Minutes.Low < 0.46 || many.Minutes.High > 0.54 {
		t.Errorf("%+v", many)
	}
	if none := worth(); none.Minutes.Mean != 0 {
		t.Errorf("%+v", none)
	}
}
