package door_test

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"kitbell/bot/door"
)

// anyFacts draws facts of every kind, contradicting ones too.
func anyFacts() *rapid.Generator[door.Facts] {
	return rapid.Custom(func(t *rapid.T) door.Facts {
		var f door.Facts
		for _, fact := range door.AllFacts() {
			values := append([]string{"", "", ""}, door.Values(fact)...)
			if fact == door.FactUrgency || fact == door.FactAjar || fact == door.FactFinished || fact == door.FactFire {
				values = append(values, "", "", "", "", "", "")
			}
			if err := f.Set(fact, rapid.SampledFrom(values).Draw(t, string(fact))); err != nil {
				t.Fatal(err)
			}
		}
		return f
	})
}

func someTools() *rapid.Generator[door.Tools] {
	return rapid.Custom(func(t *rapid.T) door.Tools {
		return door.NewTools(rapid.SliceOfDistinct(rapid.SampledFrom(everyTool()), func(id string) string { return id }).Draw(t, "tools")...)
	})
}

// breaks says which rule a plan breaks, "" when none. The rules are written out
// here once more, so that an edit of the data cannot lift one unseen.
func breaks(f door.Facts, plan door.Plan) string {
	toward := []string{"shove-knife", "traveler-hook-small", "traveler-hook-large", "guard-bar-narrow", "guard-bar-wide", "latch-shim-thin", "latch-shim-thick", "stile-strip"}
	slipping := append([]string{"latch-film"}, toward...)
	uses := func(tools ...string) bool {
		return slices.ContainsFunc(plan.Steps, func(s door.Step) bool {
			return slices.ContainsFunc(s.Tools, func(id string) bool { return slices.Contains(tools, id) })
		})
	}
	thrown := f.Bolt == door.Yes || f.Lock == door.LockDeadbolt && f.Bolt != door.No
	locked := f.Finished != door.Yes && f.Ajar != door.Yes
	switch {
	case thrown && uses(slipping...):
		return "slips a thrown bolt"
	case f.Guard == door.Yes && uses("shove-knife"):
		return "plain blade on a guard plate"
	case f.Swing == door.SwingIn && uses(toward...):
		return "blade on a door that swings away"
	case f.Swing == door.SwingOut && uses("latch-film"):
		return "film on a door that swings toward"
	case (f.Gas == door.Yes || f.Fire == door.Yes) && uses("air-duster"):
		return "spray near gas or fire"
	case locked && (f.Urgency == door.UrgencyLife || f.Fire == door.Yes) && plan.Steps[0].Technique != "force-it":
		return "something before forcing at life or fire"
	case locked && f.Urgency != door.UrgencyLife && f.Fire != door.Yes && plan.Steps[0].Technique != "try-first":
		return "something before try-first"
	}
	return ""
}

func TestRulesAreNeverBroken(t *testing.T) {
	planner := cardPlanner(t)
	rapid.Check(t, func(t *rapid.T) {
		f := anyFacts().Draw(t, "facts")
		tools := someTools().Draw(t, "tools")
		plan, err := planner.Plan(door.Request{Facts: f, Tools: tools, Barred: map[string]string{"hinge-side": "Not adopted here."}})
		if err != nil {
			t.Fatal(err)
		}
		if broken := breaks(f, plan); broken != "" {
			t.Fatalf("%s: %v", broken, techniquesOf(plan))
		}
		ready := map[string]bool{}
		seen := map[string]bool{}
		for _, step := range plan.Steps {
			if seen[step.Way()] {
				t.Fatalf("%s stands twice", step.Way())
			}
			seen[step.Way()] = true
			ready[step.Technique] = ready[step.Technique] || step.Kind == door.Prepare
			if step.With != "" && !ready[step.With] {
				t.Fatalf("%s comes before its preparation", step.Way())
			}
			if step.Technique == "hinge-side" {
				t.Fatal("a barred technique is in the plan")
			}
			for _, tool := range step.Tools {
				if _, carried := tools[tool]; !carried && step.Technique != "force-it" {
					t.Fatalf("%s needs %s, which is not there", step.Way(), tool)
				}
			}
			if step.Chance < 0 || step.Chance > 1+1e-12 || step.ChanceLow > step.ChanceHigh {
				t.Fatalf("%s has chance %g (%g-%g)", step.Way(), step.Chance, step.ChanceLow, step.ChanceHigh)
			}
		}
	})
}

func TestOneToolMoreNeverCostsMore(t *testing.T) {
	planner := cardPlanner(t)
	rapid.Check(t, func(t *rapid.T) {
		request := door.Request{Facts: anyFacts().Draw(t, "facts"), Tools: someTools().Draw(t, "tools")}
		before, err := planner.Plan(request)
		if err != nil {
			t.Fatal(err)
		}
		request.Tools[rapid.SampledFrom(everyTool()).Draw(t, "tool")] = ""
		after, err := planner.Plan(request)
		if err != nil {
			t.Fatal(err)
		}
		if after.Cost > before.Cost+1e-9 && after.Cost == after.Bound {
			t.Fatalf("one tool more raised the cost from %g to %g", before.Cost, after.Cost)
		}
	})
}

func TestWithoutMarksWorthThePlanIsTheFastest(t *testing.T) {
	defaults, err := door.DefaultAssumptions()
	if err != nil {
		t.Fatal(err)
	}
	careless, err := defaults.Override([]byte("marks: [0, 0, 0, 0, 0]"))
	if err != nil {
		t.Fatal(err)
	}
	planner, err := door.NewPlanner(careless, cardTechniques(t))
	if err != nil {
		t.Fatal(err)
	}
	// Four minutes of forcing beat every way whose chance is under its minutes over
	// four; the blade at .7 in two minutes stays.
	known := facts(t, "swing=out lock=spring-latch guard=false gap=normal plunger=none")
	plan := mustPlan(t, planner, door.Request{Facts: known, Tools: fullKit()})
	if ids := techniquesOf(plan); !slices.Equal(ids[:3], []string{"try-first", "slip-outward", "force-it"}) {
		t.Errorf("plan %v, want the blade, then the irons", ids)
	}
	if want := 2 + (1-0.92*0.7)*4; math.Abs(plan.Cost-want) > 0.05 {
		t.Errorf("expected minutes %g, want about %g", plan.Cost, want)
	}
}

func TestEmptyKitStillForces(t *testing.T) {
	planner := cardPlanner(t)
	plan := mustPlan(t, planner, door.Request{Facts: facts(t, "swing=out lock=spring-latch guard=false")})
	if ids := techniquesOf(plan); !slices.Contains(ids, "force-it") || slices.Contains(ids, "slip-outward") {
		t.Errorf("plan %v", ids)
	}
	if why := ruledOut(plan, "slip-outward"); why != "This kit has no shove-knife." {
		t.Errorf("slip-outward is out because %q", why)
	}
}

func ruledOut(plan door.Plan, id string) string {
	for _, out := range plan.RuledOut {
		if out.Technique == id {
			return out.Why
		}
	}
	return ""
}

func TestRuledOutSaysWhy(t *testing.T) {
	planner := cardPlanner(t)
	tools := fullKit()
	tools["traveler-hook-small"] = "The small hook is bent, out of service."
	delete(tools, "traveler-hook-large")
	tests := []struct{ name, facts, technique, why string }{
		{"rule of the program", "swing=out guard=true", "slip-outward", "A guard plate covers the latch."},
		{"rule of the card", "swing=in lever=true undercut=false", "lever-under-door", "There is no room under the door for the rod."},
		{"rule a preparation could lift", "swing=out lock=deadlatch plunger=in failed=plunger-lean failed=plunger-spread failed=spread-ladder", "slip-outward", "The pin is pressed in and blocks the latch. Free it first."},
		{"tool out of service", "swing=out lock=spring-latch", "slip-tight-gap", "The small hook is bent, out of service."},
		{"not adopted", "swing=in lock=deadbolt", "through-the-lock", "Not adopted here."},
		{"gas", "lock=magnetic sensor=true gas=true", "sensor-trip", "No spray where gas or vapor may be: many dusters burn."},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			plan := mustPlan(t, planner, door.Request{
				Facts: facts(t, test.facts), Tools: tools,
				Barred: map[string]string{"through-the-lock": "Not adopted here."},
			})
			if why := ruledOut(plan, test.technique); why != test.why {
				t.Errorf("%s is out because %q, want %q", test.technique, why, test.why)
			}
		})
	}
}

func TestStandInIsNamed(t *testing.T) {
	planner := cardPlanner(t)
	tools := fullKit()
	delete(tools, "air-wedge")
	plan := mustPlan(t, planner, door.Request{Facts: facts(t, "swing=out lock=deadlatch plunger=in"), Tools: tools, People: 1})
	for _, step := range plan.Steps {
		if step.Technique != "plunger-spread" {
			continue
		}
		if !slices.Equal(step.Tools, []string{"pry-bar-short"}) || !slices.Equal(step.InsteadOf, []string{"air-wedge"}) || step.Mark != 1 {
			t.Errorf("step %+v", step)
		}
		return
	}
	t.Errorf("no spreading in %v", techniquesOf(plan))
}

func TestFailuresChangeTheBelief(t *testing.T) {
	planner := cardPlanner(t)
	chance := func(text, way string) float64 {
		plan := mustPlan(t, planner, door.Request{Facts: facts(t, text), Tools: fullKit()})
		for _, step := range plan.Steps {
			if step.Way() == way {
				return step.Chance
			}
		}
		t.Fatalf("%s is not in %v", way, techniquesOf(plan))
		return 0
	}
	before := chance("swing=out lock=deadlatch guard=false gap=normal", "slip-outward/plunger-lean")
	after := chance("swing=out lock=deadlatch guard=false gap=normal failed=slip-outward", "slip-outward/plunger-lean")
	if after < before-1e-9 {
		t.Errorf("the plain blade failed: leaning should help more than %g, got %g", before, after)
	}
}

func TestPaidPreparationIsNotShownAgain(t *testing.T) {
	planner := cardPlanner(t)
	plan := mustPlan(t, planner, door.Request{
		Facts: facts(t, "swing=out lock=deadlatch plunger=in guard=false failed=slip-outward/plunger-lean"), Tools: fullKit(),
	})
	ids := techniquesOf(plan)
	if slices.Contains(ids, "plunger-lean") || plan.Steps[1].Way() != "slip-tight-gap/plunger-lean" {
		t.Errorf("plan %v starts with %s", ids, plan.Steps[1].Way())
	}
}

func TestTryFirstIsNotAskedTwice(t *testing.T) {
	plan := mustPlan(t, cardPlanner(t), door.Request{Facts: facts(t, "swing=out lock=deadlatch failed=try-first"), Tools: fullKit()})
	if plan.Steps[0].Technique != "slip-outward" {
		t.Errorf("plan %v", techniquesOf(plan))
	}
}

func TestOfficerIsAskedPastTheLimit(t *testing.T) {
	planner := cardPlanner(t)
	request := door.Request{Facts: facts(t, "swing=in lock=spring-latch"), Tools: fullKit(), Minutes: 3}
	if mustPlan(t, planner, request).ForceNow {
		t.Error("the officer is asked after 3 minutes")
	}
	request.Minutes = planner.Assumptions().LimitMinutes
	if !mustPlan(t, planner, request).ForceNow {
		t.Error("the officer is not asked at the limit")
	}
}

func TestPlanJSON(t *testing.T) {
	planner := cardPlanner(t)
	data, err := json.Marshal(mustPlan(t, planner, door.Request{Facts: facts(t, "urgency=life")}))
	if err != nil {
		t.Fatal(err)
	}
	for _, part := range []string{`"steps":[{"kind":"attempt","technique":"force-it"`, `"chance_low":1`, `"look":null`, `"ruled_out":[]`} {
		if !strings.Contains(string(data), part) {
			t.Errorf("%s is not in %s", part, data)
		}
	}
}

func TestBadFactIsAnError(t *testing.T) {
	_, err := cardPlanner(t).Plan(door.Request{Facts: door.Facts{Swing: "sideways"}})
	if err == nil || !strings.Contains(err.Error(), `swing: "sideways" is not one of`) {
		t.Errorf("error %v", err)
	}
}

func TestPlannerRefusesTechniquesThatDoNotFitTogether(t *testing.T) {
	assumptions, err := door.DefaultAssumptions()
	if err != nil {
		t.Fatal(err)
	}
	last := door.Technique{ID: "irons-first", Kind: door.Attempt, Last: true}
	tests := []struct {
		name, want string
		techniques []door.Technique
	}{
		{"nothing always opens", "no technique is `last`", nil},
		{"two last ones", "are both `last`", []door.Technique{last, {ID: "axe", Kind: door.Attempt, Last: true}}},
		{"twice the same", "irons-first stands twice", []door.Technique{last, {ID: "irons-first", Kind: door.After}}},
		{"unknown preparation", `names "warm-up"`, []door.Technique{last, {ID: "a", Kind: door.Attempt, With: map[string]door.Chances{"warm-up": {}}}}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			_, err := door.NewPlanner(assumptions, test.techniques)
			if err == nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("error %v, want %q", err, test.want)
			}
		})
	}
}

func BenchmarkPlanNothingKnown(b *testing.B) {
	planner := cardPlanner(b)
	for b.Loop() {
		mustPlan(b, planner, door.Request{Tools: fullKit()})
	}
}

func BenchmarkPlanOutwardDeadlatch(b *testing.B) {
	planner := cardPlanner(b)
	f := facts(b, "swing=out lock=deadlatch")
	for b.Loop() {
		mustPlan(b, planner, door.Request{Facts: f, Tools: fullKit()})
	}
}
