package door_test

import (
	"slices"
	"strings"
	"testing"

	"kitbell/bot/door"
)

const goodPlan = `step: attempt
tools:
  - shove-knife
  - [{tool: air-wedge}, {tool: wood-wedge, mark: 1, minutes: 3}]
people: 2
minutes: 2.5
tries: 2
move: Blade in above the latch.
caution: Mind your face.
seen: {lock: [spring-latch, deadlatch]}
needs:
  - {swing: out}
  - {leaves: pair}
rules_out:
  - {when: {plunger: in}, unless: [plunger-lean], why: "The pin blocks."}
chance: {latch: [7, 3]}
with:
  plunger-lean: {plunger: [6, 4]}
`

func TestParseTechnique(t *testing.T) {
	got, err := door.ParseTechnique("slip-outward", "Slip an outward door", []byte(goodPlan))
	if err != nil {
		t.Fatal(err)
	}
	if got.Kind != door.Attempt || got.People != 2 || got.Minutes != 2.5 || got.Tries != 2 || got.Mark != 0 {
		t.Errorf("technique %+v", got)
	}
	if len(got.Tools) != 2 || got.Tools[1][1] != (door.Tool{ID: "wood-wedge", Mark: 1, Minutes: 3}) || got.Tools[0][0].Mark != -1 {
		t.Errorf("tools %+v", got.Tools)
	}
	if len(got.Needs) != 2 || !slices.Equal(got.Seen[0][0].Values, []string{"spring-latch", "deadlatch"}) {
		t.Errorf("needs %+v, seen %+v", got.Needs, got.Seen)
	}
	if rule := got.RulesOut[0]; rule.Why != "The pin blocks." || rule.Unless[0] != "plunger-lean" {
		t.Errorf("rule %+v", rule)
	}
	if got.Chance[door.HoldLatch].Mean() != 0.7 || got.With["plunger-lean"][door.HoldPlunger].Mean() != 0.6 {
		t.Errorf("chances %+v, with %+v", got.Chance, got.With)
	}
}

func TestParseTechniqueSaysWhatIsWrongAndWhere(t *testing.T) {
	change := func(old, new string) string { return strings.Replace(goodPlan, old, new, 1) }
	tests := []struct{ name, plan, want string }{
		{"unknown key", goodPlan + "color: red\n", `line 19: "color" is no key here`},
		{"unknown step", change("step: attempt", "step: jump"), `line 1: step is before, prepare, attempt or after, not "jump"`},
		{"chance over one", change("[7, 3]", "1.3"), "line 16: a chance is two counts"},
		{"negative count", change("[7, 3]", "[-1, 3]"), "line 16: a number from 0"},
		{"no counts", change("[7, 3]", "[0, 0]"), "line 16: the two counts"},
		{"unknown hold", change("latch: [7", "glue: [7"), `line 16: "glue" is no hold`},
		{"unknown fact", change("{swing: out}", "{color: red}"), `line 12: "color" is no fact`},
		{"unknown value", change("{swing: out}", "{swing: up}"), `line 12: swing cannot be "up"`},
		{"rule without why", change(`, why: "The pin blocks."`, ""), "line 15: a rule needs `when` and `why`"},
		{"mark too great", change("tries: 2", "mark: 5"), "line 7: a number from 0 to 4"},
		{"half a try", change("tries: 2", "tries: 1.5"), "line 7: a whole number"},
		{"long move", change("Blade in above the latch.", strings.Repeat("go ", 13)), "line 8: move has more than 12 words"},
		{"no move", change("move: Blade in above the latch.\n", ""), "`move` is missing"},
		{"no minutes", change("minutes: 2.5\n", ""), "an attempt takes `minutes`"},
		{"last with a chance", goodPlan + "last: true\n", "or else it is the `last` one"},
		{"preparation with a chance", change("step: attempt", "step: prepare"), "only an attempt has"},
		{"a list for the whole", "- step\n", "keys with values are wanted"},
		{"nothing", "", "nothing there"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			_, err := door.ParseTechnique("x", "X", []byte(test.plan))
			if err == nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("error %v, want %q", err, test.want)
			}
		})
	}
}

func TestAllMistakesAreTold(t *testing.T) {
	_, err := door.ParseTechnique("x", "X", []byte("step: jump\ntries: 0\ncolor: red\n"))
	if err == nil || strings.Count(err.Error(), "line ") < 4 {
		t.Errorf("error %v", err)
	}
}

func TestTechniqueCards(t *testing.T) {
	techniques := cardTechniques(t)
	if len(techniques) < 24 {
		t.Errorf("%d techniques have a plan, want the 24 of the content map", len(techniques))
	}
	known := everyTool()
	for _, technique := range techniques {
		for _, alternatives := range technique.Tools {
			for _, tool := range alternatives {
				if !slices.Contains(known, tool.ID) {
					t.Errorf("%s takes %s, which no kit or rig carries", technique.ID, tool.ID)
				}
			}
		}
	}
}

func FuzzParseTechnique(f *testing.F) {
	f.Add([]byte(goodPlan))
	f.Add([]byte("step: after\nmove: Go.\ncaution: Mind."))
	f.Add([]byte("with: {a: {latch: [1, 1]}}\n"))
	f.Fuzz(func(t *testing.T, plan []byte) {
		technique, err := door.ParseTechnique("x", "X", plan)
		if err == nil && technique.Kind == "" {
			t.Error("a technique without a kind")
		}
	})
}
