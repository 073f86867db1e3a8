package understand_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot/kit"
	"kitbell/bot/understand"
)

// What a message counts short is one line, whichever way the two numbers stand.
func TestShortByNumbers(t *testing.T) {
	reader := newReader(t)
	low := []understand.Line{{Unit: "engine-4", Item: "wood-wedge", Condition: kit.Low, Count: 1}}
	for _, text := range []string{
		"we have 3 wood wedges where there should be 4", "we have 3 where there should be 4 wedges", "only 3 wedges, should be 4",
		"3 wedges, supposed to have 4", "only 3 wood wedges, should be 4", "three wood wedges when it should be four",
		"wood wedges: had 4, got 3",
	} {
		got := reader.Read(text, understand.Context{Unit: "engine-4"})
		if got.Intent != understand.Report || len(got.AskBack) > 0 || len(got.Also) > 0 {
			t.Errorf("%q: %s also %v, asks %v", text, got.Intent, got.Also, got.AskBack)
		}
		if diff := cmp.Diff(low, got.Lines); diff != "" {
			t.Errorf("%q: %s", text, diff)
		}
	}
}

// One of two, or a thing without a known name, is asked about and never guessed.
func TestAsksWhichThing(t *testing.T) {
	reader := newReader(t)
	for _, row := range []struct {
		text string
		of   []string
	}{
		{"fork or strap missing, not sure which", []string{"thumbturn-fork", "door-strap"}},
		{"the fork or the mirror is bent", []string{"thumbturn-fork", "inspection-mirror"}},
		{"lost the fork or the strap", []string{"thumbturn-fork", "door-strap"}},
		{"fork or strap or mirror missing", []string{"thumbturn-fork", "door-strap", "inspection-mirror"}},
		{"the gizmo is missing", nil},
		{"whatchamacallit is bent", nil},
		{"our flurble is missing", nil},
		{"the flurble in the kit is bent", nil},
	} {
		got := reader.Read(row.text, understand.Context{Unit: "engine-4"})
		want := []understand.Question{{About: understand.AskItem, Candidates: row.of}}
		if diff := cmp.Diff(want, got.AskBack); got.Intent != understand.Report || len(got.Lines) > 0 || diff != "" {
			t.Errorf("%q: %s, lines %v, %s", row.text, got.Intent, got.Lines, diff)
		}
	}
}

// "Or" behind a negation speaks of both; in a question it compares; and what
// stands about in a station is not the kit's.
func TestOrIsNotAlwaysADoubt(t *testing.T) {
	reader := newReader(t)
	for _, row := range []struct {
		text   string
		intent understand.Intent
		lines  int
	}{
		{"no fork or strap", understand.Report, 2},
		{"can't find the fork or the strap", understand.Report, 2},
		{"steel or wood wedge for a metal frame", understand.Ask, 0},
		{"hook or film first on a wide gap", understand.Ask, 0},
		{"can the air wedge crack a glass door", understand.Ask, 0},
		{"no idea where the strap goes", understand.Ask, 0},
		{"no idea where the strap went", understand.Report, 1},
		{"the espressor is broken", understand.None, 0},
		{"the saw won't start", understand.None, 0},
	} {
		got := reader.Read(row.text, understand.Context{Unit: "engine-4"})
		if got.Intent != row.intent || len(got.Lines) != row.lines || len(got.AskBack) > 0 {
			t.Errorf("%q: %s, lines %v, asks %v", row.text, got.Intent, got.Lines, got.AskBack)
		}
	}
}
