package command_test

import (
	"fmt"
	"slices"
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
	for _, want := range []string{"Roll-out begun: latch film", "See it: https://clips.example.org/film\n", "It replaces: reach strip", "Task, ten minutes: Drill: film on an inward door"} {
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
	if got := b.press(officer, "roll-out:sign:latch-film").text; !strings.Contains(got, "Nobody waits for your word") {
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

// The lead and the chief of training confirm anybody who tapped, another officer
// the only officer of a crew; nobody themselves. So everybody can be confirmed.
func TestRollOutReachesEverybody(t *testing.T) {
	b := newBench(t, command.RollOutCommand(), command.UndoCommand())
	lead := b.holder(department.Lead)
	had := b.say(lead, "roll out the latch film").buttonOf(t, "Hands on it")
	var all []bot.Speaker
	var other bot.Speaker
	for _, m := range b.desk.Department.Members {
		if m.Unit == "" || m.Has(department.Guest) {
			continue
		}
		s := bot.Speaker{ID: m.ID, Member: m.ID}
		if all = append(all, s); m.Has(department.Officer) && m.ID != lead.ID && !m.May(department.Training) && !(m.Unit == "engine-4" && m.Platoon == "B") {
			other = s
		}
		b.press(s, had)
	}
	only := b.crewOf("engine-4", "B")
	for _, m := range b.desk.Department.Members {
		if m.Unit == "engine-4" && m.Platoon == "B" && m.May(department.Officer) {
			only = bot.Speaker{ID: m.ID, Member: m.ID}
		}
	}
	me, _ := b.desk.Department.Member(only.ID)
	if got := b.press(only, "roll-out:one:latch-film:"+only.ID).text; !strings.Contains(got, "Nobody waits") {
		t.Errorf("for oneself: %q", got)
	}
	page := b.say(other, "roll-out")
	if !page.posts[0].Reply.Private || !strings.Contains(page.text, "Waiting for your word: ") || !strings.Contains(page.text, me.Name) {
		t.Errorf("an officer sees %q", page.text)
	}
	if got := b.press(other, "roll-out:one:latch-film:"+only.ID).text; !strings.HasPrefix(got, "Confirmed, hands on the latch film: "+me.Name) {
		t.Errorf("another officer: %q", got)
	}
	crew := b.crewOf("engine-3", "C")
	if got := b.press(other, "roll-out:one:latch-film:"+crew.ID).text; !strings.Contains(got, "Nobody waits") {
		t.Errorf("a crew that is not theirs: %q", got)
	}
	b.press(lead, b.say(lead, "roll-out").buttonOf(t, "Confirm 139 who tapped"))
	if got := b.say(lead, "roll-out").text; strings.Contains(got, "Waiting for your word") {
		t.Errorf("the lead sees %q", got)
	}
	b.press(other, "roll-out:one:latch-film:"+lead.ID)
	if got := b.say(lead, "roll-out").text; !strings.Contains(got, fmt.Sprintf("%d of %d members confirmed.", len(all), len(all))) || len(all) != 141 {
		t.Errorf("%d tapped: %q", len(all), got)
	}
}

// Who taps after the page was read is not vouched for.
func TestRollOutConfirmsWhoWasSeen(t *testing.T) {
	b := newBench(t, command.RollOutCommand(), command.UndoCommand())
	lead := b.holder(department.Lead)
	had := b.say(lead, "roll out the latch film").buttonOf(t, "Hands on it")
	b.press(b.crewOf("engine-4", "B"), had)
	sign := b.say(lead, "roll-out").buttonOf(t, "Confirm 1 who tapped")
	b.press(b.crewOf("engine-3", "C"), had)
	b.press(lead, sign)
	b.say(lead, "roll-out").has(t, "1 of 141 members confirmed, 1 tapped and not confirmed")
}

// The tap of somebody on leave is theirs and opens nothing for the crew.
func TestRollOutAway(t *testing.T) {
	for _, row := range []struct {
		status department.Status
		words  string
	}{{department.OnLeave, "on leave"}, {department.OnDetail, "on detail"}, {department.LightDuty, "on light duty"}} {
		t.Run(string(row.status), func(t *testing.T) {
			b := newBench(t, command.RollOutCommand(), command.DoorCommand(), command.UndoCommand(), command.NoneCommand())
			d := *b.desk.Department
			d.Members = slices.Clone(d.Members)
			away, crew := bot.Speaker{}, bot.Speaker{}
			for i, m := range d.Members {
				switch {
				case m.Unit != "engine-4" || m.Platoon != "B" || m.May(department.Officer):
				case away.ID == "":
					away = bot.Speaker{ID: m.ID, Member: m.ID}
					d.Members[i].Status = row.status
				default:
					crew = bot.Speaker{ID: m.ID, Member: m.ID}
				}
			}
			b.desk.Department = &d
			b.say(b.holder(department.Lead), "roll out the latch film")
			got := b.press(away, "roll-out:had:latch-film").text
			if !strings.Contains(got, "Noted for you: hands on the latch film. You are "+row.words) || b.usesFilm(crew) {
				t.Errorf("said %q", got)
			}
			b.press(away, "roll-out:had:latch-film").has(t, "already")
			b.press(crew, "roll-out:had:latch-film").has(t, "Plans of Engine 4 B may use it")
			if !b.usesFilm(crew) {
				t.Error("one at work opens nothing")
			}
		})
	}
}

// Every station is told to do a task only where there is one: the lead's own, a
// drill about a technique that takes the tool, or that technique's card.
func TestRollOutTask(t *testing.T) {
	for _, row := range []struct{ name, say, task, button string }{
		{"a drill about it", "roll out the latch film", "Task, ten minutes: Drill: film on an inward door", "Show the task"},
		{"a technique's card", "roll out the fork", "Task, ten minutes: With the card at hand, on a practice door: turn the inside thumbturn", "Show the card"},
		{"no drill that is about choosing", "roll out the steel wedge", "Task, ten minutes: With the card at hand, on a practice door: spread, least mark first", "Show the card"},
		{"the lead's own", "roll out the fork; task: open the practice door with the film twice", "Task, ten minutes: Open the practice door with the film twice", "Show the card"},
	} {
		t.Run(row.name, func(t *testing.T) {
			b := newBench(t, command.RollOutCommand(), command.AskCommand(), command.NoneCommand(), command.UsedCommand(), command.DoorCommand())
			got := b.say(b.holder(department.Lead), row.say)
			if n := strings.Count(got.text, "Roll-out begun"); n != 1 {
				t.Errorf("%d begun: %q", n, got.text)
			}
			post := got.posts[len(got.posts)-1].Reply.Plain()
			if !strings.Contains(post, row.task) || !strings.Contains(post, "do the task") {
				t.Errorf("posted %q", post)
			}
			b.press(b.speaker("engine-4"), got.buttonOf(t, row.button)).has(t, "Source")
		})
	}
}

// A tool that nobody knows is named as unknown, a tap may be typed, and crews that
// nobody rides on do not count.
func TestRollOutSaid(t *testing.T) {
	b := newBench(t, command.RollOutCommand(), command.UndoCommand(), command.MoveCommand(), command.NoneCommand())
	d := *b.desk.Department
	d.Members = slices.DeleteFunc(slices.Clone(d.Members), func(m department.Member) bool { return m.Unit == "engine-1" && m.Platoon == "A" })
	b.desk.Department = &d
	lead, crew := b.holder(department.Lead), b.crewOf("engine-4", "B")
	b.say(lead, "roll out the unicorn").has(t, "I know no tool called unicorn")
	b.say(crew, "hands on it").has(t, "No tool is being rolled out now")
	b.say(lead, "roll out the fork")
	b.say(lead, "roll-out").has(t, "0 of 32 crews")
	b.say(crew, "Hands on it.").has(t, "Noted: hands on the thumbturn fork")
	b.say(lead, "roll out the latch film")
	which := b.say(b.crewOf("engine-3", "B"), "had hands on it")
	which.has(t, "Which tool did you have in hand?")
	b.press(b.crewOf("engine-3", "B"), which.button(t, "Hands on the latch film")).has(t, "Noted: hands on the latch film")
	b.say(b.crewOf("engine-2", "B"), "had my hands on the fork").has(t, "Noted: hands on the thumbturn fork")
	b.say(crew, "hands on the shove knife").has(t, "is not being rolled out")
}
