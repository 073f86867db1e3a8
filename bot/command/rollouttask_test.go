package command_test

import (
	"strings"
	"testing"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
)

// A roll-out says what the lead said of the tool: a link, what it replaces, the
// ten-minute task; a link that is no https address is refused.
func TestRollOutSaysWhatItIs(t *testing.T) {
	b := newBench(t, command.RollOutCommand(), command.AskCommand())
	lead := b.holder(department.Lead)
	if got := b.say(lead, "roll out the latch film http://clips.example.org/film"); len(got.outcome.Turn.Changes) > 0 || !strings.Contains(got.text, "https://") {
		t.Errorf("said %q", got.text)
	}
	got := b.say(lead, "roll out the latch film https://clips.example.org/film. It replaces the reach strip")
	var all strings.Builder
	for _, p := range got.outcome.Turn.Posts {
		all.WriteString(p.Reply.Plain() + "\n")
	}
	for _, want := range []string{"Roll-out begun: latch film", "See it: https://clips.example.org/film\n", "It replaces: reach strip", "Task, ten minutes: Film on an inward door"} {
		if !strings.Contains(all.String(), want) {
			t.Errorf("no %q in:\n%s", want, &all)
		}
	}
	if n := strings.Count(all.String(), "Roll-out begun"); n != 1 {
		t.Errorf("%d roll-outs begun", n)
	}
}

// An officer's word counts for those of the own crew who have tapped, and never
// for the officer; the lead alone sees who is still to go, and why.
func TestRollOutConfirmed(t *testing.T) {
	b := newBench(t, command.RollOutCommand(), command.UndoCommand())
	lead := b.holder(department.Lead)
	had := b.say(lead, "roll out the latch film").buttonOf(t, "Hands on it")
	officer, crew := b.speaker("engine-4"), bot.Speaker{}
	me, _ := b.desk.Department.Member(officer.ID)
	for _, m := range b.desk.Department.Members {
		if m.Unit == me.Unit && m.Platoon == me.Platoon && !m.May(department.Officer) {
			crew = bot.Speaker{ID: m.ID, Member: m.ID, Unit: m.Unit, Platoon: m.Platoon}
		}
	}
	b.press(officer, had)
	if got := b.press(officer, "roll-out:sign:latch-film").text; !strings.Contains(got, "Nobody of") {
		t.Errorf("for oneself: %q", got)
	}
	b.press(crew, had)
	if got := b.press(crew, "roll-out:sign:latch-film").text; !strings.Contains(got, "officer's word") {
		t.Errorf("by no officer: %q", got)
	}
	seen := b.say(officer, "roll-out")
	if strings.Contains(seen.text, "Members still to go") || !strings.Contains(seen.text, "0 of 141 members confirmed, 2 tapped") {
		t.Errorf("an officer sees %q", seen.text)
	}
	if got := b.press(officer, seen.button(t, "Confirm 1 of my crew")).text; !strings.HasPrefix(got, "Confirmed, hands on the latch film") {
		t.Errorf("said %q", got)
	}
	page := b.say(lead, "roll-out")
	if !page.posts[0].Reply.Private || !strings.Contains(page.text, "1 of 141 members confirmed, 1 tapped") || !strings.Contains(page.text, "(leave)") {
		t.Errorf("the lead sees %q", page.text)
	}
}
