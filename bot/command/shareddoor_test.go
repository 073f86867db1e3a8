package command_test

import (
	"strings"
	"testing"
	"time"

	"kitbell/bot/command"
	"kitbell/bot/department"
)

// A real door of one platoon reaches the other two as a drill once the lead has
// shared it, with what opened it as the answer and nothing of where, when or who.
func TestSharedDoor(t *testing.T) {
	b := newBench(t, command.UsedCommand(), command.SharedDoorCommand(), command.DrillCommand(), command.UndoCommand(), command.NoneCommand())
	lead := b.holder(department.Lead)
	crew := b.crewOf("engine-4", "B")
	if got := b.say(lead, "share a door").text; !strings.Contains(got, "is left to share") {
		t.Errorf("with none: %q", got)
	}
	b.say(crew, "used the latch film on a door, opens away, spring latch, opened, second try, lift assist, incident 26-004")
	b.say(crew, "that was practice")
	if got := b.say(lead, "share a door").text; !strings.Contains(got, "is left to share") {
		t.Errorf("a practice: %q", got)
	}
	b.say(crew, "used the latch film on a door, opens away, spring latch, opened, second try, lift assist, incident 26-004")
	if got := b.say(crew, "share a door"); len(got.buttons) > 0 || !strings.Contains(got.text, "lead") {
		t.Errorf("a member: %q", got.text)
	}
	page := b.say(lead, "share a door")
	if !strings.Contains(page.text, "opens away, spring latch. Opened by slip an inward door") || strings.Contains(page.text, "26-004") {
		t.Fatalf("the page: %q", page.text)
	}
	if got := b.press(lead, page.button(t, "Share 1")).text; !strings.HasPrefix(got, "Shared") {
		t.Fatalf("said %q", got)
	}
	if got := b.say(lead, "share a door").text; !strings.Contains(got, "is left to share") {
		t.Errorf("offered again: %q", got)
	}
	met := b.platoonsThatMeet(12 * 24 * time.Hour)
	if met["A"] == 0 || met["C"] == 0 || met["B"] > 0 || met["A"] != met["C"] {
		t.Errorf("met by platoon: %v", met)
	}
	entries, err := b.db.Entries(t.Context(), b.desk.Department.Slug, "drill-given", "", time.Time{})
	if err != nil || len(entries) == 0 {
		t.Fatalf("%d given, %v", len(entries), err)
	}
	asked := b.press(crew, "drill:show:"+entries[0].Subject)
	if !strings.Contains(asked.text, "A real door, met by another platoon") {
		t.Errorf("asked %q", asked.text)
	}
	worked := 0
	for _, o := range asked.buttons {
		if got := b.press(crew, o.Value).text; strings.Contains(got, "that is what opened it") {
			worked++
		}
	}
	if worked != 1 {
		t.Errorf("%d options are what opened it", worked)
	}
}

// A record whose way cannot be at its door is not offered, and the lead hears how
// many were left out and by which rule.
func TestSharedDoorThatCannotBe(t *testing.T) {
	b := newBench(t, command.UsedCommand(), command.SharedDoorCommand(), command.UndoCommand(), command.NoneCommand())
	crew, lead := b.crewOf("engine-4", "B"), b.holder(department.Lead)
	b.say(crew, "used the shove knife on a push door, spring latch, first try, no mark, opened")
	page := b.say(lead, "share a door")
	for _, want := range []string{"is left to share", "Left out: 1 door.", "slip an outward door at a door that is noted as opens away, spring latch", "swings away from you"} {
		if !strings.Contains(page.text, want) {
			t.Errorf("no %q in %q", want, page.text)
		}
	}
	b.say(crew, "used the latch film on a door, opens away, spring latch, opened, second try, no mark")
	page = b.say(lead, "share a door")
	if !strings.Contains(page.text, "1: opens away, spring latch. Opened by slip an inward door") || !strings.Contains(page.text, "Left out: 1 door.") || len(page.buttons) != 1 {
		t.Errorf("beside one that can be: %q, %v", page.text, page.buttons)
	}
}

// A door that the lead has taken back makes no post, empty or other; one that the
// department forbids meanwhile neither.
func TestSharedDoorTakenBack(t *testing.T) {
	for _, row := range []struct {
		name string
		back func(b *bench, share said)
	}{
		{"undone", func(b *bench, share said) { b.press(b.holder(department.Lead), share.button(b.t, "Undo")) }},
		{"forbidden", func(b *bench, _ said) {
			d := *b.desk.Department
			d.Forbids = []string{"slip-inward"}
			b.desk.Department = &d
		}},
	} {
		t.Run(row.name, func(t *testing.T) {
			b := newBench(t, command.UsedCommand(), command.SharedDoorCommand(), command.DrillCommand(), command.UndoCommand(), command.NoneCommand())
			b.say(b.crewOf("engine-4", "B"), "used the latch film on a door, opens away, spring latch, opened, second try, lift assist")
			lead := b.holder(department.Lead)
			row.back(b, b.press(lead, b.say(lead, "share a door").button(t, "Share 1")))
			if met := b.platoonsThatMeet(12 * 24 * time.Hour); len(met) > 0 {
				t.Errorf("met by platoon: %v", met)
			}
			for at, posts := range b.days(12) {
				for _, p := range posts {
					if r := p.Message.Reply; len(r.Steps)+len(r.Fields)+len(r.Buttons) == 0 && r.Text == "" {
						t.Errorf("an empty post at %s: %+v", at, r)
					}
				}
			}
		})
	}
}

// platoonsThatMeet lets time go by and counts, by platoon, the posts that bring the
// real door.
func (b *bench) platoonsThatMeet(long time.Duration) map[string]int {
	b.t.Helper()
	met := make(map[string]int)
	b.bundler.Told = func(p command.Part) {
		if p.Kind == "drill" && strings.HasPrefix(p.Topic, "shared:") && p.Skipped == "" {
			met[p.Platoon]++
		}
	}
	for until := b.clock.Now().Add(long); b.clock.Now().Before(until); b.clock.Set(b.clock.Now().Add(30 * time.Minute)) {
		if _, err := b.bundler.Step(b.t.Context(), b.clock.Now()); err != nil {
			b.t.Fatal(err)
		}
	}
	return met
}
