package measure_test

import (
	"encoding/json"
	"strings"
	"testing"

	"kitbell/bot/door"
	"kitbell/bot/measure"
	"kitbell/bot/understand"
)

// silent reads nothing out of a message.
type silent struct{}

func (silent) Read(string, understand.Context) understand.Reading { return understand.Reading{} }

func steps(ids ...string) []door.Step {
	var all []door.Step
	for _, id := range ids {
		kind := door.Attempt
		switch id {
		case "try-first":
			kind = door.Before
		case "plunger-lean":
			kind = door.Prepare
		case "leave-it-secure":
			kind = door.After
		}
		all = append(all, door.Step{Kind: kind, Technique: id})
	}
	return all
}

func TestPlans(t *testing.T) {
	for _, row := range []struct {
		name   string
		c      measure.DoorCase
		steps  []door.Step
		right  int
		broken int
	}{
		{"the first step is right", measure.DoorCase{FirstOK: []string{"slip-outward"}}, steps("try-first", "slip-outward", "force-it"), 1, 0},
		{"the second step is right", measure.DoorCase{FirstOK: []string{"slip-outward"}}, steps("try-first", "plunger-lean", "slip-outward"), 1, 0},
		{"the third is too late", measure.DoorCase{FirstOK: []string{"force-it"}}, steps("plunger-lean", "slip-outward", "force-it"), 0, 0},
		{"a step afterwards counts anywhere", measure.DoorCase{FirstOK: []string{"leave-it-secure"}}, steps("a", "b", "leave-it-secure"), 1, 0},
		{"never means nowhere", measure.DoorCase{Never: []string{"b"}}, steps("a", "b"), 1, 1},
		{"at life, what comes behind forcing is free",
			measure.DoorCase{Facts: map[string]json.RawMessage{"urgency": json.RawMessage(`"life"`)}, Never: []string{"b"}}, steps("force-it", "b"), 1, 0},
		{"at life, nothing before forcing",
			measure.DoorCase{Facts: map[string]json.RawMessage{"urgency": json.RawMessage(`"life"`)}, Never: []string{"b"}}, steps("b", "force-it"), 1, 1},
		{"not before its preparation", measure.DoorCase{NotBefore: map[string][]string{"a": {"plunger-lean"}}}, steps("a", "plunger-lean", "a"), 1, 1},
		{"fine behind it", measure.DoorCase{NotBefore: map[string][]string{"a": {"plunger-lean"}}}, steps("plunger-lean", "a"), 1, 0},
	} {
		t.Run(row.name, func(t *testing.T) {
			var misses strings.Builder
			plan := func(door.Facts) (door.Plan, error) { return door.Plan{Steps: row.steps}, nil }
			score, err := measure.Plans(silent{}, plan, []measure.DoorCase{row.c}, &misses)
			if err != nil {
				t.Fatal(err)
			}
			if score.FirstRight != row.right || score.Broken != row.broken {
				t.Errorf("right %d, broken %d; want %d, %d\n%s", score.FirstRight, score.Broken, row.right, row.broken, misses.String())
			}
			if clean := row.right == 1 && row.broken == 0; clean != (misses.Len() == 0) {
				t.Errorf("misses: %q", misses.String())
			}
		})
	}
}
