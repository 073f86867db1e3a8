package door_test

import (
	"math"
	"slices"
	"testing"

	"kitbell/bot/door"
)

func TestWorthIsTheDifferenceInCost(t *testing.T) {
	planner := cardPlanner(t)
	kit := fullKit()
	delete(kit, "under-door-lever")
	now := planner.Cost(kit)
	for _, worth := range planner.Worth(kit, everyTool()) {
		other := fullKit()
		delete(other, "under-door-lever")
		if worth.Carried {
			delete(other, worth.Tool)
		} else {
			other[worth.Tool] = ""
		}
		if want := math.Abs(planner.Cost(other) - now); math.Abs(worth.Minutes-want) > 1e-9 {
			t.Errorf("%s is worth %g, by two costs %g", worth.Tool, worth.Minutes, want)
		}
		if worth.Minutes < -1e-9 {
			t.Errorf("%s is worth %g: a tool never costs", worth.Tool, worth.Minutes)
		}
	}
}

func TestWorthFollowsTheMix(t *testing.T) {
	planner := cardPlanner(t)
	worths := planner.Worth(fullKit(), everyTool())
	rank := func(id string) int {
		return slices.IndexFunc(worths, func(w door.ToolWorth) bool { return w.Tool == id })
	}
	if rank("latch-film") > rank("stile-strip") {
		t.Error("inward latches are the most common doors, yet the film ranks below the strip")
	}
	if worths[rank("utility-key")].Minutes != 0 {
		t.Error("the utility key opens none of the doors, yet it is worth minutes")
	}
}

func TestSkillWorths(t *testing.T) {
	planner := cardPlanner(t)
	worths := planner.SkillWorths(fullKit(), []string{"slip-narrow-stile", "slip-inward", "leave-it-secure"})
	if worths[0].Technique != "slip-inward" || worths[0].Minutes <= worths[1].Minutes {
		t.Errorf("inward latches are the most common doors, yet the skills rank %+v", worths)
	}
	if last := worths[2]; last.Technique != "leave-it-secure" || last.Minutes != 0 {
		t.Errorf("leaving a door secure opens none, yet it is worth %g", last.Minutes)
	}
	without := fullKit()
	delete(without, "latch-film")
	if want := planner.Cost(without) - planner.Cost(fullKit()); math.Abs(worths[0].Minutes-want) > 1e-9 {
		t.Errorf("slip-inward is worth %g, its only tool %g", worths[0].Minutes, want)
	}
}

func TestCannotDo(t *testing.T) {
	planner := cardPlanner(t)
	kit := fullKit()
	if got := planner.CannotDo(kit, fullKit()); len(got) != 0 {
		t.Errorf("a complete kit cannot do %v", got)
	}
	delete(kit, "latch-film")
	delete(kit, "pair-door-hook")
	got := planner.CannotDo(kit, fullKit())
	for _, want := range []string{"inward latch", "pair with vertical rods"} {
		if !slices.Contains(got, want) {
			t.Errorf("%q is not in %v", want, got)
		}
	}
	if slices.Contains(got, "outward latch") {
		t.Errorf("outward latch is in %v", got)
	}
	if all := planner.CannotDo(nil, fullKit()); len(all) < 15 || all[0] != "inward latch" {
		t.Errorf("an empty kit cannot do %v", all)
	}
}

func TestNoMixNoCost(t *testing.T) {
	assumptions := smallAssumptions(t)
	planner, err := door.NewPlanner(assumptions, cardTechniques(t))
	if err != nil {
		t.Fatal(err)
	}
	if got := planner.Cost(fullKit()); got != 0 {
		t.Errorf("cost %g without a mix", got)
	}
}

func BenchmarkWorthOfAKit(b *testing.B) {
	planner := cardPlanner(b)
	for b.Loop() {
		planner.Worth(fullKit(), everyTool()[:25])
	}
}
