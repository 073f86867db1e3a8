package training_test

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"kitbell/bot/door"
	"kitbell/bot/training"
)

func attempt(technique string) door.Step {
	return door.Step{Kind: door.Attempt, Technique: technique, Title: "Title of " + technique}
}

// aPlan tries the film, then the hook, then forces; the blade is ruled out, and a
// tool is missing for the bar.
func aPlan() door.Plan {
	return door.Plan{
		Steps: []door.Step{{Kind: door.Before, Technique: "try-first"}, {Kind: door.Prepare, Technique: "spread"}, attempt("film"), attempt("hook"), attempt("force-it"), {Kind: door.After, Technique: "keep"}},
		RuledOut: []door.RuledOut{
			{Technique: "blade", Why: "A blade is for doors that swing toward you."},
			{Technique: "bar", Why: "No bar in this kit.", Missing: []string{"guard-bar-narrow"}},
		},
	}
}

var inward = door.Facts{Swing: door.SwingIn, Lock: door.LockSpringLatch}

func TestNewDecide(t *testing.T) {
	d, err := training.NewDecide(inward, aPlan(), "d1")
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]training.Option{}
	for _, o := range d.Options {
		got[o.Way] = o
	}
	want := map[string]training.Option{
		"film":     {Way: "film", Title: "Title of film", Result: training.GotIt},
		"hook":     {Way: "hook", Title: "Title of hook", Result: training.Struggled, Before: "film"},
		"force-it": {Way: "force-it", Title: "Title of force-it", Result: training.Struggled, Before: "film"},
		"blade":    {Way: "blade", Result: training.DidNotKnow, Why: "A blade is for doors that swing toward you."},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if o, ok := d.Choose("blade"); !ok || o.Result != training.DidNotKnow {
		t.Errorf("chose %+v", o)
	}
	if _, ok := d.Choose("bar"); ok {
		t.Error("chose what was not offered")
	}
}

func TestNothingToDecide(t *testing.T) {
	for _, row := range []struct {
		name string
		plan door.Plan
	}{
		{"no plan", door.Plan{}},
		{"only what is always done", door.Plan{Steps: []door.Step{{Kind: door.Before, Technique: "try-first"}}}},
		{"one attempt", door.Plan{Steps: []door.Step{attempt("force-it")}}},
		{"one attempt, and a tool missing", door.Plan{Steps: []door.Step{attempt("force-it")}, RuledOut: aPlan().RuledOut[1:]}},
	} {
		if _, err := training.NewDecide(inward, row.plan, "d1"); !errors.Is(err, training.ErrNothingToDecide) {
			t.Errorf("%s: %v", row.name, err)
		}
	}
}

// The order is the same each time and does not put the right one at one place.
func TestDecideOrderGivesNothingAway(t *testing.T) {
	places := map[int]int{}
	for i := range 200 {
		seed := string(rune('a' + i))
		one, err := training.NewDecide(inward, aPlan(), seed)
		if err != nil {
			t.Fatal(err)
		}
		again, _ := training.NewDecide(inward, aPlan(), seed)
		if diff := cmp.Diff(one, again); diff != "" {
			t.Fatal(diff)
		}
		places[slices.IndexFunc(one.Options, func(o training.Option) bool { return o.Result == training.GotIt })]++
	}
	for place := range 4 {
		if places[place] < 20 {
			t.Errorf("the right one stands at place %d in %d of 200", place+1, places[place])
		}
	}
}

func TestDoorsFor(t *testing.T) {
	mix := []door.MixedDoor{{Name: "one", Facts: inward}, {Name: "two", Facts: door.Facts{Swing: door.SwingOut}}}
	plan := func(f door.Facts) (door.Plan, error) {
		if f.Swing == door.SwingIn {
			return aPlan(), nil
		}
		return door.Plan{Steps: []door.Step{attempt("force-it")}}, nil
	}
	got, err := training.DoorsFor("film", mix, plan)
	if err != nil || len(got) != 1 || got[0].Swing != door.SwingIn {
		t.Errorf("%+v, %v", got, err)
	}
	broken := errors.New("no")
	if _, err := training.DoorsFor("film", mix, func(door.Facts) (door.Plan, error) { return door.Plan{}, broken }); !errors.Is(err, broken) {
		t.Error(err)
	}
}

// use is a record with everything that must not leave it.
func use() training.AfterUse {
	f := inward
	f.Failed = []string{"hook", "millpond-special", "film", "hook"}
	f.Finished, f.Spent = door.Yes, door.Yes
	return training.AfterUse{
		Facts: f, Way: "film", Tries: 2, Mark: "scuff", Opened: true,
		Crew: b4, Member: "ines-okafor", At: now, Call: "guest-room", Incident: "26-1234", Ordered: "officer", Left: "keyholder",
		Note: "room at the harbor hotel", Photos: []string{"photo-77"}, Station: "millpond", District: "ferry landing",
	}
}

func knownWay(way string) bool { return slices.Contains([]string{"film", "hook", "force-it"}, way) }

func TestAnonymous(t *testing.T) {
	d, err := training.Anonymous(use(), knownWay)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(training.RealDoor{Facts: inward, Failed: []string{"hook"}, Way: "film", Tries: 2, Mark: "scuff"}, d); diff != "" {
		t.Error(diff)
	}
}

// Whatever stands in the record's words, none of it stands in the door.
func TestAnonymousKeepsNoWords(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		secret := "zq" + rapid.StringMatching(`[a-z0-9]{6,12}`).Draw(t, "secret")
		u := use()
		u.Crew, u.Member, u.Call, u.Incident = training.Crew{Unit: secret, Platoon: secret}, secret, secret, secret
		u.Ordered, u.Left, u.Note, u.Photos, u.Station, u.District = secret, secret, secret, []string{secret}, secret, secret
		u.Facts.Failed, u.Mark = []string{secret}, secret
		u.At = time.Date(1987, 6, 5, 4, 3, 2, 0, time.UTC)
		d, err := training.Anonymous(u, knownWay)
		if err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal(d)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(text), secret) || strings.Contains(string(text), "1987") {
			t.Errorf("%s is in %s", secret, text)
		}
	})
}

func TestAnonymousRefuses(t *testing.T) {
	for _, row := range []struct {
		name  string
		spoil func(u *training.AfterUse)
		want  error
	}{
		{"practice", func(u *training.AfterUse) { u.Practice = true }, training.ErrNotReal},
		{"it stayed shut", func(u *training.AfterUse) { u.Opened = false }, training.ErrNotOpened},
		{"a way of one station's own", func(u *training.AfterUse) { u.Way = "millpond-special" }, training.ErrUnknownWay},
		{"no way at all", func(u *training.AfterUse) { u.Way = "" }, training.ErrUnknownWay},
		{"tries below none", func(u *training.AfterUse) { u.Tries = -1 }, training.ErrMeasure},
		{"nothing known", func(u *training.AfterUse) { u.Facts = door.Facts{Swing: door.SwingUnknown} }, training.ErrNoDoor},
	} {
		u := use()
		row.spoil(&u)
		if _, err := training.Anonymous(u, knownWay); !errors.Is(err, row.want) {
			t.Errorf("%s: %v, want %v", row.name, err, row.want)
		}
	}
	u := use()
	u.Facts.Lock = "the blue one at the pier"
	if _, err := training.Anonymous(u, knownWay); err == nil {
		t.Error("words of one's own are taken for a fact")
	}
}

func TestSharedDoors(t *testing.T) {
	real := training.RealDoor{Facts: inward, Way: "film"}
	proposed := training.DoorStep{Key: "d1", What: training.DoorProposed, Door: real, From: "B", By: "m1"}
	approved := training.DoorStep{Key: "d1", What: training.DoorApproved, By: "ines-okafor"}
	for _, row := range []struct {
		name  string
		steps []training.DoorStep
		want  int
	}{
		{"proposed only", []training.DoorStep{proposed}, 0},
		{"approved", []training.DoorStep{proposed, approved}, 1},
		{"approved twice", []training.DoorStep{proposed, approved, approved}, 1},
		{"approved, and never proposed", []training.DoorStep{approved}, 0},
		{"declined", []training.DoorStep{proposed, approved, {Key: "d1", What: training.DoorDeclined}}, 0},
	} {
		shared := training.SharedDoors(row.steps)
		if len(shared) != row.want {
			t.Errorf("%s: %+v", row.name, shared)
			continue
		}
		if row.want == 1 {
			if diff := cmp.Diff([]string{"A", "C"}, shared[0].For([]string{"A", "B", "C"})); diff != "" {
				t.Errorf("%s: %s", row.name, diff)
			}
		}
	}
}

// At a real door what opened it is right, wherever the plan has it.
func TestSharedDoorDecide(t *testing.T) {
	for _, row := range []struct {
		name, worked string
		right        []string
	}{
		{"the plan's first", "film", []string{"film"}},
		{"later in the plan", "force-it", []string{"film", "force-it"}},
		{"ruled out by the plan", "blade", []string{"blade", "film"}},
		{"not in the plan", "try-first", []string{"film", "try-first"}},
	} {
		shared := training.SharedDoor{Key: "d1", Door: training.RealDoor{Facts: inward, Way: row.worked}}
		d, err := shared.Decide(aPlan())
		if err != nil {
			t.Fatalf("%s: %v", row.name, err)
		}
		var right []string
		seen := map[string]bool{}
		for _, o := range d.Options {
			if seen[o.Way] {
				t.Errorf("%s: %s stands there twice", row.name, o.Way)
			}
			seen[o.Way] = true
			if o.Result == training.GotIt {
				right = append(right, o.Way)
			}
			if o.Worked != (o.Way == row.worked) {
				t.Errorf("%s: %+v", row.name, o)
			}
		}
		slices.Sort(right)
		if diff := cmp.Diff(row.right, right); diff != "" || len(d.Options) > 4 {
			t.Errorf("%s: %d options, %s", row.name, len(d.Options), diff)
		}
	}
}

// Only real calls at doors of the same kind count, for each way that was tried.
func TestHowOften(t *testing.T) {
	at := func(swing door.Swing, lock door.Lock) door.Facts { return door.Facts{Swing: swing, Lock: lock} }
	records := []door.Record{
		{Way: "film", Facts: inward, Opened: true}, {Way: "film", Facts: inward}, {Way: "hook", Facts: inward, Opened: true}, {Way: "spread/film", Facts: inward},
		{Way: "film", Facts: inward, Opened: true, Practice: true}, {Way: "film", Facts: inward, Opened: true, Withdrawn: true},
		{Way: "blade", Facts: at(door.SwingOut, door.LockSpringLatch), Opened: true}, {Way: "hook", Facts: at("", door.LockSpringLatch), Opened: true},
	}
	for _, row := range []struct {
		name string
		at   door.Facts
		want []training.WayHere
	}{
		{"a kind", inward, []training.WayHere{{"hook", training.Here{Opened: 1, Of: 1}}, {"film", training.Here{Opened: 1, Of: 2}}, {"spread/film", training.Here{Of: 1}}}},
		{"a lock alone", at("", door.LockSpringLatch), []training.WayHere{{"hook", training.Here{Opened: 2, Of: 2}}, {"blade", training.Here{Opened: 1, Of: 1}}, {"film", training.Here{Opened: 1, Of: 2}}, {"spread/film", training.Here{Of: 1}}}},
		{"none like it", at(door.SwingOut, door.LockDeadbolt), nil},
	} {
		if diff := cmp.Diff(row.want, training.HowOften(records, row.at)); diff != "" {
			t.Errorf("%s: %s", row.name, diff)
		}
	}
}

// The plan's first and what opened a real door are told whatever was chosen.
func TestDecideTells(t *testing.T) {
	plain, err := training.NewDecide(inward, aPlan(), "d1")
	if err != nil {
		t.Fatal(err)
	}
	if _, real := plain.Opened(); real || plain.First() != "film" {
		t.Errorf("real %v, first %s", real, plain.First())
	}
	for _, worked := range []string{"film", "hook", "force-it"} {
		d, err := (training.SharedDoor{Key: "d1", Door: training.RealDoor{Facts: inward, Way: worked}}).Decide(aPlan())
		if err != nil {
			t.Fatal(err)
		}
		if opened, real := d.Opened(); !real || opened.Way != worked || d.First() != "film" {
			t.Errorf("opened by %s %v, first %s; want %s, film", opened.Way, real, d.First(), worked)
		}
	}
}

// A way that a rule keeps out of a door cannot have opened it, nor can one after a
// preparation that is; a tool that the kit lacks says nothing about the door.
func TestCannotBe(t *testing.T) {
	plan := door.Plan{RuledOut: []door.RuledOut{
		{Technique: "blade", Why: "The stop hides the latch."}, {Technique: "wedge", Why: "There is no gap."}, {Technique: "film", Why: "There is no film.", Missing: []string{"latch-film"}},
	}}
	for _, row := range []struct{ name, way, want string }{
		{"ruled out", "blade", "The stop hides the latch."},
		{"after what is ruled out", "hook/wedge", "There is no gap."},
		{"a tool that is not there", "film", ""},
		{"nothing against it", "hook", ""},
	} {
		if got := (training.RealDoor{Way: row.way}).CannotBe(plan); got != row.want {
			t.Errorf("%s: %q, want %q", row.name, got, row.want)
		}
	}
}
