package command_test

import (
	"strings"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
	"kitbell/bot/kit"
	"kitbell/schedule"
)

// working are the commands that a line meets on its way.
func working() []command.Command {
	return []command.Command{command.ReportCommand(), command.ResolvedCommand(), command.QueueCommand(), command.UndoCommand(), command.CheckCommand(), command.KitCommand()}
}

// crewOf is a member of a crew who is no officer.
func (b *bench) crewOf(unit, platoon string) bot.Speaker {
	for _, m := range b.desk.Department.Members {
		if m.Unit == unit && m.Platoon == platoon && !m.May(department.Officer) && m.Status == department.Working {
			return bot.Speaker{ID: m.ID, Member: m.ID}
		}
	}
	b.t.Fatalf("nobody on %s %s", unit, platoon)
	return bot.Speaker{}
}

func (b *bench) line(number int) kit.Line {
	b.t.Helper()
	l, err := b.db.Line(b.t.Context(), b.desk.Department.Slug, number)
	if err != nil {
		b.t.Fatal(err)
	}
	return l
}

// A line goes from hand to hand: the quartermaster takes, orders and drops it
// off; the crew closes it; everybody else is refused in a sentence.
func TestALineFromHandToHand(t *testing.T) {
	b := newBench(t, working()...)
	crew, qm := b.crewOf("engine-4", "B"), b.holder(department.Quartermaster)
	b.say(crew, "E4 pair door hook is bent")
	if got := b.press(crew, "queue:take:1:1"); !strings.Contains(got.text, "quartermaster's step") {
		t.Errorf("a crew takes a line: %s", got.text)
	}
	seen := b.press(qm, "queue:see:1")
	if !strings.Contains(seen.text, "annot do") {
		t.Errorf("what it costs is not said: %s", seen.text)
	}
	for _, label := range []string{"Take it", "Ordered", "In hand", "Dropped off"} {
		seen = b.press(qm, seen.button(t, label))
	}
	if l := b.line(1); l.State != kit.Dropped {
		t.Fatalf("after all steps: %+v", l)
	}
	if got := b.press(qm, "queue:in:1:5"); !strings.Contains(got.text, "crew closes") {
		t.Errorf("the quartermaster closes it: %s", got.text)
	}
	check := b.say(crew, "E4 checked all there")
	if !strings.Contains(check.text, "but for what is open") {
		t.Errorf("all there with an open line: %s", check.text)
	}
	b.press(crew, check.button(t, "#1 in the kit"))
	if l := b.line(1); l.State != kit.BackInKit {
		t.Errorf("closed by the crew: %+v", l)
	}
	history := b.say(crew, "queue 1")
	for _, want := range []string{"taken, ", "dropped off, ", "back in the kit, "} {
		if !strings.Contains(history.text, want) {
			t.Errorf("history lacks %q: %s", want, history.text)
		}
	}
	b.press(crew, history.button(t, "Reopen"))
	if l := b.line(1); l.State != kit.Reported || l.Version != 7 {
		t.Errorf("reopened: %+v", l)
	}
}

// Two who press the same button, and a button from long ago, have one outcome
// and a sentence.
func TestOldLineButtons(t *testing.T) {
	b := newBench(t, working()...)
	crew, qm := b.crewOf("engine-4", "B"), b.holder(department.Quartermaster)
	b.say(crew, "E4 pair door hook is bent")
	b.press(qm, "queue:take:1:1")
	for press, want := range map[string]string{
		"queue:take:1:1":      "so already: taken",
		"queue:order:1:1":     "has moved on since: taken",
		"queue:take:99:1":     "no line 99",
		"queue:take:x:1":      "had its day",
		"queue:take:1:x":      "had its day",
		"queue:fly:1:2":       "had its day",
		"queue:where:1:2:sea": "not about a missing thing",
	} {
		if got := b.press(qm, press); !strings.Contains(got.text, want) {
			t.Errorf("%s: %s, want %q", press, got.text, want)
		}
	}
	if l := b.line(1); l.Version != 2 {
		t.Errorf("version %d after one step", l.Version)
	}
}

func TestWhereDidItGo(t *testing.T) {
	b := newBench(t, working()...)
	crew := b.crewOf("engine-4", "B")
	asked := b.say(crew, "E4 is missing the fork")
	who := b.press(crew, asked.button(t, "Left on scene"))
	until := b.press(crew, who.button(t, "Quartermaster"))
	b.press(crew, until.button(t, "Tomorrow"))
	l := b.line(1)
	if l.Where != kit.OnScene || l.Fetch != "the quartermaster" || l.FetchBy.In(b.desk.Department.Zone).Format("Mon 15:04") != "Tue 00:00" {
		t.Errorf("%+v", l)
	}
	b.desk.Department = withoutEntries(b.desk.Department)
	if heard := b.heard(t, 2); len(heard) != 1 || !strings.Contains(heard[0], "the quartermaster was to fetch it by Tue 24 Nov") {
		t.Errorf("reminded: %q", heard)
	}
	lost := b.press(crew, b.say(crew, "E4 missing the under door lever").button(t, "Nobody knows"))
	off := lost.button(t, "Write it off (officer)")
	if got := b.press(crew, off); !strings.Contains(got.text, "officer's word") {
		t.Errorf("a member writes off: %s", got.text)
	}
	b.press(b.speaker("engine-4"), off)
	if l := b.line(2); l.Where != kit.WrittenOff || !l.State.Open() {
		t.Errorf("written off: %+v", l)
	}
	scene := b.say(crew, "E4 left the air wedge at the school")
	b.press(crew, scene.button(t, "Next crew"))
	if l := b.line(3); l.Where != kit.OnScene || l.Fetch != "the next crew" {
		t.Errorf("said to be on scene: %s: %+v", scene.text, l)
	}
	if got := b.say(crew, "E4 out of notched cards"); len(got.buttons) > 1 {
		t.Errorf("what is used up is asked after: %v", got.buttons)
	}
}

// Each station has one bag, and a tap notes what was in it and nothing else.
func TestBags(t *testing.T) {
	b := newBench(t, working()...)
	qm := b.holder(department.Quartermaster)
	inHand := func(unit, text string, number int) {
		b.say(b.speaker(unit), text)
		b.press(qm, "queue:hand:"+map[int]string{1: "1:1", 2: "2:1", 3: "3:1"}[number])
	}
	inHand("engine-4", "E4 pair door hook is bent", 1)
	inHand("ladder-4", "L4 fork is broken", 2)
	bags := b.say(qm, "bag list")
	if !strings.Contains(bags.text, "1. Station 4 Orchard Hill. Engine 4: 1 × pair-door hook (#1); Ladder 4: 1 × thumbturn fork (#2)") {
		t.Errorf("bags: %s", bags.text)
	}
	b.clock.Set(b.clock.Now().Add(time.Minute))
	inHand("engine-4", "E4 air wedge is leaking", 3)
	drop := bags.button(t, "Dropped off at 4 Orchard Hill")
	b.press(qm, drop)
	if one, two, three := b.line(1).State, b.line(2).State, b.line(3).State; one != kit.Dropped || two != kit.Dropped || three != kit.InHand {
		t.Errorf("dropped off: %s, %s, %s", one, two, three)
	}
	if got := b.press(qm, drop); !strings.Contains(got.text, "already") {
		t.Errorf("dropped off twice: %s", got.text)
	}
	if got := b.say(b.speaker("engine-4"), "bag list"); !strings.Contains(got.text, "quartermaster's step") {
		t.Errorf("somebody else's bags: %s", got.text)
	}
}

// The one who reported hears twice: when it is expected and when it is back, in
// the post of their own platoon.
func TestTheReporterHearsTwice(t *testing.T) {
	b := newBench(t, working()...)
	b.desk.Department = withoutEntries(b.desk.Department)
	crew, qm := b.crewOf("engine-4", "B"), b.holder(department.Quartermaster) // B is on, and C is next
	b.say(crew, "E4 pair door hook is bent")
	b.press(qm, "queue:hand:1:1")
	b.press(qm, "queue:drop:1:2")
	heard := b.heard(t, 2)
	if len(heard) != 1 || !strings.Contains(heard[0], "dropped off") {
		t.Fatalf("dropped off: %q", heard)
	}
	b.press(b.crewOf("engine-4", "C"), "queue:in:1:3")
	heard = b.heard(t, 8)
	if len(heard) != 1 || !strings.Contains(heard[0], "B platoon") || !strings.Contains(heard[0], "back in the kit. You reported it") {
		t.Errorf("back: %q", heard)
	}
}

// heard is what Engine 4's posts say in the next days.
func (b *bench) heard(t *testing.T, days int) []string {
	t.Helper()
	var all []string
	for _, items := range b.days(days) {
		for _, item := range items {
			if text := item.Message.Reply.Plain(); strings.HasPrefix(text, "Engine 4, ") && strings.Contains(text, "this tour") {
				all = append(all, text)
			}
		}
	}
	return all
}

func withoutEntries(d *department.Department) *department.Department {
	bare := *d
	bare.Entries = nil
	return &bare
}

// A check that nobody answers goes to the next two platoons as unknown, and then
// no further; one that was answered does not.
func TestAnUnansweredCheckComesAgain(t *testing.T) {
	for _, row := range []struct {
		name   string
		before string // said in the tour, before its post
		answer bool
		want   int // posts with a check, in twelve days
	}{
		{"nobody answers", "", false, 3}, {"answered at once", "", true, 1}, {"answered before the post", "E4 checked, all there", false, 0},
		{"put off before the post", "can't check E4 today", false, 2},
	} {
		t.Run(row.name, func(t *testing.T) {
			b := newBench(t, working()...)
			b.onlyCheck("engine-4")
			if row.before != "" {
				b.say(b.speaker("engine-4"), row.before)
			}
			checks := 0
			for range 12 {
				for _, text := range b.heard(t, 1) {
					if !strings.Contains(text, "Check the kit") {
						continue
					}
					if checks++; (checks > 1 || row.before != "") && !strings.Contains(text, "counts as unknown") {
						t.Errorf("again: %s", text)
					}
					if row.answer {
						b.say(b.speaker("engine-4"), "E4 checked, all there")
					}
				}
				b.desk.Department = withoutEntries(b.desk.Department)
			}
			if checks != row.want {
				t.Errorf("%d posts asked for the check, want %d", checks, row.want)
			}
		})
	}
}

// onlyCheck leaves of the department's entries one check, of one rig, that falls
// due within the day.
func (b *bench) onlyCheck(unit string) {
	b.t.Helper()
	cron, err := schedule.Parse("0 9 * * 1")
	if err != nil {
		b.t.Fatal(err)
	}
	d := *b.desk.Department
	d.Entries = []schedule.Entry{{ID: "check", Cron: cron, Kind: schedule.CheckDue, Units: []string{unit}, Zone: d.Zone}}
	b.desk.Department = &d
}

// A bare number may be a count, and another rig's line is not the speaker's:
// neither is closed unasked. What reports is a report, whatever else it says.
func TestWhatIsNotClosedUnasked(t *testing.T) {
	b := newBench(t, append(working(), command.ActingCommand(), command.TransferCommand(), command.PieceCommand(), command.MoveCommand())...)
	me, other := b.speaker("engine-4"), b.speaker("engine-3")
	b.say(me, "E4 fork is bent")
	for from, text := range map[bot.Speaker]string{me: "1 in the kit, 1 missing", other: "line 1 is in the kit"} {
		if got := b.say(from, text); !strings.Contains(got.text, "Is #1 back in the kit") || b.line(1).State != kit.Reported {
			t.Errorf("%q: %s", text, got.text)
		}
	}
	if b.say(me, "line 1 is in the kit"); b.line(1).State != kit.BackInKit {
		t.Errorf("its own crew, by its number: %+v", b.line(1))
	}
	b.say(me, "acting officer on E4: strap is torn")
	b.say(me, "E4 air wedge leaking, in service since 2024-01")
	if two, three := b.line(2), b.line(3); two.Item != "door-strap" || three.Item != "air-wedge" {
		t.Errorf("reports: %+v, %+v", two, three)
	}
	if got := b.say(me, "transferred kit 7 to E11"); !strings.Contains(got.text, "k07 is now on Engine 11") {
		t.Errorf("a kit, not a member: %s", got.text)
	}
}
