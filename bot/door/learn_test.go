package door_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"kitbell/bot/door"
)

func mustLearn(tb testing.TB, planner *door.Planner, records ...door.Record) *door.Planner {
	tb.Helper()
	learned, err := planner.Learn(records)
	if err != nil {
		tb.Fatal(err)
	}
	return learned
}

// stepFor is the step of a way in the plan for these facts.
func stepFor(tb testing.TB, planner *door.Planner, f door.Facts, way string) door.Step {
	tb.Helper()
	plan := mustPlan(tb, planner, door.Request{Facts: f, Tools: fullKit()})
	for _, step := range plan.Steps {
		if step.Way() == way {
			return step
		}
	}
	tb.Fatalf("%s is not in %v", way, techniquesOf(plan))
	return door.Step{}
}

func TestRecordsMoveTheChance(t *testing.T) {
	planner := cardPlanner(t)
	f := facts(t, "lock=swing-bar")
	assumed := stepFor(t, planner, f, "swing-bar-release")
	if assumed.Records != 0 {
		t.Errorf("%d records before any", assumed.Records)
	}
	var records []door.Record
	for id := range int64(20) {
		records = append(records, door.Record{ID: id, Way: "swing-bar-release", Facts: f, Opened: true})
	}
	learned := stepFor(t, mustLearn(t, planner, records...), f, "swing-bar-release")
	if learned.Records != 20 || learned.Chance <= assumed.Chance {
		t.Errorf("after 20 openings: %+v", learned)
	}
	if learned.ChanceHigh-learned.ChanceLow >= assumed.ChanceHigh-assumed.ChanceLow {
		t.Error("records did not narrow the interval")
	}
	// All of them speak of the room guard, the only hold it can open: Beta(7+20, 3),
	// times the prior .97 of that hold.
	if want := 0.97 * 27 / 30; math.Abs(learned.Chance-want) > 1e-9 {
		t.Errorf("chance %g, want %g", learned.Chance, want)
	}
}

func TestPracticeAndWithdrawnRecordsDoNotCount(t *testing.T) {
	planner := cardPlanner(t)
	f := facts(t, "lock=swing-bar")
	kept := door.Record{ID: 1, Way: "swing-bar-release", Facts: f}
	practice := door.Record{ID: 2, Way: "swing-bar-release", Facts: f, Opened: true, Practice: true}
	withdrawn := door.Record{ID: 3, Way: "swing-bar-release", Facts: f, Opened: true, Withdrawn: true}
	want := stepFor(t, mustLearn(t, planner, kept), f, "swing-bar-release")
	got := stepFor(t, mustLearn(t, planner, kept, practice, withdrawn), f, "swing-bar-release")
	if got.Chance != want.Chance || got.Records != 1 {
		t.Errorf("chance %g from %d, want %g from 1", got.Chance, got.Records, want.Chance)
	}
	again := mustLearn(t, mustLearn(t, planner, kept, kept), kept)
	if got := stepFor(t, again, f, "swing-bar-release"); got.Chance != want.Chance {
		t.Errorf("learning twice gives %g, once %g", got.Chance, want.Chance)
	}
}

func TestOrderOfRecordsDoesNotMatter(t *testing.T) {
	planner := cardPlanner(t)
	ways := []string{"slip-outward", "slip-outward/plunger-lean", "slip-tight-gap", "through-the-lock", "slip-inward"}
	rapid.Check(t, func(t *rapid.T) {
		var records []door.Record
		for id := range rapid.IntRange(1, 6).Draw(t, "records") {
			records = append(records, door.Record{
				ID: int64(id / 2), Way: rapid.SampledFrom(ways).Draw(t, "way"),
				Facts: anyFacts().Draw(t, "facts"), Opened: rapid.Bool().Draw(t, "opened"),
			})
		}
		request := door.Request{Facts: facts(t, "swing=out lock=deadlatch guard=false gap=normal hinges=hidden"), Tools: fullKit()}
		first := planText(t, planner, records, request)
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		r.Shuffle(len(records), func(i, j int) { records[i], records[j] = records[j], records[i] })
		if second := planText(t, planner, records, request); first != second {
			t.Fatalf("another order gives another plan:\n%s\n%s", first, second)
		}
	})
}

func planText(tb rapid.TB, planner *door.Planner, records []door.Record, request door.Request) string {
	learned, err := planner.Learn(records)
	if err != nil {
		tb.Fatal(err)
	}
	plan, err := learned.Plan(request)
	if err != nil {
		tb.Fatal(err)
	}
	text, err := json.Marshal(plan)
	if err != nil {
		tb.Fatal(err)
	}
	return string(text)
}

func TestRecordsBlameTheHoldTheyShow(t *testing.T) {
	// The plain blade opened a deadlatch: that speaks of a free latch, hardly of a
	// pressed pin, so the chance against the pin stays near the assumed 1 in 20.
	planner := cardPlanner(t)
	f := facts(t, "swing=out lock=deadlatch guard=false")
	var records []door.Record
	for id := range int64(50) {
		records = append(records, door.Record{ID: id, Way: "slip-outward", Facts: f, Opened: true})
	}
	learned := mustLearn(t, planner, records...)
	latch := facts(t, "swing=out lock=spring-latch guard=false plunger=none gap=normal bolt=false")
	if got := stepFor(t, learned, latch, "slip-outward").Chance; got < 0.8 {
		t.Errorf("on a plain latch %g after 50 openings, want over .8", got)
	}
	plan := mustPlan(t, learned, door.Request{Facts: facts(t, "swing=out lock=deadlatch plunger=in"), Tools: fullKit()})
	if plan.Steps[1].Technique != "plunger-lean" {
		t.Errorf("a pressed pin is no longer freed first: %v", techniquesOf(plan))
	}
}

func TestBadRecordIsNamed(t *testing.T) {
	planner := cardPlanner(t)
	for name, record := range map[string]door.Record{
		"no such technique": {ID: 7, Way: "magic"},
		"no such value":     {ID: 7, Way: "slip-inward", Facts: door.Facts{Lock: "sesame"}},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := planner.Learn([]door.Record{record})
			if err == nil || !strings.Contains(err.Error(), "record 7") {
				t.Errorf("error %v", err)
			}
		})
	}
}
