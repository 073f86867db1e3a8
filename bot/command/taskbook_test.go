package command_test

import (
	"strings"
	"testing"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
)

// bookBench is a bench whose department has a task book, with an evaluator who may
// sign one of its two skills and an officer who may sign none.
func bookBench(t *testing.T) (b *bench, evaluator, officer bot.Speaker, learner department.Member) {
	t.Helper()
	b = newBench(t, command.TaskBookCommand(), command.UndoCommand(), command.NoneCommand())
	evaluator, officer = b.speaker("engine-4"), b.speaker("engine-1")
	d := *b.desk.Department
	d.TaskBook = []department.Skill{{ID: "slip-inward", Title: "Slip an inward door"}, {ID: "kit-care", Title: "Care of the kit", NoDoor: true}}
	d.Evaluators = []department.Evaluator{{Member: evaluator.ID, Skills: []string{"slip-inward"}}}
	b.desk.Department = &d
	m, _ := d.Member(b.crewOf("engine-4", "B").ID)
	return b, evaluator, officer, m
}

// A skill is signed by a qualified evaluator who is somebody else, with the kind of
// door and the tries; what is withdrawn stays to be seen.
func TestTaskBook(t *testing.T) {
	b, evaluator, officer, learner := bookBench(t)
	self, _ := b.desk.Department.Member(evaluator.ID)
	whole := " on slip an inward door, opens away, spring latch, 2 tries"
	for _, row := range []struct {
		name string
		who  bot.Speaker
		said string
		want string
	}{
		{"by nobody who may", officer, "signed off " + learner.Name + whole, "only a qualified evaluator"},
		{"for oneself", evaluator, "signed off " + self.Name + whole, "does not sign for"},
		{"without the door", evaluator, "signed off " + learner.Name + " on slip an inward door, 2 tries", "kind of door"},
		{"without the tries", evaluator, "signed off " + learner.Name + " on slip an inward door, opens away, spring latch", "tries"},
		{"a skill that is not theirs", evaluator, "signed off " + learner.Name + " on care of the kit, 1 try", "only a qualified evaluator"},
		{"nobody", evaluator, "signed off Nobody At All" + whole, "whole name"},
	} {
		got := b.say(row.who, row.said)
		if !strings.Contains(got.text, row.want) || len(got.outcome.Turn.Changes) > 0 {
			t.Errorf("%s: %q", row.name, got.text)
		}
	}
	signed := b.say(evaluator, "signed off "+learner.Name+whole)
	if !strings.HasPrefix(signed.text, "Sign-off 1: "+learner.Name+", Slip an inward door, 2 tries, opens away, spring latch") {
		t.Fatalf("said %q", signed.text)
	}
	me := bot.Speaker{ID: learner.ID, Member: learner.ID}
	page := b.say(me, "my task book")
	if !page.posts[0].Reply.Private || !strings.Contains(page.text, "Slip an inward door: #1") || !strings.Contains(page.text, "Care of the kit: open") {
		t.Errorf("the page: %q", page.text)
	}
	if got := b.say(officer, "task book of "+learner.Name).text; strings.Contains(got, "#1") {
		t.Errorf("another officer sees %q", got)
	}
	if got := b.say(evaluator, "withdraw sign-off 1").text; !strings.Contains(got, "needs a reason") {
		t.Errorf("without a reason: %q", got)
	}
	if got := b.say(officer, "withdraw sign-off 1 because I say so").text; strings.Contains(got, "withdrawn") {
		t.Errorf("by somebody else: %q", got)
	}
	if got := b.say(evaluator, "withdraw sign-off 1 because it was the wrong door").text; !strings.HasPrefix(got, "Sign-off 1 withdrawn") {
		t.Errorf("said %q", got)
	}
	if got := b.say(me, "my task book").text; !strings.Contains(got, "withdrawn: it was the wrong door") {
		t.Errorf("the page afterwards: %q", got)
	}
	for _, said := range []string{"withdraw sign-off 1 because again", "withdraw sign-off 9 because of nothing"} {
		if got := b.say(evaluator, said); len(got.outcome.Turn.Changes) > 0 {
			t.Errorf("%q: %q", said, got.text)
		}
	}
}

// A department without a task book says who writes one.
func TestNoTaskBook(t *testing.T) {
	b := newBench(t, command.TaskBookCommand())
	if got := b.say(b.speaker("engine-4"), "my task book").text; !strings.Contains(got, "no task book yet") {
		t.Errorf("said %q", got)
	}
}
