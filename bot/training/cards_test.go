package training_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"kitbell/bot/door"
	"kitbell/bot/training"
	"kitbell/knowledge"
	"kitbell/testdata/demo"
)

// shipped is the door model with the cards that ship, and the demo department's kit
// in force with what every rig carries.
func shipped(tb testing.TB) (*door.Planner, []door.Technique, door.Tools) {
	tb.Helper()
	library, problems := knowledge.Load(knowledge.Cards())
	if len(problems) > 0 {
		tb.Fatal(problems)
	}
	var techniques []door.Technique
	for _, c := range library.All() {
		if len(c.Plan) == 0 {
			continue
		}
		technique, err := door.ParseTechnique(c.ID, c.Title, c.Plan)
		if err != nil {
			tb.Fatal(err)
		}
		techniques = append(techniques, technique)
	}
	assumptions, err := door.DefaultAssumptions()
	if err != nil {
		tb.Fatal(err)
	}
	planner, err := door.NewPlanner(assumptions, techniques)
	if err != nil {
		tb.Fatal(err)
	}
	d := demo.Department()
	list, _ := d.List(d.InForce)
	tools := slices.Clone(d.OnEvery)
	for _, line := range list.Lines {
		tools = append(tools, line.Item)
	}
	return planner, techniques, door.NewTools(tools...)
}

// Every door of the mix that leaves a choice makes a drill, and each way in it is
// one that a card describes.
func TestDecideDrillsOfTheMix(t *testing.T) {
	planner, techniques, tools := shipped(t)
	known := func(way string) bool {
		return slices.ContainsFunc(techniques, func(o door.Technique) bool { return o.ID == way || strings.HasPrefix(way, o.ID+"/") })
	}
	plans := map[string]door.Plan{}
	plan := func(f door.Facts) (door.Plan, error) {
		key := fmt.Sprint(f)
		if p, had := plans[key]; had {
			return p, nil
		}
		p, err := planner.Plan(door.Request{Facts: f, Tools: tools})
		plans[key] = p
		return p, err
	}
	mix := planner.Assumptions().Doors
	for _, d := range mix {
		p, err := plan(d.Facts)
		if err != nil {
			t.Fatal(err)
		}
		drill, err := training.NewDecide(d.Facts, p, d.Name)
		if err != nil {
			t.Errorf("%s: %v", d.Name, err)
			continue
		}
		for _, o := range drill.Options {
			if !known(o.Way) || o.Result == training.DidNotKnow && o.Why == "" || o.Result == training.Struggled && o.Before == "" {
				t.Errorf("%s: %+v", d.Name, o)
			}
		}
	}
	drilled := 0
	for _, technique := range techniques {
		doors, err := training.DoorsFor(technique.ID, mix, plan)
		if err != nil {
			t.Fatal(err)
		}
		drilled += len(doors)
	}
	if drilled != len(mix) {
		t.Errorf("%d of %d doors are some technique's", drilled, len(mix))
	}
}

// With worths from the door model a crew first drills what its doors need most.
func TestWorthsLeadTheChoice(t *testing.T) {
	planner, techniques, tools := shipped(t)
	var ids []string
	var topics []training.Topic
	for _, technique := range techniques {
		if technique.Kind == door.Attempt && !technique.Last {
			ids = append(ids, technique.ID)
			topics = append(topics, topic(technique.ID, hands))
		}
	}
	began := time.Now()
	skills := planner.SkillWorths(tools, ids)
	t.Logf("%d techniques weighed in %v; the most: %s, %.2f minutes an entry", len(ids), time.Since(began).Round(time.Millisecond), skills[0].Technique, skills[0].Minutes)
	worth := training.Worths(skills)
	choice, ok := chooser.Next(training.Ask{Now: now, Topics: topics, Worth: worth})
	if !ok || choice.Drill.Topic != skills[0].Technique || choice.Reason.Worth != skills[0].Minutes {
		t.Errorf("%+v, want %s", choice, skills[0].Technique)
	}
	if worth("air-wedge") != 0 {
		t.Error("a tool is taken for a skill")
	}
}
