package kit_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"kitbell/bot/kit"
)

func loans(steps ...kit.LoanStep) []kit.Loan {
	return kit.Loans(steps, func(int) (string, time.Time) { return "a", noon })
}

func TestLoans(t *testing.T) {
	film := kit.LoanStep{Key: "1", Item: "latch-film", Count: 1, From: "k07", To: "k06"}
	wedge := kit.LoanStep{Key: "2", Item: "air-wedge", Count: 1, From: kit.Outside, To: "k07"}
	out := loans(film, wedge, film)
	if len(out) != 2 || kit.LentOut(out, "k07", "latch-film") != 1 || kit.LentOut(out, "k06", "latch-film") != -1 || kit.LentOut(out, "k07", "air-wedge") != -1 {
		t.Errorf("out: %+v", out)
	}
	if back := loans(film, kit.LoanStep{Key: "1", Back: true}, kit.LoanStep{Key: "9", Back: true}); len(back) != 0 {
		t.Errorf("back: %+v", back)
	}
}

func TestShelves(t *testing.T) {
	n := func(i int) *int { return &i }
	shelves := kit.Shelves([]kit.ShelfStep{
		{Station: "station-4", Item: "wood-wedge", Counted: n(6), Minimum: n(4)},
		{Station: "station-4", Item: "wood-wedge", Change: -3},
		{Station: "station-4", Item: "latch-film", Change: -1},
		{Station: "station-1", Item: "wood-wedge", Counted: n(2), Minimum: n(2)},
	})
	want := map[string][]kit.Stock{
		"station-4": {{Item: "wood-wedge", Count: 3, Minimum: 4, Known: true}, {Item: "latch-film"}},
		"station-1": {{Item: "wood-wedge", Count: 2, Minimum: 2, Known: true}},
	}
	if diff := cmp.Diff(want, shelves); diff != "" {
		t.Error(diff)
	}
	if four := shelves["station-4"]; !kit.On(four, "wood-wedge").Low() || kit.On(four, "latch-film").Low() || kit.On(shelves["station-1"], "wood-wedge").Low() {
		t.Error("low")
	}
}

// Whatever is counted, taken and put back, a shelf holds none or some.
func TestAShelfHoldsNoFewerThanNone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var steps []kit.ShelfStep
		for range rapid.IntRange(1, 20).Draw(t, "steps") {
			steps = append(steps, kit.ShelfStep{Station: "s", Item: "wood-wedge", Change: rapid.IntRange(-9, 9).Draw(t, "change")})
		}
		if got := kit.On(kit.Shelves(steps)["s"], "wood-wedge"); got.Count < 0 {
			t.Fatalf("%+v", got)
		}
	})
}
