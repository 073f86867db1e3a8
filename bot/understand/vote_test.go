package understand_test

import (
	"slices"
	"testing"

	"kitbell/bot/kit"
	"kitbell/bot/understand"
)

// Messages without a word that any rule turns on are settled by their likeness
// to others.
func TestIntentWithoutACue(t *testing.T) {
	reader := newReader(t)
	for text, want := range map[string]understand.Intent{
		"duty": understand.Duty, "queue": understand.Queue, "help": understand.Help, "undo": understand.Undo, "kit": understand.Kit,
		"kit E4": understand.Kit, "drill": understand.Drill, "budget": understand.Budget, "records": understand.Records,
		"what is on record": understand.Records, "handover": understand.Handover, "riding E2 today": understand.Riding,
		"notes for our relief about the bag": understand.Handover, "has everybody had the class on the new fork yet": understand.RollOut,
		"wedge and strip on a bathroom door, took four minutes": understand.Used, "thanks": understand.None,
	} {
		if got := reader.Read(text, engine4); got.Intent != want {
			t.Errorf("%q: %s, want %s", text, got.Intent, want)
		}
	}
}

func TestUnknownRigIsTold(t *testing.T) {
	reader := newReader(t)
	for text, want := range map[string]string{"E9 strap missing": "E9", "Engine 9's film is torn": "Engine 9", "E4 strap missing": "", "4's strap is missing": "", "strap missing": ""} {
		if got := reader.Read(text, understand.Context{}).UnknownUnit; got != want {
			t.Errorf("%q: unknown rig %q, want %q", text, got, want)
		}
	}
}

// A slip is settled by the word beside it; a bare slip that may be two words is
// not guessed.
func TestSlipBesideItsNeighbour(t *testing.T) {
	reader := newReader(t)
	for text, item := range map[string]string{"wod wege missing": "wood-wedge", "stl wedge missing": "steel-wedge", "stil strip missing": "stile-strip", "shove nife missing": "shove-knife"} {
		if got := reader.Read(text, engine4); len(got.Lines) != 1 || got.Lines[0].Item != item {
			t.Errorf("%q: %v, want %s", text, got.Lines, item)
		}
	}
}

func TestReportWithoutAKnownWordAsksWhatIsWrong(t *testing.T) {
	got := newReader(t).Read("the fork is all wibbly", engine4)
	if got.Intent != understand.Report || !got.Asks(understand.AskCondition) || len(got.Lines) > 0 {
		t.Errorf("%s asks %v lines %v", got.Intent, got.AskBack, got.Lines)
	}
	for text, want := range map[string]understand.Intent{"its broken": understand.Report, "found it": understand.Resolved} {
		if got := newReader(t).Read(text, engine4); got.Intent != want || !got.Asks(understand.AskItem) {
			t.Errorf("%q: %s asks %v", text, got.Intent, got.AskBack)
		}
	}
}

func TestPlaceOfAnItem(t *testing.T) {
	reader := newReader(t)
	for _, text := range []string{"the film slot has a sandwich bag in it", "somebody stuck a spatula in the film sleeve", "a butter knife sits where the film goes"} {
		got := reader.Read(text, engine4)
		want := understand.Line{Unit: "engine-4", Item: "latch-film", Condition: kit.Wrong, Count: 1}
		if !slices.Equal(got.Lines, []understand.Line{want}) {
			t.Errorf("%q: %v, want the wrong thing in its place", text, got.Lines)
		}
	}
}

func TestListOfCounts(t *testing.T) {
	got := newReader(t).Read("count: wood wedge 4 chock 1 cards 2", engine4)
	want := []understand.Line{
		{Unit: "engine-4", Item: "door-chock", Condition: kit.Low, Count: 1},
		{Unit: "engine-4", Item: "notched-card", Condition: kit.Low, Count: 1},
	}
	if !slices.Equal(got.Lines, want) {
		t.Errorf("lines %v", got.Lines)
	}
}

func TestDoubtsAboutADoorAreAsked(t *testing.T) {
	reader := newReader(t)
	for text, about := range map[string]string{
		"pulls open, not sure if there is a plate": "guard", "locked door": "swing", "knob, inch under the door": "swing",
		"says push but the hinges are on our side": "swing", "welfare check, haven't seen the door yet": "lock",
	} {
		if got := reader.Read(text, understand.Context{}); !got.Asks(about) {
			t.Errorf("%q: asks %v, want %s", text, got.AskBack, about)
		}
	}
}

// TestHelpIsForTheProgram: how to use a tool is a question for the cards.
func TestHelpIsForTheProgram(t *testing.T) {
	reader := newReader(t)
	for text, want := range map[string]understand.Intent{
		"how do I use the air wedge":  understand.Ask,
		"how do I get the chain off":  understand.Ask,
		"how do I use this":           understand.Help,
		"how do I use you":            understand.Help,
		"how do I use the under door": understand.Ask,
	} {
		if got := reader.Read(text, understand.Context{}).Intent; got != want {
			t.Errorf("%q: %s, want %s", text, got, want)
		}
	}
}

// TestRecordsAreNoGuess: what nobody said was done is no record.
func TestRecordsAreNoGuess(t *testing.T) {
	reader := newReader(t)
	for _, text := range []string{"chance of success with small hook", "odds of the film working"} {
		if got := reader.Read(text, understand.Context{}).Intent; got == understand.Used {
			t.Errorf("%q was taken for a record of a use", text)
		}
	}
}
