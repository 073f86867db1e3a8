package door_test

import (
	"math"
	"slices"
	"testing"

	"kitbell/bot/door"
)

// Where marks are worth nothing, cost is minutes: what a tool saves in minutes,
// summed over the doors, is the model's worth of it. Shares add up to one.
func TestSavingsAreWorthWithoutMarks(t *testing.T) {
	free, err := cardPlanner(t).Assumptions().Override([]byte("marks: [0, 0, 0, 0, 0]"))
	if err != nil {
		t.Fatal(err)
	}
	planner, err := door.NewPlanner(free, cardTechniques(t))
	if err != nil {
		t.Fatal(err)
	}
	ids := []string{"latch-film", "under-door-lever", "utility-key", "thumbturn-fork"}
	savings := planner.Savings(fullKit(), ids)
	counted := (free.Calls[door.UrgencyRoutine] + free.Calls[door.UrgencyUrgent]) / (free.Calls[door.UrgencyRoutine] + free.Calls[door.UrgencyUrgent] + free.Calls[door.UrgencyLife])
	for _, worth := range planner.Worth(fullKit(), ids) {
		shares, minutes := 0.0, 0.0
		for _, s := range savings[worth.Tool] {
			shares += s.Share
			minutes += s.Share * s.Minutes
			if s.Door == "" || math.Abs(s.Marks) > 1 {
				t.Errorf("%s: %+v", worth.Tool, s)
			}
		}
		if math.Abs(shares-1) > 1e-9 || math.Abs(minutes*counted-worth.Minutes) > 1e-9 {
			t.Errorf("%s: shares %g, saves %g minutes, is worth %g", worth.Tool, shares, minutes*counted, worth.Minutes)
		}
	}
}

// One way and the force. Without the tool an entry is the force: six minutes and a
// scar. With it, it is two minutes, and with the chance that the way fails (a
// quarter of the one hold there is) those of the force as well. By hand.
func TestSavingsByHand(t *testing.T) {
	assumptions, err := smallAssumptions(t).Override([]byte(`
kinds:
  - {lock: spring-latch, holds: {latch: 1}}
doors:
  - {name: the door, share: 1, facts: {swing: in, lock: spring-latch}}
calls: {routine: 0.8, urgent: 0.2, life: 0}
`))
	if err != nil {
		t.Fatal(err)
	}
	technique := func(id, plan string) door.Technique {
		parsed, err := door.ParseTechnique(id, id, []byte("step: attempt\nmove: m\ncaution: c\n"+plan))
		if err != nil {
			t.Fatal(err)
		}
		return parsed
	}
	planner, err := door.NewPlanner(assumptions, []door.Technique{
		technique("slip", "minutes: 2\ntools: [film]\nchance: {latch: [75, 25]}\n"),
		technique("force", "minutes: 6\nmark: 2\nlast: true\n"),
	})
	if err != nil {
		t.Fatal(err)
	}
	savings := planner.Savings(door.NewTools("film"), []string{"film", "stick"})
	if len(savings["film"]) != 2 { // routine and urgent
		t.Fatalf("savings %+v", savings)
	}
	for _, s := range savings["film"] {
		if math.Abs(s.Minutes-(6-(2+0.25*6))) > 1e-9 || math.Abs(s.Marks-0.75) > 1e-9 {
			t.Errorf("saves %+v", s)
		}
	}
	for _, s := range savings["stick"] {
		if s.Minutes != 0 || s.Marks != 0 {
			t.Errorf("a tool that opens nothing saves %+v", s)
		}
	}
}

// Door by door the costs add up to the kit's, and a tool that a door does not take
// changes nothing there.
func TestEachDoor(t *testing.T) {
	planner := cardPlanner(t)
	a := planner.Assumptions()
	counted := (a.Calls[door.UrgencyRoutine] + a.Calls[door.UrgencyUrgent]) / (a.Calls[door.UrgencyRoutine] + a.Calls[door.UrgencyUrgent] + a.Calls[door.UrgencyLife])
	without := fullKit()
	delete(without, "latch-film")
	total, shares := 0.0, 0.0
	planner.EachDoor(everyTool(), func(share float64, takes []string, cost func(door.Tools) float64) {
		total += share * cost(without)
		shares += share
		if takesFilm := slices.Contains(takes, "latch-film"); !takesFilm && math.Abs(cost(without)-cost(fullKit())) > 1e-9 {
			t.Errorf("a door that takes no film costs %g without it, %g with it", cost(without), cost(fullKit()))
		}
	})
	if want := planner.Cost(without); math.Abs(total*counted-want) > 1e-9 || math.Abs(shares-1) > 1e-9 {
		t.Errorf("costs %g, want %g; shares %g", total*counted, want, shares)
	}
}
