package training_test

import (
	"testing"

	"kitbell/bot/training"
)

var (
	b4 = training.Crew{Unit: "engine-4", Platoon: "B"}
	c4 = training.Crew{Unit: "engine-4", Platoon: "C"}
)

// Common practice, no source: a crew uses a new tool once it has had it in hand.
func TestHeld(t *testing.T) {
	start := training.RollOutStep{What: training.Started, Item: "thumbturn-fork"}
	had := training.RollOutStep{What: training.HandsOn, Item: "thumbturn-fork", Crew: b4, Member: "m1"}
	for _, row := range []struct {
		name   string
		steps  []training.RollOutStep
		b4, c4 bool
	}{
		{"never rolled out", nil, false, false},
		{"started", []training.RollOutStep{start}, true, true},
		{"one crew had it", []training.RollOutStep{start, had}, false, true},
		{"said before it started", []training.RollOutStep{had, start}, true, true},
		{"started twice", []training.RollOutStep{start, had, start}, false, true},
		{"finished", []training.RollOutStep{start, {What: training.Finished, Item: "thumbturn-fork"}}, false, false},
		{"another tool", []training.RollOutStep{{What: training.Started, Item: "door-strap"}}, false, false},
	} {
		open := training.RollOuts(row.steps)
		if training.Held(open, "thumbturn-fork", b4) != row.b4 || training.Held(open, "thumbturn-fork", c4) != row.c4 {
			t.Errorf("%s: held %v, %v; want %v, %v", row.name, training.Held(open, "thumbturn-fork", b4), training.Held(open, "thumbturn-fork", c4), row.b4, row.c4)
		}
	}
}

func TestMembersCountOnce(t *testing.T) {
	step := training.RollOutStep{What: training.HandsOn, Item: "a", Crew: b4, Member: "m1"}
	open := training.RollOuts([]training.RollOutStep{{What: training.Started, Item: "a"}, step, step})
	if len(open) != 1 || len(open[0].Members) != 1 || len(open[0].Crews) != 1 {
		t.Errorf("%+v", open)
	}
}
