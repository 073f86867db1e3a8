package command_test

import (
	"strings"
	"testing"

	"kitbell/bot/command"
	"kitbell/bot/department"
	"kitbell/bot/kit"
)

func restockBench(t *testing.T) *bench {
	return newBench(t, append(working(), command.RestockCommand(), command.LendCommand(), command.UsedCommand(), command.DoorCommand(), command.MoveCommand())...)
}

// After a call each piece that was used comes from the shelf, or the rig rides
// short and is told what it cannot open.
func TestRestockAfterACall(t *testing.T) {
	b := restockBench(t)
	me := b.speaker("engine-4")
	b.say(me, "shelf has 1 latch film, minimum 1")
	used := b.say(me, "used the film on a lift assist, opened first try, no mark")
	if !strings.Contains(used.text, "what did it use up?") {
		t.Fatalf("not asked: %s", used.text)
	}
	first := b.press(me, used.button(t, "Used: latch film"))
	took := b.press(me, first.button(t, "Took one"))
	if !strings.Contains(took.text, "0 left, below the minimum of 1") {
		t.Errorf("took the last: %s", took.text)
	}
	second := b.press(me, took.button(t, "Used: latch film"))
	if second.buttons[0].Label != "We ride short" || !strings.Contains(second.text, "has none") {
		t.Errorf("an empty shelf: %s %v", second.text, second.buttons)
	}
	b.press(me, second.buttons[0].Value)
	short := b.press(me, second.buttons[0].Value)
	if !strings.Contains(short.text, "2 × latch film missing") || !strings.Contains(short.text, "Cannot do now: ") {
		t.Errorf("none left: %s", short.text)
	}
	if got := b.press(me, second.buttons[0].Value); !strings.Contains(got.text, "without any") {
		t.Errorf("a third of two: %s", got.text)
	}
	if done := b.press(me, short.button(t, "Nothing more")); !strings.Contains(done.text, "back in service") {
		t.Errorf("done: %s", done.text)
	}
	if l := b.line(1); l.Count != 2 || l.Condition != kit.Missing {
		t.Errorf("the line: %+v", l)
	}
	if got := b.say(me, "put 2 new films in from the shelf"); !strings.Contains(got.text, "#1 is closed") {
		t.Errorf("restocked: %s", got.text)
	}
}

// A use makes a look through the kit due, once, and not when somebody looked.
func TestACheckAfterUse(t *testing.T) {
	for _, looked := range []bool{false, true} {
		b := restockBench(t)
		b.desk.Department = withoutEntries(b.desk.Department)
		me := b.speaker("engine-4")
		b.say(me, "used the film on a lift assist, opened first try, no mark")
		if looked {
			b.clock.Set(b.clock.Now().Add(1e9))
			b.say(me, "E4 checked, all there")
		}
		heard := b.heard(t, 1)
		if looked != (len(heard) == 0) {
			t.Errorf("looked %v: %q", looked, heard)
		}
		if !looked && !strings.Contains(heard[0], "within a day of a use") {
			t.Errorf("why: %s", heard[0])
		}
	}
}

// What is lent is out of the lender's plans, in the borrower's, asked for when it
// is due, and no shortage.
func TestALoan(t *testing.T) {
	b := restockBench(t)
	b.desk.Department = withoutEntries(b.desk.Department)
	me := b.speaker("engine-4")
	if got := b.say(me, "E4 lent the fork to E3"); !strings.Contains(got.text, "Engine 4 lent thumbturn fork to Engine 3") {
		t.Fatal(got.text)
	}
	if got := b.say(me, "E4 lent the fork to E3"); !strings.Contains(got.text, "noted already") {
		t.Errorf("twice: %s", got.text)
	}
	if got := b.say(me, "check E4"); !strings.Contains(got.text, "1 × thumbturn fork (1 lent out)") {
		t.Errorf("its check: %s", got.text)
	}
	if got := b.say(me, "E4 -3 wood wedges missing"); !strings.Contains(got.text, "below one") {
		t.Errorf("a negative count: %s", got.text)
	}
	page := b.say(me, "kit E4")
	if !strings.Contains(page.text, "Cannot open now: narrow-stile bolt with a thumbturn") || !strings.Contains(page.text, "Nothing open") {
		t.Errorf("the lender: %s", page.text)
	}
	heard := b.heard(t, 9)
	if len(heard) != 1 || !strings.Contains(heard[0], "Is it back?") {
		t.Fatalf("reminded: %q", heard)
	}
	back := page.button(t, "Back: thumbturn fork")
	if got := b.press(me, back); !strings.Contains(got.text, "Back: ") {
		t.Errorf("back: %s", got.text)
	}
	if got := b.press(me, back); !strings.Contains(got.text, "settled already") {
		t.Errorf("back twice: %s", got.text)
	}
	if got := b.say(me, "kit E4"); !strings.Contains(got.text, "opens every door") {
		t.Errorf("the lender again: %s", got.text)
	}
	for text, want := range map[string]string{
		"left the film with the neighbouring department": "lent latch film to another department",
		"their air wedge came home with us":              "another department lent air wedge to Engine 4",
		"lent 9 wood wedges to E3":                       "a full kit holds 4",
		"lent E4 the fork":                               "Who lent it",
		"E4 borrowed a steel wedge from E1":              "Engine 1 lent steel wedge to Engine 4",
	} {
		if got := b.say(me, text); !strings.Contains(strings.ToLower(got.text), strings.ToLower(want)) {
			t.Errorf("%q: %s, want %q", text, got.text, want)
		}
	}
}

// A kit that should be back is asked for once, at the rig that it left.
func TestAKitThatIsAway(t *testing.T) {
	b := restockBench(t)
	b.desk.Department = withoutEntries(b.desk.Department)
	me := b.speaker("engine-4")
	b.say(me, "kit away on deployment until Friday")
	heard := b.heard(t, 9)
	if len(heard) != 1 || !strings.Contains(heard[0], "Engine 4") || !strings.Contains(heard[0], "Is it?") {
		t.Errorf("%q", heard)
	}
}

// The tour after a use reads what was used, whoever posts.
func TestWhatWasUsedLastTour(t *testing.T) {
	b := restockBench(t)
	b.desk.Department = withoutEntries(b.desk.Department)
	me := b.speaker("engine-4")
	b.say(me, "used the film on a lift assist, opened first try, no mark")
	b.heard(t, 1) // the check after the use, in this tour
	b.say(me, "E4 pair door hook is bent")
	b.press(b.holder(department.Quartermaster), "queue:drop:1:1")
	if heard := b.heard(t, 2); len(heard) != 1 || !strings.Contains(heard[0], "Used last tour: latch film") {
		t.Errorf("%q", heard)
	}
}

// A guest reports, and changes nothing else: no check, no line, no loan.
func TestAGuestOnlyReports(t *testing.T) {
	b := newBench(t, append(working(), command.RestockCommand(), command.LendCommand(), command.SealCommand())...)
	guest := b.holder(department.Guest)
	if got := b.say(guest, "E4 pair door hook is bent"); !strings.Contains(got.text, "In the queue") {
		t.Errorf("reports: %s", got.text)
	}
	for _, text := range []string{"E4 checked, all there", "E1 tag 004501 intact", "L4 lent a film to E4", "E4 took 2 films off the shelf", "1 in the kit", "1 not a fault", "reopen 1", "E4 found the pair door hook"} {
		if got := b.say(guest, text); !strings.Contains(got.text, "A guest may report") {
			t.Errorf("%q: %s", text, got.text)
		}
	}
	for _, press := range []string{"queue:in:1:1", "queue:found:1:1", "queue:where:1:1:rig", "restock:took:engine-4:latch-film"} {
		if got := b.press(guest, press); len(got.outcome.Turn.Changes) > 0 {
			t.Errorf("%s: %s", press, got.text)
		}
	}
}
