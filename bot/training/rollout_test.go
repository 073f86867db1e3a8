package training_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

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

func handsOn(member string) training.RollOutStep {
	return training.RollOutStep{What: training.HandsOn, Item: "fork", Crew: b4, Member: member}
}

func confirms(by, member string) training.RollOutStep {
	return training.RollOutStep{What: training.Confirmed, Item: "fork", Crew: b4, Member: member, By: by}
}

// The lead sees a count such as "112 of 141" and who is still to go, with why.
func TestRollOutCoverage(t *testing.T) {
	roster := make([]training.Person, 141)
	steps := []training.RollOutStep{{What: training.Started, Item: "fork", About: training.RolledTool{Replaces: "bar", Card: "thumbturn-reach"}}}
	for i := range roster {
		roster[i] = training.Person{ID: fmt.Sprintf("m%03d", i), Crew: b4}
		if i < 120 {
			steps = append(steps, handsOn(roster[i].ID))
		}
		if i < 112 {
			steps = append(steps, confirms("officer", roster[i].ID))
		}
	}
	roster[138].Away, roster[139].Away, roster[140].Away = training.OnLeave, training.OnDetail, training.LightDuty
	steps = append(steps, confirms("officer", "left-the-force"))
	c := training.RollOuts(steps)[0].Coverage(roster)
	if got := fmt.Sprintf("%d of %d", c.Done, c.Of); got != "112 of 141" || c.Said != 8 || len(c.ToGo) != 29 {
		t.Errorf("%s, %d waiting, %d to go", got, c.Said, len(c.ToGo))
	}
	if diff := cmp.Diff([]string{"m138 leave false", "m139 detail false", "m140 light-duty false"}, names(c.ToGo[26:])); diff != "" {
		t.Error(diff)
	}
}

// An officer who saw a member do it says as much as the member's tap.
func TestConfirmedWithoutATap(t *testing.T) {
	r := training.RollOuts([]training.RollOutStep{{What: training.Started, Item: "fork"}, confirms("officer", "m1"), confirms("officer", "m1")})[0]
	if len(r.Members) != 1 || len(r.Confirmed) != 1 || training.Held([]training.RollOut{r}, "fork", b4) {
		t.Errorf("%+v", r)
	}
}

// The tap of a member who is away is theirs and opens nothing for the crew, nor does
// an officer's word on it; one at work opens it.
func TestAwayOpensNothing(t *testing.T) {
	away := handsOn("m1")
	away.Away = training.OnLeave
	steps := []training.RollOutStep{{What: training.Started, Item: "fork"}, away, confirms("officer", "m1")}
	open := training.RollOuts(steps)
	if len(open[0].Members) != 1 || len(open[0].Confirmed) != 1 || !training.Held(open, "fork", b4) {
		t.Errorf("away: %+v", open[0])
	}
	if open = training.RollOuts(append(steps, handsOn("m1"))); training.Held(open, "fork", b4) || len(open[0].Members) != 1 {
		t.Errorf("back at work: %+v", open[0])
	}
}

func TestCheckRollOut(t *testing.T) {
	open := training.RollOuts([]training.RollOutStep{{What: training.Started, Item: "fork"}})
	start := func(about training.RolledTool) training.RollOutStep {
		return training.RollOutStep{What: training.Started, Item: "film", About: about}
	}
	for _, row := range []struct {
		name string
		step training.RollOutStep
		want error
	}{
		{"started", start(training.RolledTool{Link: "https://clips.tarnharbor.example/7", Replaces: "bar", Card: "slip-inward", Target: training.Task{Minutes: 10, Tries: 3}}), nil},
		{"started with nothing said", start(training.RolledTool{}), nil},
		{"without a tool", training.RollOutStep{What: training.Started}, training.ErrNoItem},
		{"a link of another kind", start(training.RolledTool{Link: "javascript:alert(1)"}), training.ErrLink},
		{"a link without a server", start(training.RolledTool{Link: "https:///7"}), training.ErrLink},
		{"no link at all", start(training.RolledTool{Link: "the clip from Tuesday"}), training.ErrLink},
		{"it replaces itself", start(training.RolledTool{Replaces: "film"}), training.ErrReplaces},
		{"a target below zero", start(training.RolledTool{Target: training.Task{Minutes: -1}}), training.ErrMeasure},
		{"a target that is no number", start(training.RolledTool{Target: training.Task{Minutes: math.NaN()}}), training.ErrMeasure},
		{"started twice", training.RollOutStep{What: training.Started, Item: "fork"}, training.ErrUnderWay},
		{"no step", training.RollOutStep{What: "lent", Item: "fork", Crew: b4, Member: "m1"}, training.ErrNoStep},
		{"hands on", handsOn("m1"), nil},
		{"hands on by nobody", handsOn(""), training.ErrNoCrew},
		{"hands on another tool", training.RollOutStep{What: training.HandsOn, Item: "bar", Crew: b4, Member: "m1"}, training.ErrNotYet},
		{"confirmed", confirms("officer", "m1"), nil},
		{"confirmed for oneself", confirms("m1", "m1"), training.ErrOwnWord},
		{"confirmed by nobody", confirms("", "m1"), training.ErrNoOfficer},
		{"finished", training.RollOutStep{What: training.Finished, Item: "fork"}, nil},
	} {
		if err := training.CheckRollOut(open, row.step); !errors.Is(err, row.want) {
			t.Errorf("%s: %v, want %v", row.name, err, row.want)
		}
	}
}

// Steps that were written before there was more to say of them are read as they
// were meant.
func TestOldStepsAreRead(t *testing.T) {
	var step training.RollOutStep
	if err := json.Unmarshal([]byte(`{"what":"hands on","item":"fork","crew":{"unit":"engine-4","platoon":"B"},"member":"m1"}`), &step); err != nil || step != handsOn("m1") {
		t.Errorf("%+v, %v", step, err)
	}
}
