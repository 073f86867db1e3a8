package command_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"kitbell/bot/door"
)

// slips are the techniques that work a latch at the edge of a door.
var slips = []string{"slip-outward", "slip-tight-gap", "slip-behind-guard", "slip-narrow-stile", "slip-inward"}

// broken lists the rules that a plan breaks, worked out from the facts alone and
// not from the planner's own tables.
func broken(f door.Facts, steps []door.Step) []string {
	var found []string
	has := func(ids ...string) bool {
		return slices.ContainsFunc(steps, func(s door.Step) bool { return slices.Contains(ids, s.Technique) })
	}
	rule := func(holds bool, words string) {
		if !holds {
			found = append(found, words)
		}
	}
	f = f.Assumed()
	if f.Bolt == door.Yes || f.Lock == door.LockDeadbolt && f.Bolt != door.No || f.Lock == door.LockMagnetic || f.Lock == door.LockExitVerticalRod || f.Lock == door.LockPadlock {
		rule(!has(slips...), "slips what does not slip")
	}
	rule(f.Swing != door.SwingIn || !has("slip-outward", "slip-tight-gap", "slip-behind-guard", "pair-door-pull"), "pulls at a door that swings away")
	rule(f.Swing != door.SwingOut || !has("slip-inward"), "films a door that swings toward")
	rule(f.Guard != door.Yes || !has("slip-outward"), "plain blade at a guard plate")
	rule(f.Gas != door.Yes || !has("sensor-trip"), "sprays near gas")
	second := f.Lock == door.LockSwingBar || f.Lock == door.LockRoomLatch || f.Lock == door.LockChain
	shut := f.Finished != door.Yes && (f.Ajar != door.Yes || second)
	if shut && (f.Urgency == door.UrgencyLife || f.Fire == door.Yes) {
		rule(len(steps) > 0 && steps[0].Technique == "force-it", "life does not force first")
	}
	if !shut {
		rule(!has("force-it"), "forces an open door")
	}
	for _, way := range f.Failed {
		rule(!slices.ContainsFunc(steps, func(s door.Step) bool { return s.Way() == way && way != "force-it" }), "repeats what failed")
	}
	return found
}

// Whatever is tapped, in whatever order and however much it contradicts itself,
// and whatever is gone from the kit: there is an answer, and its plan breaks no
// rule.
func TestRandomDoorsBreakNoRule(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	items := []string{"film", "shove knife", "thick shim", "thin shim", "air wedge", "thumbturn fork", "duster", "small hook"}
	rapid.Check(t, func(rt *rapid.T) {
		if rapid.Bool().Draw(rt, "something goes missing") {
			b.say(me, "E4 "+rapid.SampledFrom(items).Draw(rt, "item")+" missing")
		}
		b.press(me, "door:at:unsure:unsure")
		for range rapid.IntRange(1, 6).Draw(rt, "taps") {
			value := "door:not-yet"
			if rapid.IntRange(0, 4).Draw(rt, "kind") > 0 {
				fact := rapid.SampledFrom(door.AllFacts()).Draw(rt, "fact")
				value = fmt.Sprintf("door:set:%s=%s", fact, rapid.SampledFrom(door.Values(fact)).Draw(rt, "value"))
			}
			reply := b.press(me, value)
			plan, err := reply.outcome.Request.Plan()
			if err != nil {
				rt.Fatal(err)
			}
			facts := reply.outcome.Request.DoorFacts()
			if wrong := broken(facts, plan.Steps); len(wrong) > 0 {
				rt.Fatalf("%v\nfacts %+v\n%s", wrong, facts, reply.text)
			}
			if !strings.Contains(reply.text, "I understood: ") || strings.Contains(reply.text, "went wrong") {
				rt.Fatalf("no answer: %s", reply.text)
			}
		}
	})
}
