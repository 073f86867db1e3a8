package door_test

import (
	"slices"
	"strings"
	"testing"

	"kitbell/bot/door"
)

// facts reads "swing=out guard=true failed=slip-outward" for short rows.
func facts(tb interface {
	Helper()
	Fatal(...any)
}, text string) door.Facts {
	tb.Helper()
	var f door.Facts
	for _, word := range strings.Fields(text) {
		name, value, _ := strings.Cut(word, "=")
		if name == "failed" {
			f.Failed = append(f.Failed, value)
			continue
		}
		if err := f.Set(door.Fact(name), value); err != nil {
			tb.Fatal(err)
		}
	}
	return f
}

// firstTwo are the first two steps after try-first.
func firstTwo(plan door.Plan) []string {
	var ids []string
	for _, step := range plan.Steps {
		if step.Technique != "try-first" && len(ids) < 2 {
			ids = append(ids, step.Technique)
		}
	}
	return ids
}

func techniquesOf(plan door.Plan) []string {
	var ids []string
	for _, step := range plan.Steps {
		ids = append(ids, step.Technique)
	}
	return ids
}

// slips are the techniques that draw a latch back through the gap.
func slips() []string {
	return []string{"slip-outward", "slip-tight-gap", "slip-behind-guard", "slip-narrow-stile", "slip-inward"}
}

// TestPlausibleDoors holds doors a crew meets, with the writer's own view of what
// is right: common practice, no published source.
func TestPlausibleDoors(t *testing.T) {
	planner := cardPlanner(t)
	pin := []string{"plunger-lean", "plunger-spread", "spread-ladder"}
	with := func(lists ...[]string) []string { return slices.Concat(lists...) }
	tests := []struct {
		name, facts string
		first       []string // one of these is among the first two steps
		never       []string
	}{
		{"outward mortise, no bolt", "swing=out lock=mortise bolt=false", with([]string{"slip-outward", "slip-tight-gap"}, pin), []string{"slip-inward"}},
		{"outward mortise, bolt thrown", "swing=out lock=mortise bolt=true", []string{"through-the-lock"}, with(slips(), pin)},
		{"guest room, mortise, lever and undercut", "swing=in lock=mortise lever=true undercut=true", []string{"lever-under-door"}, []string{"slip-outward"}},
		{"outward electric strike", "swing=out lock=electric-strike", with([]string{"slip-outward", "slip-tight-gap"}, pin), []string{"slip-inward"}},
		{"electric strike with exit sensor", "swing=out lock=electric-strike sensor=true", []string{"sensor-trip"}, nil},
		{"single exit bar behind a guard", "swing=out lock=exit-rim guard=true", []string{"slip-behind-guard"}, []string{"slip-outward", "slip-tight-gap", "slip-inward"}},
		{"single exit bar", "swing=out lock=exit-rim", []string{"slip-outward"}, []string{"slip-inward", "pair-door-pull"}},
		{"pair with rods, tight middle", "swing=out lock=exit-vertical-rod leaves=pair gap=tight", []string{"spread-ladder", "pair-door-pull"}, slips()},
		{"pair with rods", "lock=exit-vertical-rod leaves=pair", []string{"pair-door-pull"}, slips()},
		{"pair held by a magnet, no sensor", "swing=out lock=magnetic leaves=pair sensor=false", []string{"pair-door-pull", "force-it"}, with(slips(), []string{"sensor-trip"})},
		{"magnet, sensor not looked for", "lock=magnetic", []string{"sensor-trip"}, slips()},
		{"magnet and a gas smell", "lock=magnetic sensor=true gas=true", []string{"force-it"}, with(slips(), []string{"sensor-trip"})},
		{"patio door", "swing=sliding glass=true", []string{"through-the-lock", "glass-last", "force-it"}, with(slips(), pin, []string{"hinge-side"})},
		{"automatic sliding door with sensor", "swing=sliding lock=magnetic sensor=true", []string{"sensor-trip"}, slips()},
		{"padlocked gate", "swing=out lock=padlock", []string{"force-it", "through-the-lock"}, with(slips(), pin, []string{"thumbturn-reach", "lever-under-door"})},
		{"roll-up", "swing=overhead", []string{"force-it", "through-the-lock"}, with(slips(), pin, []string{"hinge-side", "lever-under-door"})},
		{"pin flat, tight gap", "swing=out lock=deadlatch plunger=in gap=tight", pin, []string{"slip-inward"}},
		{"pin partly in", "swing=out lock=deadlatch plunger=partly", pin, nil},
		{"pin in behind a guard", "swing=out lock=deadlatch plunger=in guard=true", pin, []string{"slip-outward", "slip-tight-gap"}},
		{"pin in, swing not said", "lock=deadlatch plunger=in", pin, []string{"slip-inward"}},
		{"pin out", "swing=out lock=deadlatch plunger=out guard=false gap=normal", []string{"slip-outward"}, []string{"plunger-lean", "plunger-spread"}},
		{"guard, urgent", "swing=out guard=true urgency=urgent", []string{"slip-behind-guard"}, []string{"slip-outward", "slip-tight-gap"}},
		{"guard, swing not said", "guard=true", []string{"slip-behind-guard"}, []string{"slip-outward", "slip-inward"}},
		{"urgent push latch", "swing=in lock=spring-latch urgency=urgent", []string{"slip-inward"}, []string{"slip-outward"}},
		{"urgent push bolt", "swing=in lock=deadbolt urgency=urgent", []string{"through-the-lock"}, slips()},
		{"knob and a sealed foot", "swing=in lever=false undercut=false", []string{"slip-inward"}, []string{"lever-under-door", "slip-outward"}},
		{"push door, nothing else", "swing=in", []string{"slip-inward"}, []string{"slip-outward", "slip-tight-gap", "slip-behind-guard", "slip-narrow-stile"}},
		{"pull door, nothing else", "swing=out", []string{"slip-outward", "slip-tight-gap"}, []string{"slip-inward"}},
		{"snug aluminum latch", "swing=out lock=narrow-stile bolt=false gap=tight", []string{"slip-narrow-stile"}, []string{"slip-inward"}},
		{"loose aluminum latch", "swing=out lock=narrow-stile bolt=false gap=loose", []string{"slip-outward"}, []string{"slip-narrow-stile", "slip-inward"}},
		{"hook bolt, key both sides", "swing=out lock=narrow-stile bolt=true thumbturn=false", []string{"through-the-lock", "glass-last"}, with(slips(), []string{"thumbturn-reach"})},
		{"hook bolt and a thumbturn", "swing=out lock=narrow-stile thumbturn=true", []string{"thumbturn-reach"}, slips()},
		{"bolt, pins on our side", "swing=out lock=deadbolt hinges=outside", []string{"hinge-side"}, slips()},
		{"bolt, hinges hidden", "swing=out lock=deadbolt hinges=hidden", []string{"through-the-lock"}, with(slips(), []string{"hinge-side"})},
		{"hinged latch with a lever", "lock=room-latch lever=true undercut=true", []string{"room-latch-hook", "room-latch-card"}, with(slips(), []string{"lever-under-door", "through-the-lock"})},
		{"chain, urgent", "lock=chain urgency=urgent", []string{"chain-release"}, with(slips(), []string{"through-the-lock"})},
		{"swing bar, card failed", "lock=swing-bar failed=swing-bar-release", []string{"cut-a-notch"}, []string{"swing-bar-release"}},
		{"blade and hook failed", "swing=out lock=deadlatch failed=slip-outward failed=slip-tight-gap", pin, nil},
		{"gentle ways spent, getting worse", "urgency=urgent spent=true glass=true", []string{"glass-last", "through-the-lock", "force-it"}, slips()},
		{"stands open", "ajar=true", []string{"keep-it-open"}, []string{"force-it", "try-first", "through-the-lock"}},
		{"call over", "finished=true", []string{"leave-it-secure"}, []string{"force-it", "keep-it-open", "through-the-lock"}},
		{"smoke showing", "swing=out fire=true", []string{"force-it"}, slips()},
		{"not breathing, chain", "lock=chain urgency=life", []string{"force-it"}, []string{"chain-release"}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			plan := mustPlan(t, planner, door.Request{Facts: facts(t, test.facts), Tools: fullKit()})
			first := firstTwo(plan)
			if !slices.ContainsFunc(test.first, func(id string) bool { return slices.Contains(first, id) }) {
				t.Errorf("first %v, want one of %v", first, test.first)
			}
			for _, id := range techniquesOf(plan) {
				if slices.Contains(test.never, id) {
					t.Errorf("%s is in the plan %v", id, techniquesOf(plan))
				}
			}
		})
	}
}

// TestCommonPractice checks what crews do without a published source.
func TestCommonPractice(t *testing.T) {
	planner := cardPlanner(t)
	plan := func(text string) door.Plan {
		return mustPlan(t, planner, door.Request{Facts: facts(t, text), Tools: fullKit()})
	}
	before := func(p door.Plan, first, second string) bool {
		ids := techniquesOf(p)
		i, j := slices.Index(ids, first), slices.Index(ids, second)
		return i >= 0 && (j < 0 || i < j)
	}
	t.Run("G1 the air wedge leaves no mark", func(t *testing.T) {
		for _, step := range plan("swing=out lock=deadlatch plunger=in").Steps {
			if slices.Contains(step.Tools, "air-wedge") && step.Mark != 0 {
				t.Errorf("%s marks %d with the air wedge", step.Technique, step.Mark)
			}
		}
	})
	t.Run("G2 a pin partly in is freed first", func(t *testing.T) {
		if p := plan("swing=out lock=deadlatch plunger=partly"); !before(p, "plunger-lean", "slip-outward") {
			t.Errorf("plan %v", techniquesOf(p))
		}
	})
	t.Run("G3 least mark first", func(t *testing.T) {
		p := plan("swing=out lock=deadlatch plunger=in")
		if !before(p, "plunger-spread", "spread-ladder") || !before(p, "spread-ladder", "force-it") {
			t.Errorf("plan %v", techniquesOf(p))
		}
	})
	t.Run("G4 few tries of one idea", func(t *testing.T) {
		for _, technique := range cardTechniques(t) {
			if technique.Tries > 3 {
				t.Errorf("%s is tried %d times", technique.ID, technique.Tries)
			}
			if technique.Kind == door.Attempt && technique.Minutes > 8 {
				t.Errorf("%s takes %g minutes", technique.ID, technique.Minutes)
			}
		}
	})
	t.Run("G7 blades toward you, film away", func(t *testing.T) {
		if p := plan("swing=in lock=spring-latch"); !before(p, "slip-inward", "slip-outward") {
			t.Errorf("plan %v", techniquesOf(p))
		}
		if p := plan("swing=out lock=spring-latch guard=true"); slices.Contains(techniquesOf(p), "slip-outward") {
			t.Errorf("plain blade on a guarded door: %v", techniquesOf(p))
		}
	})
	t.Run("G8 fire or life: the irons at once", func(t *testing.T) {
		for _, text := range []string{"urgency=life", "fire=true urgency=routine"} {
			if p := plan(text); p.Steps[0].Technique != "force-it" || p.Look != nil {
				t.Errorf("%s: plan %v, look %v", text, techniquesOf(p), p.Look)
			}
		}
	})
	t.Run("G9 through the lock marks", func(t *testing.T) {
		for _, technique := range cardTechniques(t) {
			if technique.ID == "through-the-lock" && technique.Mark < 3 {
				t.Errorf("mark %d", technique.Mark)
			}
		}
	})
}
