package door_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"kitbell/bot/door"
)

// TestValueOfLookingEqualsEnumeration builds small doors of two holds and one
// fact that can be looked at, and works the saving out by hand: every answer,
// its chance, and the best order after it by trying all of them.
func TestValueOfLookingEqualsEnumeration(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 6))
	for i := range 200 {
		small := newSmallDoor(r)
		plan := mustPlan(t, small.planner(t), door.Request{Facts: facts(t, "swing=out lock=mortise"), Tools: door.NewTools("a", "b")})
		want := small.saving()
		switch {
		case plan.Look == nil && want > 1e-6:
			t.Fatalf("door %d: no look, want one that saves %g", i, want)
		case plan.Look != nil && math.Abs(plan.Look.SavesMinutes-want) > 1e-9:
			t.Fatalf("door %d: look saves %g, want %g", i, plan.Look.SavesMinutes, want)
		}
	}
}

// smallDoor has the holds latch and bolt and the fact glass, tied to them.
// Technique a needs glass; b, where shared, needs that there is none.
type smallDoor struct {
	latch          float64 // prior
	glass          [2]float64
	a, b           [2]float64 // chance by hold, latch then bolt, of 100
	aCost, bCost   float64
	minutes, tells float64
	shared         bool // b goes only where there is no glass, so that both hang on it
}

const smallForce = 30

func newSmallDoor(r *rand.Rand) smallDoor {
	percent := func() float64 { return float64(1+r.IntN(98)) / 100 }
	return smallDoor{
		latch: percent(), glass: [2]float64{percent(), percent()},
		a: [2]float64{percent(), percent()}, b: [2]float64{percent(), percent()},
		aCost: float64(1 + r.IntN(10)), bCost: float64(1 + r.IntN(10)),
		minutes: float64(r.IntN(20)) / 10, tells: percent(), shared: r.IntN(2) == 0,
	}
}

func (s smallDoor) planner(t *testing.T) *door.Planner {
	t.Helper()
	assumptions, err := door.Assumptions{}.Override(fmt.Appendf(nil, `
marks: [0, 0, 0, 0, 0]
urgency: {routine: 1, urgent: 1, life: 0}
looks: {glass: {minutes: %g, tells: %g}}
kinds:
  - {lock: mortise, holds: {latch: %g, bolt: %g}}
facts:
  glass:
    - {given: {hold: latch}, values: {"true": %g, "false": %g}}
    - {values: {"true": %g, "false": %g}}
doors:
  - {name: one, share: 1, facts: {swing: out, lock: mortise}}
`, s.minutes, s.tells, s.latch, 1-s.latch, s.glass[0], 1-s.glass[0], s.glass[1], 1-s.glass[1]))
	if err != nil {
		t.Fatal(err)
	}
	plan := func(id, more string) door.Technique {
		technique, err := door.ParseTechnique(id, id, []byte("step: attempt\nmove: m\ncaution: c\n"+more))
		if err != nil {
			t.Fatal(err)
		}
		return technique
	}
	chance := func(c [2]float64) string {
		return fmt.Sprintf("chance: {latch: [%g, %g], bolt: [%g, %g]}\n", c[0]*100, 100-c[0]*100, c[1]*100, 100-c[1]*100)
	}
	bNeeds := ""
	if s.shared {
		bNeeds = "needs: {glass: \"false\"}\n"
	}
	planner, err := door.NewPlanner(assumptions, []door.Technique{
		plan("a", fmt.Sprintf("minutes: %g\ntools: [a]\nneeds: {glass: \"true\"}\n%s", s.aCost, chance(s.a))),
		plan("b", fmt.Sprintf("minutes: %g\ntools: [b]\n%s%s", s.bCost, bNeeds, chance(s.b))),
		plan("force", fmt.Sprintf("minutes: %d\nlast: true\n", smallForce)),
	})
	if err != nil {
		t.Fatal(err)
	}
	return planner
}

// saving works the worth of a look out from the four hidden states.
func (s smallDoor) saving() float64 {
	joint := func(hold, glass int) float64 {
		prior := []float64{s.latch, 1 - s.latch}[hold]
		if glass == 1 {
			return prior * s.glass[hold]
		}
		return prior * (1 - s.glass[hold])
	}
	least := func(glasses ...int) float64 {
		p := door.Problem{Force: smallForce, Attempts: []door.SumAttempt{{Cost: s.aCost}, {Cost: s.bCost}}}
		for hold := range 2 {
			for _, glass := range glasses {
				p.Weights = append(p.Weights, joint(hold, glass))
				p.Attempts[0].Chance = append(p.Attempts[0].Chance, s.a[hold]*float64(glass))
				b := s.b[hold]
				if s.shared && glass == 1 {
					b = 0
				}
				p.Attempts[1].Chance = append(p.Attempts[1].Chance, b)
			}
		}
		return enumerate(p)
	}
	seen := joint(0, 1) + joint(1, 1)
	return s.tells*(least(0, 1)-seen*least(1)-(1-seen)*least(0)) - s.minutes
}

func TestLooks(t *testing.T) {
	planner := cardPlanner(t)
	tests := []struct {
		name, facts string
		want        door.Fact // "" for no look
	}{
		{"life asks nothing", "urgency=life", ""},
		{"second lock needs no look", "lock=swing-bar", ""},
		{"outward latch: is there a guard", "swing=out lock=spring-latch", "guard"},
		{"outward bolt: can the pins be driven", "swing=out lock=deadbolt", "hinges"},
		{"nothing known: what holds it", "", "lock"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			plan := mustPlan(t, planner, door.Request{Facts: facts(t, test.facts), Tools: fullKit()})
			var got door.Fact
			if plan.Look != nil {
				got = plan.Look.Fact
				if plan.Look.SavesMinutes <= 0 || len(plan.Look.Values) == 0 {
					t.Errorf("look %+v", plan.Look)
				}
			}
			if got != test.want {
				t.Errorf("look at %q, want %q", got, test.want)
			}
		})
	}
}

// What a look could not tell is not asked about again; the next best is.
func TestLookSkipsWhatCannotBeTold(t *testing.T) {
	planner := cardPlanner(t)
	request := door.Request{Facts: facts(t, ""), Tools: fullKit()}
	for range 3 {
		look := mustPlan(t, planner, request).Look
		if look == nil {
			break
		}
		if slices.Contains(request.Unsure, look.Fact) {
			t.Fatalf("asked about %s again", look.Fact)
		}
		request.Unsure = append(request.Unsure, look.Fact)
	}
	if len(request.Unsure) < 2 {
		t.Errorf("asked about %v only, of a door of which nothing is known", request.Unsure)
	}
}
