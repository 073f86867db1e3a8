package department_test

import (
	"slices"
	"testing"
	"time"

	"kitbell/bot/department"
)

func TestActingEndsAtItsTime(t *testing.T) {
	noon := time.Date(2026, 11, 23, 12, 0, 0, 0, time.UTC)
	hour := func(n int) time.Time { return noon.Add(time.Duration(n) * time.Hour) }
	lead := department.ActingStep{Member: "a", Role: department.Lead, Until: hour(5)}
	at := func(i int) time.Time { return hour(i) }
	for _, row := range []struct {
		name  string
		steps []department.ActingStep
		hour  int
		want  bool
	}{
		{"before", []department.ActingStep{lead}, -1, false},
		{"while", []department.ActingStep{lead}, 4, true},
		{"at its end", []department.ActingStep{lead}, 5, false},
		{"ended early", []department.ActingStep{lead, {Member: "a", Role: department.Lead, End: true}}, 2, false},
		{"made shorter", []department.ActingStep{lead, {Member: "a", Role: department.Lead, Until: hour(3)}}, 4, false},
		{"made longer", []department.ActingStep{lead, {Member: "a", Role: department.Lead, Until: hour(9)}}, 8, true},
		{"another role", []department.ActingStep{lead, {Member: "a", Role: department.Officer, End: true}}, 2, true},
	} {
		roles := department.ActingAt(department.ActingRoles(row.steps, at), "a", hour(row.hour))
		if got := slices.Contains(roles, department.Lead); got != row.want {
			t.Errorf("%s: %v", row.name, roles)
		}
		if other := department.ActingAt(department.ActingRoles(row.steps, at), "b", hour(row.hour)); len(other) > 0 {
			t.Errorf("%s: somebody else acts: %v", row.name, other)
		}
	}
}
