package command_test

import (
	"fmt"
	"strings"
	"testing"

	"kitbell/bot/command"
	"kitbell/bot/department"
	"kitbell/bot/kit"
)

// A crew hears of the list that its kit is not on, once; an officer's tap brings
// the kit to it, and what the kit can then be short of follows.
func TestConversion(t *testing.T) {
	b := newBench(t, append(working(), command.ConvertCommand())...)
	d := *withoutEntries(b.desk.Department)
	d.Lists = append(append([]kit.List(nil), d.Lists...), dropping(d.Lists[2], "notched-card"))
	d.InForce = 4
	b.desk.Department = &d
	officer, crew := b.speaker("engine-4"), b.crewOf("engine-4", "B")
	b.say(crew, "E4 out of notched cards")
	b.say(crew, "E4 strap worn")
	heard := b.heard(t, 9)
	if len(heard) != 1 || !strings.Contains(heard[0], "Kit list, version 4: Take out notched card") {
		t.Fatalf("told: %q", heard)
	}
	page := b.say(crew, "kit list")
	tap := page.button(t, "k06 converted")
	if got := b.press(crew, tap); !strings.Contains(got.text, "officer's word") {
		t.Errorf("a member converts: %s", got.text)
	}
	done := b.press(officer, tap)
	if !strings.Contains(done.text, "#1 is about the notched card, which leaves the kit") {
		t.Errorf("converted: %s", done.text)
	}
	if got := b.press(officer, tap); !strings.Contains(got.text, "version 4 already") {
		t.Errorf("twice: %s", got.text)
	}
	b.press(officer, done.button(t, "#1: not a fault"))
	if one, two := b.line(1).State, b.line(2).State; one != kit.NotAFault || two != kit.Reported {
		t.Errorf("lines: %s, %s", one, two)
	}
	if got := b.say(crew, "E4 out of notched cards"); !strings.Contains(got.text, "not on the list of Engine 4, version 4") {
		t.Errorf("a dropped item: %s", got.text)
	}
	if got := b.say(b.speaker("tower-6"), "T6 is missing the utility key"); !strings.Contains(got.text, "comes with version 3") {
		t.Errorf("an item to come: %s", got.text)
	}
}

// dropping is a list's next version without an item.
func dropping(l kit.List, item string) kit.List {
	next := kit.List{Version: l.Version + 1}
	for _, line := range l.Lines {
		if line.Item != item {
			next.Lines = append(next.Lines, line)
		}
	}
	return next
}

// The quarter's kits are the same for all, nobody audits their own, each is
// looked at once, and the records' score adds up.
func TestSpotAudit(t *testing.T) {
	b := newBench(t, append(working(), command.SpotAuditCommand())...)
	stranger := b.speaker("engine-3")
	page := b.say(stranger, "spot audit")
	if again := b.say(b.holder(department.Lead), "spot audit"); again.text != page.text {
		t.Errorf("somebody else's draw: %s", again.text)
	}
	matched, lines := 0, 0
	for i, look := range page.buttons {
		id := strings.TrimPrefix(look.Label, "Look at ")
		k, _ := b.desk.Department.Kit(id)
		if got := b.press(b.speaker(k.Place.At), look.Value); !strings.Contains(got.text, "own crew's kit") {
			t.Errorf("own kit: %s", got.text)
		}
		seen := b.press(stranger, look.Value)
		of := len(seen.buttons) - 1
		label := fmt.Sprint(of - 1)
		if i == 0 {
			label = fmt.Sprintf("All %d", of)
			matched++
		}
		matched, lines = matched+of-1, lines+of
		found := b.press(stranger, seen.button(t, label))
		if want := fmt.Sprintf("matched the kit on %d of %d lines", matched, lines); !strings.Contains(found.text, want) {
			t.Errorf("%s, want %q", found.text, want)
		}
		if got := b.press(stranger, seen.button(t, label)); !strings.Contains(got.text, "looked at this quarter") {
			t.Errorf("twice: %s", got.text)
		}
	}
	if lines == 0 {
		t.Error("nothing was drawn")
	}
}

// A thing that was found is matched with the lines of other kits, and asked.
func TestFoundSomebodyElsesTool(t *testing.T) {
	b := newBench(t, working()...)
	owner, finder := b.speaker("engine-4"), b.speaker("engine-3")
	b.say(owner, "E4 is missing the small hook")
	found := b.say(finder, "found a small hook at the hotel")
	if !strings.Contains(found.text, "Whose is it?") {
		t.Fatal(found.text)
	}
	b.press(finder, found.button(t, "#1 Engine 4"))
	if l := b.line(1); l.State != kit.InHand || l.Note != "found, with Engine 3" {
		t.Errorf("%+v", l)
	}
	b.say(owner, "found the small hook")
	if l := b.line(1); l.State != kit.BackInKit {
		t.Errorf("back: %+v", l)
	}
}

// A stop-use is asked for again in every tour until the rig's kit and its
// station's shelf have answered.
func TestAStopUseIsAskedAgain(t *testing.T) {
	b := newBench(t, append(working(), command.StopUseCommand())...)
	b.desk.Department = withoutEntries(b.desk.Department)
	b.say(b.holder(department.Lead), "stop using the air wedges, lot 7, one burst")
	if heard := b.heard(t, 4); len(heard) != 2 || !strings.Contains(heard[1], "Stop-use, not answered: air wedge, lot 7") {
		t.Fatalf("asked: %q", heard)
	}
	list := b.say(b.speaker("engine-4"), "stop-use")
	key := strings.TrimPrefix(list.buttons[0].Value, "stop-use:see:")
	for _, place := range []string{"kit/k06", "shelf/station-4"} {
		b.press(b.speaker("engine-4"), "stop-use:pulled:"+key+":"+place+":1")
	}
	if heard := b.heard(t, 6); len(heard) != 0 {
		t.Errorf("answered, and asked again: %q", heard)
	}
}

// What is in hand for a kit goes to the station of the rig that carries it now.
func TestBagsFollowTheKit(t *testing.T) {
	b := newBench(t, append(working(), command.MoveCommand())...)
	qm := b.holder(department.Quartermaster)
	b.say(b.speaker("engine-4"), "E4 pair door hook is bent")
	b.press(qm, "queue:hand:1:1")
	b.say(b.speaker("engine-4"), "E4 to the shop, kit on E11")
	if got := b.say(qm, "bag list"); !strings.Contains(got.text, "Station 7 Airfield. Engine 11: 1 × pair-door hook (#1)") {
		t.Errorf("bags: %s", got.text)
	}
	if got := b.say(qm, "queue E11"); !strings.Contains(got.text, "#1 Engine 11") {
		t.Errorf("queue: %s", got.text)
	}
}
