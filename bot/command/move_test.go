package command_test

import (
	"strings"
	"testing"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
	"kitbell/bot/kit"
)

func newMoveBench(t *testing.T) *bench {
	return newBench(t, command.MoveCommand(), command.KitCommand(), command.ReportCommand(), command.CheckCommand(), command.UndoCommand(), command.StopUseCommand())
}

// crewman is a member of a rig who is no officer.
func (b *bench) crewman(unit string) bot.Speaker {
	b.t.Helper()
	for _, m := range b.desk.Department.Members {
		if m.Unit == unit && m.Status == department.Working && !m.May(department.Officer) && !m.May(department.Quartermaster) {
			return bot.Speaker{ID: m.ID, Member: m.ID}
		}
	}
	b.t.Fatalf("%s has only officers", unit)
	return bot.Speaker{}
}

// kitOfReport is the kit that the line of an answer was booked on.
func kitOfReport(t *testing.T, s said) string {
	t.Helper()
	for _, c := range s.outcome.Turn.Changes {
		if line, ok := c.(kit.Change); ok {
			return line.New.Kit
		}
	}
	t.Fatalf("no line was booked: %q", s.text)
	return ""
}

func TestReportsFollowTheKit(t *testing.T) {
	b := newMoveBench(t)
	me := b.speaker("engine-4")
	b.say(me, "E4 to the shop, kit on E11")
	if got := kitOfReport(t, b.say(me, "E11 is missing the small hook")); got != "k06" {
		t.Errorf("booked on %s, want k06", got)
	}
	if got := b.say(me, "E4 is missing the film"); !strings.Contains(got.text, "carries no entry kit") {
		t.Errorf("a rig without its kit: %q", got.text)
	}
	b.say(me, "kit 7 to E11")
	if got := b.say(me, "E11 is missing the mirror"); !strings.Contains(got.text, "k06 and k07") || len(got.outcome.Turn.Changes) > 0 {
		t.Errorf("two kits on a rig: %q", got.text)
	}
	if got := kitOfReport(t, b.say(me, "kit k07 on E11 is missing the mirror")); got != "k07" {
		t.Errorf("booked on %s, want k07", got)
	}
}

func TestMovesThatAreRefused(t *testing.T) {
	for _, row := range []struct{ name, said, want string }{
		{"a kit that is not there", "kit 99 to E11", "There is no kit 99"},
		{"a rig that is not there", "kit 6 to E99", "I know no rig"},
		{"where it is", "kit 6 to E4", "is on Engine 4 already"},
	} {
		t.Run(row.name, func(t *testing.T) {
			b := newMoveBench(t)
			got := b.say(b.speaker("engine-4"), row.said)
			if !strings.Contains(got.text, row.want) || len(got.outcome.Turn.Changes) > 0 {
				t.Errorf("%q got %q, %d changes", row.said, got.text, len(got.outcome.Turn.Changes))
			}
		})
	}
}

// A crew member's word waits for an officer's press; the second press is told,
// and one from before the kit went elsewhere is an old one.
func TestMoveWaitsForTheOfficer(t *testing.T) {
	b := newMoveBench(t)
	asked := b.say(b.crewman("engine-4"), "kit 6 to E11")
	if len(asked.buttons) != 1 || len(asked.outcome.Turn.Changes) > 0 {
		t.Fatalf("asked: %q, %d buttons", asked.text, len(asked.buttons))
	}
	press := asked.buttons[0].Value
	if len(press) > 64 {
		t.Errorf("button of %d bytes", len(press))
	}
	if got := b.press(b.crewman("engine-4"), press); len(got.outcome.Turn.Changes) > 0 {
		t.Errorf("a crew member's press moved it: %q", got.text)
	}
	for _, row := range []struct{ before, want string }{
		{"", "Kit k06 is now on Engine 11"},
		{"", "Kit k06 is on Engine 11 already"},
		{"kit 6 stays on the shelf at Station 2", "had its day"},
	} {
		if row.before != "" {
			b.say(b.speaker("engine-4"), row.before)
		}
		if got := b.press(b.speaker("engine-1"), press); !strings.Contains(got.text, row.want) {
			t.Errorf("after %q the press got %q, want %q", row.before, got.text, row.want)
		}
	}
}

func TestUndoBringsAKitBack(t *testing.T) {
	b := newMoveBench(t)
	me := b.speaker("engine-4")
	b.say(me, "kit 6 to E11")
	b.say(me, "undo")
	if got := kitOfReport(t, b.say(me, "E4 is missing the small hook")); got != "k06" {
		t.Errorf("booked on %s, want k06", got)
	}
}

// What was checked was the kit, so its last check rides along with it.
func TestLastCheckFollowsTheKit(t *testing.T) {
	b := newMoveBench(t)
	me := b.speaker("engine-4")
	b.say(me, "E4 checked, all there")
	b.say(me, "kit 6 to E11")
	if got := b.say(me, "kit E11"); !strings.Contains(got.text, "all there, ") {
		t.Errorf("kit E11: %q", got.text)
	}
}

// A bad tool is looked for where the kit is now, not where the file has it.
func TestStopUseFollowsTheKit(t *testing.T) {
	b := newMoveBench(t)
	b.say(b.speaker("engine-4"), "kit 6 to E11")
	got := b.say(b.holder(department.Lead), "stop-use: every small hook, the tip cracks")
	asked := map[string]string{}
	for _, p := range got.posts {
		for _, button := range p.Reply.Buttons {
			asked[button.Label] = p.To.Station
		}
	}
	if station, ok := asked["Engine 11"]; !ok || station != "station-7" {
		t.Errorf("Engine 11 is asked at %q (%v): %q", station, ok, got.text)
	}
	if _, ok := asked["Engine 4"]; ok {
		t.Error("Engine 4 is asked for a kit that it does not carry")
	}
}

// A rig that is out of service keeps its kit where it is, and nobody else's kit
// goes to it.
func TestOutOfServiceMovesNoKit(t *testing.T) {
	b := newBench(t, append(working(), command.MoveCommand())...)
	got := b.say(b.speaker("engine-6"), "E4 out of service")
	if !strings.Contains(got.text, "no check this tour") || !strings.Contains(got.text, "Does the kit ride elsewhere?") {
		t.Error(got.text)
	}
	for _, c := range got.outcome.Turn.Changes {
		if c.Record().Verb == "kit-moved-written" {
			t.Errorf("moved: %+v", c.Record())
		}
	}
}
