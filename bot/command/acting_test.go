package command_test

import (
	"strings"
	"testing"

	"kitbell/bot/command"
	"kitbell/bot/department"
)

// An acting quartermaster works the queue until the set time, every step says
// acting, and nobody appoints themself.
func TestActing(t *testing.T) {
	b := newBench(t, append(working(), command.ActingCommand())...)
	lead, crew := b.holder(department.Lead), b.crewOf("engine-4", "B")
	m, _ := b.desk.Department.Member(crew.Member)
	b.say(crew, "E4 pair door hook is bent")
	asked := b.say(crew, "I am acting quartermaster until Friday")
	if len(asked.buttons) != 1 {
		t.Fatalf("asks for a tap: %s %v", asked.text, asked.buttons)
	}
	if got := b.press(crew, asked.buttons[0].Value); !strings.Contains(got.text, "can give it") {
		t.Errorf("appoints themself: %s", got.text)
	}
	b.press(lead, asked.buttons[0].Value)
	b.press(crew, "queue:take:1:1")
	if got := b.say(lead, "queue 1"); !strings.Contains(got.text, "taken, "+m.Name+", acting quartermaster") {
		t.Errorf("signed: %s", got.text)
	}
	if got := b.say(crew, m.Name+" is acting lead"); !strings.Contains(got.text, "says so with a tap") {
		t.Errorf("a deputy makes a deputy: %s", got.text)
	}
	b.clock.Set(b.clock.Now().AddDate(0, 0, 6))
	if got := b.press(crew, "queue:order:1:2"); !strings.Contains(got.text, "quartermaster's step") {
		t.Errorf("after its end: %s", got.text)
	}
	if got := b.say(lead, "queue 1"); !strings.Contains(got.text, "taken, "+m.Name+", acting quartermaster") {
		t.Errorf("signed, later: %s", got.text)
	}
	for text, want := range map[string]string{
		"who is acting": "Nobody acts",
		m.Name + " is acting lead until 2029-01-01": "within 92 days",
		"acting lead": "Who is it?",
	} {
		if got := b.say(lead, text); !strings.Contains(got.text, want) {
			t.Errorf("%q: %s", text, got.text)
		}
	}
}
