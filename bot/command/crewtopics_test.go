package command_test

import (
	"strings"
	"testing"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
)

// topicsBench is a bench on which a crew of Engine 4 B has answered a drill.
func topicsBench(t *testing.T) (b *bench, officer, member bot.Speaker) {
	t.Helper()
	b = newBench(t, command.DrillCommand(), command.CrewTopicsCommand(), command.KitCommand(), command.NoneCommand(), command.UndoCommand())
	member = b.crewOf("engine-4", "B")
	for _, m := range b.desk.Department.Members {
		if m.Unit == "engine-4" && m.Platoon == "B" && m.Has(department.Officer) {
			officer = bot.Speaker{ID: m.ID, Member: m.ID}
		}
	}
	b.press(member, b.say(member, "give us a drill").button(t, "Struggled"))
	return b, officer, member
}

// A member sees their own answers and nobody else's; no role sees more.
func TestMyAnswers(t *testing.T) {
	b, officer, member := topicsBench(t)
	for _, words := range []string{"my answers", "my drills", "My last answers?", "what did I answer", "my drill history"} {
		got := b.say(member, words)
		if !got.posts[0].Reply.Private || !strings.Contains(got.text, "slip an inward door, by hand: struggled") || len(got.outcome.Turn.Changes) > 0 {
			t.Errorf("%s: %q", words, got.text)
		}
	}
	for _, other := range []bot.Speaker{officer, b.holder(department.Lead), b.holder(department.Training), b.crewOf("engine-3", "B")} {
		if got := b.say(other, "my answers"); !strings.Contains(got.text, "answered no drill yet") || strings.Contains(got.text, "struggled") {
			t.Errorf("%s: %q", other.ID, got.text)
		}
	}
}

// An officer sees the own crew by topic, the weakest first, with an estimate, and
// no member's name or answer; the lead and the chief of training see any crew.
// Nothing here hands out a drill.
func TestCrewTopics(t *testing.T) {
	b, officer, member := topicsBench(t)
	lead, chief := b.holder(department.Lead), b.holder(department.Training)
	me, _ := b.desk.Department.Member(member.ID)
	const own, counts = "Crew topics: Engine 4 B", "Crew topics of "
	for _, row := range []struct {
		name string
		by   bot.Speaker
		say  string
		want string
	}{
		{"the own crew", officer, "crew topics", own},
		{"as people say it", officer, "how is our crew doing on drills?", own},
		{"shortly", officer, "how is our crew doing", own},
		{"what is weak", officer, "what is weak", own},
		{"what is weak on it", officer, "what is weak on our crew?", own},
		{"progress", officer, "drill progress", own},
		{"history", officer, "drill history", own},
		{"by the rig", officer, "how is E4 doing on drills", own},
		{"the own platoon", officer, "what does B platoon not know", own},
		{"another rig", officer, "how is E3 doing", "You see your own crew's topics"},
		{"another platoon", officer, "crew topics E4 C", "You see your own crew's topics"},
		{"a member", member, "crew topics", "How a crew stands is for its officers"},
		{"a crew to the lead", lead, "crew topics E4 B", own},
		{"a crew to the chief", chief, "how is E4 B doing", own},
		{"a rig to the lead", lead, "how is E4 doing", counts + "3 crews"},
		{"a platoon to the lead", lead, "what does A platoon not know?", counts + "11 crews"},
		{"all to the chief", chief, "crew topics", counts + "33 crews"},
	} {
		got := b.say(row.by, row.say)
		if !strings.Contains(got.text, row.want) || len(got.outcome.Turn.Changes) > 0 || !got.posts[0].Reply.Private {
			t.Errorf("%s: %q, %d changes", row.name, got.text, len(got.outcome.Turn.Changes))
		}
		if strings.Contains(got.text, me.Name) || strings.Contains(got.text, "struggled") {
			t.Errorf("%s tells of a member: %q", row.name, got.text)
		}
	}
	page := b.say(officer, "crew topics").text
	for _, want := range []string{"estimate", "Fading: slip an inward door: about 77% (estimate), last drilled Mon 23 Nov", "by hand"} {
		if !strings.Contains(page, want) {
			t.Errorf("no %q in %q", want, page)
		}
	}
	if strings.Index(page, "Not drilled yet") > strings.Index(page, "Fading:") {
		t.Errorf("not the weakest first: %q", page)
	}
}

// What the crew was given this tour is told to all, how it stands to an officer;
// a quiz that is still open keeps its topic to itself.
func TestDrillsOfTheTour(t *testing.T) {
	b, officer, member := topicsBench(t)
	for _, words := range []string{"our drills", "drills", "what drills did we get"} {
		got := b.say(member, words)
		if !strings.Contains(got.text, "slip an inward door, by hand: answered") || strings.Contains(got.text, "fading") || len(got.outcome.Turn.Changes) > 0 || got.button(t, "The next drill") == "" {
			t.Errorf("%s: %q", words, got.text)
		}
	}
	b.say(officer, "our drills").has(t, "The crew's topic now: fading, about 77% (estimate)")
	b.say(b.crewOf("engine-3", "B"), "our drills").has(t, "Your crew was given none yet")
	quiz := b.say(member, "quiz")
	for i := 0; !strings.HasPrefix(quiz.text, "Decide"); i++ {
		if i > 20 {
			t.Fatal("no decide drill in 20 tours")
		}
		b.press(member, quiz.button(t, "Got it"))
		b.clock.Set(b.clock.Now().AddDate(0, 0, 3))
		quiz = b.say(member, "quiz")
	}
	b.say(member, "drills").has(t, "a door to decide about, quiz: you have still to answer it")
	b.press(member, quiz.buttons[0].Value)
	if got := b.say(member, "drills").text; strings.Contains(got, "a door to decide about") {
		t.Errorf("answered: %q", got)
	}
}
