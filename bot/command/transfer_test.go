package command_test

import (
	"strings"
	"testing"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
	"kitbell/bot/kit"
)

// From the day of a transfer on, a report without a rig counts for the new one;
// before it, for the old.
func TestTransfer(t *testing.T) {
	b := newBench(t, append(working(), command.TransferCommand())...)
	lead, crew := b.holder(department.Lead), b.crewOf("engine-4", "B")
	m, _ := b.desk.Department.Member(crew.Member)
	if got := b.say(crew, m.Name+" transfers to E6 C from 2026-11-27"); !strings.Contains(got.text, "officer's word") {
		t.Errorf("by a member: %s", got.text)
	}
	for text, want := range map[string]string{
		m.Name + " transfers to Q platoon from 2026-11-27": "Where to, and from when",
		"somebody transfers to E6":                         "Who is it?",
		m.Name + " transfers to E6 C from 2026-11-27":      "goes to Engine 6, C platoon, from Fri 27 Nov",
	} {
		if got := b.say(lead, text); !strings.Contains(got.text, want) {
			t.Errorf("%q: %s", text, got.text)
		}
	}
	b.say(crew, "strap torn")
	b.clock.Set(b.clock.Now().AddDate(0, 0, 4))
	b.say(crew, "film torn")
	if one, two := b.line(1), b.line(2); one.Unit != "engine-4" || two.Unit != "engine-6" || two.Platoon != "C" || two.By != m.ID {
		t.Errorf("before %+v, after %+v", one, two)
	}
}

// A check's button that names another crew's kit asks once before it counts.
func TestAnotherCrewsCheckAsksOnce(t *testing.T) {
	b := newBench(t, working()...)
	check := b.say(b.speaker("engine-4"), "check E4")
	full := check.button(t, "Every line is there")
	other := b.speaker("ladder-4")
	asked := b.press(other, full)
	if !strings.Contains(asked.text, "you ride Ladder 4") {
		t.Fatal(asked.text)
	}
	if got := b.say(other, "kit E4"); !strings.Contains(got.text, "Last check: unknown") {
		t.Errorf("counted unasked: %s", got.text)
	}
	if got := b.press(other, asked.buttons[0].Value); !strings.Contains(got.text, "every line looked at, all there") {
		t.Errorf("sure: %s", got.text)
	}
}

// Many who press one button at once have one outcome.
func TestOneButtonPressedByMany(t *testing.T) {
	b := newBench(t, working()...)
	b.say(b.speaker("engine-4"), "E4 pair door hook is bent")
	qm := b.holder(department.Quartermaster)
	done := make(chan struct{})
	for i := range 8 {
		e := b.event(qm, "")
		e.Kind, e.Press, e.Where.Thread = bot.Pressed, "queue:take:1:1", string(rune('a'+i))
		go func() {
			defer func() { done <- struct{}{} }()
			if _, err := b.intake.Now(t.Context(), e); err != nil {
				t.Error(err)
			}
		}()
	}
	for range 8 {
		<-done
	}
	history, err := b.db.History(t.Context(), b.desk.Department.Slug, 1)
	if err != nil || len(history) != 2 || history[1].New.State != kit.Taken {
		t.Errorf("%d steps, %v", len(history), err)
	}
}
