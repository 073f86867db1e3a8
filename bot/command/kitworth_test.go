package command_test

import (
	"strings"
	"testing"
)

func TestKitSaysWhatItCannotOpen(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	b.say(me, "kit E4").has(t, "Cannot open now: this kit opens every door", "assumptions")
	b.say(me, "E4 film missing, both")
	short := b.say(me, "kit E4")
	short.has(t, "Cannot open now: inward latch;", "What the missing ones cost: latch film ")
	if words, numbers := strings.Index(short.text, "Cannot open"), strings.Index(short.text, "cost"); words > numbers {
		t.Error("numbers stand before the words")
	}
}

func TestKitOfNobody(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	b.say(me, "kit boat 5").has(t, "Boat 5 carries no entry kit")
	b.say(me, "kit engine 99").has(t, "I know no rig by that name.")
}

// With nothing in the kit at all a plan still says what can be done, and breaks
// no rule.
func TestEmptyKitStillHasAPlan(t *testing.T) {
	b := newDoorBench(t)
	dept := *b.desk.Department
	dept.OnEvery = nil
	dept.Lists = nil
	b.desk.Department = &dept
	me := b.speaker("engine-4")
	plan := b.say(me, "push door, latch, knob, welfare check")
	plan.has(t, "irons", "Not at hand: ")
	steps, err := plan.outcome.Request.Plan()
	if err != nil {
		t.Fatal(err)
	}
	if wrong := broken(plan.outcome.Request.DoorFacts(), steps.Steps); len(wrong) > 0 {
		t.Error(wrong)
	}
}
