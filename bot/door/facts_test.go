package door_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"kitbell/bot/door"
)

func TestFactsJSON(t *testing.T) {
	const nothing = `{"swing":"unknown","leaves":"single","lock":"unknown","guard":null,"plunger":"unseen","gap":"unknown",` +
		`"undercut":null,"lever":null,"thumbturn":null,"sensor":null,"urgency":"routine"}`
	const rich = `{"swing":"out","leaves":"pair","lock":"deadbolt","guard":true,"plunger":"none","gap":"loose",` +
		`"undercut":false,"lever":null,"thumbturn":true,"sensor":null,"urgency":"urgent",` +
		`"bolt":true,"hinges":"outside","glass":false,"failed":["slip-outward"]}`
	tests := []struct {
		name  string
		facts door.Facts
		want  string
	}{
		{"nothing known", door.Facts{}, nothing},
		{"words for nothing", door.Facts{Swing: door.SwingUnknown, Plunger: door.PlungerUnseen, Hinges: door.HingesUnknown}, nothing},
		{"much known", facts(t, "swing=out leaves=pair lock=deadbolt guard=true plunger=none gap=loose undercut=false thumbturn=true "+
			"urgency=urgent bolt=true hinges=outside glass=false failed=slip-outward"), rich},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got, err := json.Marshal(test.facts)
			if err != nil {
				t.Fatal(err)
			}
			if string(got) != test.want {
				t.Errorf("got  %s\nwant %s", got, test.want)
			}
			var back door.Facts
			if err := json.Unmarshal(got, &back); err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(test.facts.Assumed(), back.Assumed()); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestTriRefusesWhatIsNoBool(t *testing.T) {
	var f door.Facts
	if err := json.Unmarshal([]byte(`{"guard":"perhaps"}`), &f); err == nil {
		t.Error("no error")
	}
}

func TestSetAndValueAgree(t *testing.T) {
	for _, fact := range door.AllFacts() {
		for _, value := range door.Values(fact) {
			var f door.Facts
			if err := f.Set(fact, value); err != nil {
				t.Fatal(err)
			}
			if got := f.Value(fact); got != value {
				t.Errorf("%s set to %s reads %q", fact, value, got)
			}
			if err := f.Set(fact, ""); err != nil || f.Value(fact) != "" {
				t.Errorf("%s cannot be made unknown: %v", fact, err)
			}
		}
	}
}

func TestSetRefuses(t *testing.T) {
	var f door.Facts
	for name, pair := range map[string][2]string{"no such fact": {"color", "red"}, "no such value": {"swing", "sideways"}} {
		t.Run(name, func(t *testing.T) {
			if err := f.Set(door.Fact(pair[0]), pair[1]); err == nil || !strings.Contains(err.Error(), pair[0]) {
				t.Errorf("error %v", err)
			}
		})
	}
}

func TestMerge(t *testing.T) {
	older := facts(t, "swing=out lock=deadlatch failed=slip-outward")
	newer := facts(t, "swing=in plunger=in failed=slip-outward failed=plunger-lean")
	want := facts(t, "swing=in lock=deadlatch plunger=in failed=slip-outward failed=plunger-lean")
	if diff := cmp.Diff(want, door.Merge(older, newer)); diff != "" {
		t.Error(diff)
	}
	if got := door.Changed(older, newer); !slices.Equal(got, []door.Fact{door.FactSwing}) {
		t.Errorf("changed %v, want swing", got)
	}
}

func TestMergeKeepsWhatTheNewerKnow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		older, newer := anyFacts().Draw(t, "older"), anyFacts().Draw(t, "newer")
		merged := door.Merge(older, newer)
		for _, fact := range door.AllFacts() {
			want := newer.Value(fact)
			if want == "" {
				want = older.Value(fact)
			}
			if got := merged.Value(fact); got != want {
				t.Fatalf("%s is %q, want %q", fact, got, want)
			}
		}
	})
}

func TestContradictions(t *testing.T) {
	rules, err := door.LoadRules()
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		name, facts string
		ask         []door.Fact
	}{
		{"nothing known", "", nil},
		{"an ordinary door", "swing=out lock=deadlatch plunger=in guard=true gap=tight hinges=fixed", nil},
		{"roll-up with a pin", "swing=overhead plunger=in", []door.Fact{door.FactSwing, door.FactPlunger}},
		{"pull door, hinges inside", "swing=out hinges=inside", []door.Fact{door.FactSwing}},
		{"push door, pin seen", "swing=in plunger=out", []door.Fact{door.FactSwing, door.FactPlunger}},
		{"push door, guard plate", "swing=in guard=true", []door.Fact{door.FactSwing, door.FactGuard}},
		{"latch and thrown bolt", "lock=spring-latch bolt=true", []door.Fact{door.FactLock, door.FactBolt}},
		{"open and bolted", "ajar=true bolt=true", []door.Fact{door.FactAjar, door.FactBolt}},
		{"over, yet a life", "finished=true urgency=life", []door.Fact{door.FactFinished, door.FactUrgency}},
		{"bolt not thrown", "lock=deadbolt bolt=false", nil},
		{"room guard that opens out", "lock=swing-bar swing=out", nil},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			var ask []door.Fact
			for _, contradiction := range rules.Contradictions(facts(t, test.facts)) {
				ask = append(ask, contradiction.Facts...)
				if !strings.HasSuffix(contradiction.Say, "?") {
					t.Errorf("%q is no question", contradiction.Say)
				}
			}
			if !slices.Equal(ask, test.ask) {
				t.Errorf("asks about %v, want %v", ask, test.ask)
			}
		})
	}
}
