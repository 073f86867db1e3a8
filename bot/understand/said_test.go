package understand_test

import (
	"os"
	"strings"
	"testing"

	"kitbell/bot/door"
	"kitbell/bot/understand"
)

// What was said of doors in other voices, each line with the facts that it
// states. Three batches: 91, 84 and 95 of 100 facts at the first run, each
// before the words it lacked were added.
func TestSaidOfDoors(t *testing.T) {
	const floor = 0.95
	data, err := os.ReadFile("testdata/said-of-doors.tsv")
	if err != nil {
		t.Fatal(err)
	}
	reader := newReader(t)
	right, all := 0, 0
	for line := range strings.Lines(string(data)) {
		text, facts, ok := strings.Cut(strings.TrimSpace(line), "\t")
		if !ok {
			t.Fatalf("%q has no facts", line)
		}
		got := reader.Read(text, understand.Context{}).Door.Assumed()
		for fact := range strings.FieldsSeq(facts) {
			name, want, _ := strings.Cut(fact, "=")
			all++
			if value := got.Value(door.Fact(name)); value == want || want == "unseen" && value == "" {
				right++
			} else {
				t.Logf("%s: %s %q, want %q", text, name, value, want)
			}
		}
	}
	if share := float64(right) / float64(all); share < floor {
		t.Errorf("%d of %d facts, want %.0f of 100", right, all, 100*floor)
	}
}

// What a message takes back of itself closes no older line.
func TestTakenBackInOneMessage(t *testing.T) {
	reader := newReader(t)
	for _, text := range []string{"fork missing. scratch that, shove knife missing", "thumbturn fork missing, strike that, the shove knife is missing"} {
		got := reader.Read(text, engine4).Lines
		if len(got) != 1 || got[0].Item != "shove-knife" {
			t.Errorf("%q: %+v", text, got)
		}
	}
}

// The part that asks is kept apart from what it is asked beside.
func TestAskedBesideAReport(t *testing.T) {
	reader := newReader(t)
	for text, want := range map[string]string{
		"two films torn, how do I cut a notch":        "how do I cut a notch",
		"strap's gone. what holds a door? thanks":     "what holds a door?",
		"how do I cut a notch":                        "",
		"E4 strap missing":                            "",
		"air wedge is flat. how do we leak test it ?": "how do we leak test it ?",
	} {
		if got := reader.Read(text, engine4).Asked; got != want {
			t.Errorf("%q: asks %q, want %q", text, got, want)
		}
	}
}

// Gas, by whatever words, bars every spray from a plan, and no smell of it does
// not.
func TestGasInOtherWords(t *testing.T) {
	reader := newReader(t)
	for text, want := range map[string]door.Tri{
		"I smell gas, maglock":                           door.Yes,
		"odor of gas, magnetic lock, glass door":         door.Yes,
		"smells like gas, maglock":                       door.Yes,
		"gas odor, maglock":                              door.Yes,
		"we smell propane, mag lock":                     door.Yes,
		"strong smell of natural gas, maglock":           door.Yes,
		"rotten egg smell in the hall, maglock":          door.Yes,
		"gasoline spilled in the shop, maglock":          door.Yes,
		"gas leak, somebody's down, maglock":             door.Yes,
		"we don't smell gas, maglock":                    door.No,
		"no smell of gas, maglock":                       door.Unknown,
		"smells like something burning, magnetic lock":   door.Unknown,
		"alarm sounding, nothing showing, magnetic lock": door.Unknown,
	} {
		got := reader.Read(text, understand.Context{}).Door
		if got.Gas != want {
			t.Errorf("%q: gas %v, want %v", text, got.Gas, want)
		}
		if want == door.Yes && got.Urgency != door.UrgencyUrgent && got.Urgency != door.UrgencyLife {
			t.Errorf("%q: urgency %q", text, got.Urgency)
		}
	}
}
