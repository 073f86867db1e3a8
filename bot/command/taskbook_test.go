package command_test

import (
	"slices"
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
		{"without the door", evaluator, "signed off " + learner.Name + " on slip an inward door, 2 tries", "Say how the door opens"},
		{"without the tries", evaluator, "signed off " + learner.Name + " on slip an inward door, opens away, spring latch", "tries"},
		{"a skill that is not theirs", evaluator, "signed off " + learner.Name + " on care of the kit, 1 try", "only a qualified evaluator"},
		{"nobody", evaluator, "signed off Nobody At All" + whole, "no one person called Nobody At All"},
	} {
		got := b.say(row.who, row.said)
		if !strings.Contains(got.text, row.want) || len(got.outcome.Turn.Changes) > 0 {
			t.Errorf("%s: %q", row.name, got.text)
		}
	}
	signed := b.say(evaluator, "signed off "+learner.Name+whole)
	if !strings.HasPrefix(signed.text, "Sign-off 1: "+learner.Name+", Slip an inward door, shown 23 Nov 2026, 2 tries, opens away, spring latch") {
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

// What is no sign-off signs nothing, and books nothing else: a question, a failure,
// somebody else's word.
func TestNothingSigned(t *testing.T) {
	b, evaluator, officer, learner := bookBench(t)
	const door = ", opens away, spring latch, 2 tries"
	for _, row := range []struct {
		who        bot.Speaker
		said, want string
	}{
		{evaluator, "did I sign off NAME on slip an inward door" + door + "?", "Task book of NAME"},
		{evaluator, "can I sign off NAME on slip an inward door after 1 try", "Task book of NAME"},
		{evaluator, "signed off NAME on slip an inward door" + door + ", not passed", "Nothing is signed"},
		{evaluator, "don't sign off NAME on slip an inward door" + door, "Nothing is signed"},
		{evaluator, "NAME has not passed slip an inward door yet, 3 tries, sign off later", "Nothing is signed"},
		{evaluator, "sign off Kael Smith, slip an inward door" + door, "no one person called Kael Smith"},
		{evaluator, "sign off Nobody, slip an inward door" + door, "no one person called Nobody"},
		{officer, "signed off by Briony: NAME, slip an inward door" + door, "in their own words"},
		{evaluator, "signed off NAME on ladders, 1 try", "Slip an inward door; Care of the kit"},
		{evaluator, "withdraw the sign-off of NAME because it took 5 tries", "Which sign-off?"},
		{evaluator, "signed off NAME on slip an inward door, opens away, spring latch, 150 tries", "look like a slip"},
		{evaluator, "signed off NAME on slip an inward door" + door + ", 2027-01-05", "the day on which it was shown"},
		{evaluator, "signed off NAME on slip an inward door" + door + ", 31 Feb", "Which day"},
		{evaluator, "signed off NAME on slip an inward door" + door + ", last week", "Which day"},
		{evaluator, "signed off NAME on slip an inward door" + door + ", on the 5th", "Which day"},
		{evaluator, "signed off NAME on slip an inward door" + door + ", in October", "Which day"},
		{evaluator, "signed off NAME on slip an inward door" + door + ", 1990-01-01", "two years ago"},
		{evaluator, "signed off NAME on slip an inward door, opens toward you, spring latch, 2 tries", "not shown at a door that opens toward you"},
		{evaluator, "signed off NAME on slip an inward door, opens away, 2 tries", "Say the lock too"},
		{evaluator, "signed off NAME on slip an inward door and care of the kit" + door, "one skill at a time"},
		{officer, "task book of NAME", "for its member, the evaluators"},
		{evaluator, "task book of Nobody At All", "whole name"},
		{evaluator, "what's left in my task book", "2 of 2 skills open"},
		{evaluator, "who can sign my book", "Briony Fallowdene: Slip an inward door"},
	} {
		got := b.say(row.who, strings.Replace(row.said, "NAME", learner.Name, 1))
		if want := strings.Replace(row.want, "NAME", learner.Name, 1); !strings.Contains(got.text, want) || len(got.outcome.Turn.Changes) > 0 {
			t.Errorf("%q: %q", row.said, got.text)
		}
	}
}

// A sign-off has the day on which the skill was shown, however it is typed.
func TestSignOffDays(t *testing.T) {
	b, evaluator, _, learner := bookBench(t)
	for said, want := range map[string]string{
		"signed off NAME on slip an inward door, opens away, spring latch, 2 tries yesterday":     "shown 22 Nov 2026",
		"signed off NAME on slip an inward door, opens away, spring latch, 2 tries, 19.11.2026":   "shown 19 Nov 2026, 2 tries",
		"sign-off NAME slip an inward door opens away, spring latch, four tries on 20 Nov":        "shown 20 Nov 2026, 4 tries",
		"NAME did slip an inward door, opens away, spring latch, first try, friday, sign him off": "shown 20 Nov 2026, 1 try",
		"signed off NAME on slip an inward door, opens away, spring latch, 3 tries 2026-11-19":    "shown 19 Nov 2026",
	} {
		if got := b.say(evaluator, strings.Replace(said, "NAME", learner.Name, 1)).text; !strings.Contains(got, want) {
			t.Errorf("%q: %q", said, got)
		}
	}
}

// What was signed stays when its skill leaves the list or its member the department,
// and keeps its number when another is taken back.
func TestSignOffsStay(t *testing.T) {
	b, evaluator, _, learner := bookBench(t)
	whole := "signed off " + learner.Name + " on slip an inward door, opens away, spring latch, 2 tries"
	b.say(evaluator, whole)
	b.say(evaluator, "undo")
	b.say(evaluator, whole)
	d := *b.desk.Department
	d.TaskBook = d.TaskBook[1:]
	b.desk.Department = &d
	me := bot.Speaker{ID: learner.ID, Member: learner.ID}
	if got := b.say(me, "my task book").text; !strings.Contains(got, "Slip an inward door: #1") || !strings.Contains(got, "the task book has it no more") {
		t.Errorf("a skill that left: %q", got)
	}
	d.Members = slices.DeleteFunc(slices.Clone(d.Members), func(m department.Member) bool { return m.ID == learner.ID })
	if got := b.say(evaluator, "task book of "+learner.Name).text; !strings.Contains(got, "Task book of "+learner.Name) || !strings.Contains(got, "#1") {
		t.Errorf("a member who left: %q", got)
	}
	page, name, err := command.BookPage(t.Context(), b.desk, b.db, learner.Name)
	if err != nil || name != learner.Name || len(page.Lines) != 2 {
		t.Errorf("on paper: %v, %q, %v", err, name, page)
	}
}

// A department without a task book says who writes one.
func TestNoTaskBook(t *testing.T) {
	b := newBench(t, command.TaskBookCommand())
	d := *b.desk.Department
	d.TaskBook, d.Evaluators = nil, nil
	b.desk.Department = &d
	if got := b.say(b.speaker("engine-4"), "my task book").text; !strings.Contains(got, "no task book yet") {
		t.Errorf("said %q", got)
	}
}
