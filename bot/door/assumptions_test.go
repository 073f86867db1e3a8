package door_test

import (
	"strings"
	"testing"

	"kitbell/bot/door"
)

// smallAssumptions are the least a planner works with.
func smallAssumptions(tb testing.TB) door.Assumptions {
	tb.Helper()
	assumptions, err := door.Assumptions{}.Override([]byte("marks: [0, 1, 2, 3, 4]\nurgency: {routine: 1, urgent: 0.5, life: 0}\n"))
	if err != nil {
		tb.Fatal(err)
	}
	return assumptions
}

func TestDefaultAssumptions(t *testing.T) {
	assumptions, err := door.DefaultAssumptions()
	if err != nil {
		t.Fatal(err)
	}
	for _, lock := range door.Values(door.FactLock) {
		found := false
		for _, kind := range assumptions.Kinds {
			found = found || string(kind.Lock) == lock
		}
		if !found {
			t.Errorf("no kind of door has the lock %s", lock)
		}
	}
	for fact := range assumptions.Looks {
		if fact != door.FactSwing && fact != door.FactLock && assumptions.Facts[fact] == nil {
			t.Errorf("%s is asked about, but how likely its values are is not said", fact)
		}
	}
}

func TestOverrideMerges(t *testing.T) {
	defaults, err := door.DefaultAssumptions()
	if err != nil {
		t.Fatal(err)
	}
	own, err := defaults.Override([]byte(`
limit_minutes: 5
urgency: {urgent: 0.2}
kinds:
  - {lock: deadbolt, swing: in, holds: {bolt: 1}}
  - {lock: deadbolt, holds: {bolt: 0.9, other: 0.1}}
doors:
  - {name: overhead door, share: 0}
  - {name: outward bolt, share: 9, facts: {swing: out, lock: deadbolt}}
`))
	if err != nil {
		t.Fatal(err)
	}
	if own.LimitMinutes != 5 || own.Urgency[door.UrgencyUrgent] != 0.2 || own.Urgency[door.UrgencyRoutine] != 1 {
		t.Errorf("limit %g, urgency %v", own.LimitMinutes, own.Urgency)
	}
	if len(own.Kinds) != len(defaults.Kinds)+1 || len(own.Doors) != len(defaults.Doors)-1 {
		t.Errorf("%d kinds, %d doors; before %d, %d", len(own.Kinds), len(own.Doors), len(defaults.Kinds), len(defaults.Doors))
	}
	if defaults.LimitMinutes == 5 || defaults.Urgency[door.UrgencyUrgent] == 0.2 {
		t.Error("overriding changed the original")
	}
	for _, d := range own.Doors {
		if d.Name == "outward bolt" && d.Share != 9 {
			t.Errorf("share %g, want 9", d.Share)
		}
	}
}

func TestOverrideSaysWhatIsWrongAndWhere(t *testing.T) {
	defaults, err := door.DefaultAssumptions()
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct{ name, text, want string }{
		{"unknown key", "speed: 3", `line 1: "speed" is no key here`},
		{"chances off", "kinds:\n  - {lock: chain, holds: {latch: 0.5}}", "line 2: the chances add up to 0.5, not 1"},
		{"chance over one", "kinds:\n  - {lock: chain, holds: {latch: 1.5}}", "line 2: a number from 0 to 1"},
		{"unknown hold", "kinds:\n  - {lock: chain, holds: {glue: 1}}", `"glue" is no hold`},
		{"unknown lock", "kinds:\n  - {lock: riddle, holds: {latch: 1}}", `"riddle" is not one of`},
		{"unknown fact", "facts:\n  color: []", `line 2: "color" is no fact`},
		{"unknown value", "facts:\n  gap:\n    - {values: {wide: 1}}", `gap cannot be "wide"`},
		{"given too much", "facts:\n  gap:\n    - {given: {gap: tight}, values: {tight: 1}}", "given names swing, lock"},
		{"look at nothing", "looks: {color: {minutes: 1}}", `"color" is no fact`},
		{"marks fall", "marks: [5, 4, 3, 2, 1]", "rising figures"},
		{"door without lock", "doors:\n  - {name: x, share: 1, facts: {swing: in}}", "needs its swing and lock"},
		{"not YAML", "marks: [", "parse YAML"},
		{"empty", "", "nothing there"},
		{"twice", "marks: [0,1,2,3,4]\nmarks: [0,1,2,3,4]", `marks`},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			_, err := defaults.Override([]byte(test.text))
			if err == nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("error %v, want %q", err, test.want)
			}
		})
	}
}

func TestIncompleteAssumptionsMakeNoPlanner(t *testing.T) {
	if _, err := door.NewPlanner(door.Assumptions{}, cardTechniques(t)); err == nil {
		t.Error("a planner without marks' worth")
	}
}

func FuzzOverride(f *testing.F) {
	f.Add([]byte("marks: [0, 1, 2, 3, 4]\nkinds:\n  - {lock: chain, holds: {latch: 1}}\n"))
	f.Add([]byte("facts: {gap: [{given: {hold: latch}, values: {tight: 1}}]}"))
	f.Add([]byte("doors: [{name: x, share: 0}]"))
	f.Add([]byte("a: &a {b: *a}"))
	f.Fuzz(func(t *testing.T, data []byte) {
		_, _ = door.Assumptions{}.Override(data) // never a panic
	})
}
