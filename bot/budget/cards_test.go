package budget_test

import (
	"testing"

	"kitbell/bot/budget"
	"kitbell/bot/door"
	"kitbell/knowledge"
)

// shipped is the door model with the cards that ship.
func shipped(tb testing.TB) *door.Planner {
	tb.Helper()
	library, problems := knowledge.Load(knowledge.Cards())
	if len(problems) > 0 {
		tb.Fatal(problems)
	}
	var techniques []door.Technique
	for _, c := range library.All() {
		if len(c.Plan) == 0 {
			continue
		}
		technique, err := door.ParseTechnique(c.ID, c.Title, c.Plan)
		if err != nil {
			tb.Fatal(err)
		}
		techniques = append(techniques, technique)
	}
	assumptions, err := door.DefaultAssumptions()
	if err != nil {
		tb.Fatal(err)
	}
	planner, err := door.NewPlanner(assumptions, techniques)
	if err != nil {
		tb.Fatal(err)
	}
	return planner
}

// The door model's worth never falls when a tool is added, so the best set by it is
// exact: of five tools that stand in for each other, it is the enumeration's.
func TestBestSetByDoors(t *testing.T) {
	planner := shipped(t)
	candidates := []budget.Candidate{
		{Key: "latch-film", Cents: 38_00}, {Key: "shove-knife", Cents: 24_00}, {Key: "traveler-hook-small", Cents: 31_00},
		{Key: "under-door-lever", Cents: 118_00}, {Key: "thumbturn-fork", Cents: 97_00},
	}
	costs := map[budget.Set]float64{}
	worth := func(s budget.Set) float64 {
		if _, known := costs[s]; !known {
			tools := []string{"irons", "cylinder-set", "air-wedge", "wood-wedge"}
			for i, c := range candidates {
				if s.Has(i) {
					tools = append(tools, c.Key)
				}
			}
			costs[s] = planner.Cost(door.NewTools(tools...))
		}
		return -costs[s]
	}
	for _, amount := range []int64{0, 60_00, 150_00, 400_00} {
		got, err := budget.BestSet(t.Context(), candidates, amount, worth)
		if err != nil {
			t.Fatal(err)
		}
		if want := enumerate(candidates, amount, worth); got.Worth != want.Worth || got.Cents != want.Cents {
			t.Errorf("%d: %+v, by enumeration %+v", amount, got, want)
		}
		t.Logf("under %s: %v for %s, %.2f minutes an entry, %d sets", budget.Money(amount, "USD"), got.Keys, budget.Money(got.Cents, "USD"), -got.Worth, got.Looked)
	}
}
