package command_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
)

// uses are the records of use that count.
func (b *bench) uses() []bot.Entry {
	b.t.Helper()
	entries, err := b.db.Entries(b.t.Context(), b.desk.Department.Slug, "use", "", time.Time{})
	if err != nil {
		b.t.Fatal(err)
	}
	return entries
}

func body(t *testing.T, e bot.Entry) map[string]any {
	t.Helper()
	var m map[string]any
	if err := json.Unmarshal(e.Body, &m); err != nil {
		t.Fatal(err)
	}
	return m
}

// openDoor works at a door until it is open.
func (b *bench) openDoor(me bot.Speaker) said {
	b.t.Helper()
	b.say(me, "pull door, latch in plain sight, no plate, lift assist")
	b.say(me, "not yet")
	return b.say(me, "we're in")
}

func TestOpenedStoresTimeAndAttempt(t *testing.T) {
	b := newDoorBench(t)
	b.openDoor(b.speaker("engine-4"))
	uses := b.uses()
	if len(uses) != 1 {
		t.Fatalf("%d records", len(uses))
	}
	got := body(t, uses[0])
	for _, key := range []string{"Mark", "Left", "ordered", "incident"} {
		if v := got[key]; v != nil && v != "" {
			t.Errorf("%s is stored at the door: %v", key, v)
		}
	}
	if got["way"] == "" || got["on_scene"] != true {
		t.Errorf("record: %v", got)
	}
}

func TestBackOnTheRig(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	reply := b.openDoor(me)
	b.clock.Set(b.clock.Now().Add(3 * time.Hour)) // the conversation is forgotten by then
	reply = b.press(me, reply.button(t, "Back on the rig"))
	reply.has(t, "What opened it?")
	for _, tap := range []string{reply.buttons[0].Label, "2nd", "None", "Not secured", "Company officer"} {
		reply = b.press(me, reply.button(t, tap))
		reply.hasNot(t, "What kind of call?") // said at the door
	}
	last := reply.button(t, "Real call")
	reply = b.press(me, last)
	reply.has(t, "opened, try 2, no mark, lift assist, left not secured", "ordered by the officer", "real call")

	uses := b.uses()
	if len(uses) != 1 {
		t.Fatalf("%d records of one door", len(uses))
	}
	raised := slices.ContainsFunc(reply.posts, func(p command.Post) bool { return p.To.Use == department.OfficersChannel })
	if !raised {
		t.Error("the officers were not told of an opening left not secured")
	}
	b.press(me, last).has(t, bot.SayNothingToTell.With().Say)

	b.say(me, "incident 26-01234").has(t, "incident 26-01234")
	if got := body(t, b.uses()[0]); got["incident"] != "26-01234" || len(b.uses()) != 1 {
		t.Errorf("record: %v", got)
	}
}

func TestEveryAnswerAfterUseIsTaken(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	for choice := range 4 {
		b.openDoor(me)
		reply := b.say(me, "back on the rig")
		for range 10 {
			if strings.Contains(reply.text, "Use noted") {
				break
			}
			at := min(choice, len(reply.buttons)-1)
			if len(reply.buttons[at].Value) > bot.MaxButtonValue {
				t.Errorf("%s is too long", reply.buttons[at].Value)
			}
			reply = b.press(me, reply.buttons[at].Value)
		}
		reply.has(t, "Use noted")
	}
}

func TestAfterUseChecksWhoPresses(t *testing.T) {
	b := newDoorBench(t)
	value := b.openDoor(b.member("engine-4", 2)).button(t, "Back on the rig")
	stranger := b.member("engine-7", 3)
	b.press(stranger, value).has(t, bot.SayOtherCrew.With().Say)
	for _, bad := range []string{"used:tell:nothing:", value + "zz", value + strings.Repeat("-", 20), "used:dance", "used:withdraw:x"} {
		if got := b.press(b.member("engine-4", 2), bad); strings.Contains(got.text, "Use noted") {
			t.Errorf("%s was taken: %s", bad, got.text)
		}
	}
}

func TestOneLineMakesTheSameRecord(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	b.say(me, "pull door, latch in plain sight, no plate, lift assist")
	b.say(me, "we're in")
	b.say(me, "used the shove knife, second try, no mark, relatched, ordered by the captain, incident 26-0042").
		has(t, "shove knife, opened, try 2, no mark, lift assist, relatched, ordered by the officer, incident 26-0042")
	uses := b.uses()
	if len(uses) != 1 {
		t.Fatalf("%d records of one door", len(uses))
	}
	if got := body(t, uses[0]); got["way"] == nil || got["facts"] == nil {
		t.Errorf("the line lost what was known at the door: %v", got)
	}
}

func TestIncidentNumberIsNoOther(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	b.openDoor(me)
	for _, bad := range []string{"used:incident:", "used:incident:12 Elm Street", "used:incident:the gate", "used:incident:1", "used:incident:555-010-4567"} {
		b.press(me, bad).has(t, bot.SayOldButton.With().Say)
	}
}

func TestPracticeIsNoRealCall(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	b.say(me, "practiced with the film, opened first try").has(t, "Practice: it changes no numbers.")
}

func TestWithdrawnFromTheList(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	b.say(me, "used the film, opened first try, no mark")
	b.say(me, "used the shove knife, opened second try, no mark")
	listed := b.say(me, "our uses")
	listed.has(t, "1. ", "2. ")
	value := listed.button(t, "Withdraw 2")
	b.press(b.member("engine-7", 3), value).has(t, bot.SayOtherCrew.With().Say)
	b.press(me, value).has(t, "Withdrawn: slip an inward door")
	b.press(me, value).has(t, bot.SayUndoTwice.With().Say)
	b.say(me, "that record was wrong").has(t, "Withdrawn: slip an outward door")
	if n := len(b.uses()); n != 0 {
		t.Errorf("%d records are left", n)
	}
	b.say(me, "that record was wrong").has(t, bot.SayNothingToTell.With().Say)
}

// A door that was left open reaches the officers, however it is typed.
func TestLeftNotSecuredIsRaised(t *testing.T) {
	for _, text := range []string{"left not secured", "door left not secured, captain ordered it", "left not secured, 2 of the wood wedges broke"} {
		b := newBench(t, append(queueCommands(), command.DoorCommand(), command.UsedCommand())...)
		me := b.speaker("engine-4")
		b.press(me, b.say(me, "push door, latch, knob, welfare check").button(t, "Opened"))
		reply := b.say(me, text)
		if !slices.ContainsFunc(reply.posts, func(p command.Post) bool { return p.To.Use == department.OfficersChannel }) {
			t.Errorf("%q: the officers are not told: %s", text, reply.text)
		}
		if !strings.Contains(reply.text, "left not secured: the officers are told") {
			t.Errorf("%q: the record does not say so: %s", text, reply.text)
		}
	}
	b := newBench(t, append(queueCommands(), command.DoorCommand(), command.UsedCommand())...)
	b.say(b.speaker("engine-4"), "what if it is left not secured?").hasNot(t, "Use noted")
}

// "That was practice" takes the last record out of the counts, and no more than
// that one.
func TestThatWasPractice(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	b.say(me, "used the film on a lift assist, opened first try, no mark").has(t, "that was practice")
	b.say(me, "that was practice").has(t, "Practice: it changes no numbers")
	if uses := b.uses(); len(uses) != 1 || body(t, uses[0])["Practice"] != true && body(t, uses[0])["practice"] != true {
		t.Errorf("%d records: %v", len(uses), body(t, uses[0]))
	}
	b.say(b.member("engine-7", 3), "that was practice").has(t, bot.SayNothingToTell.With().Say)
}
