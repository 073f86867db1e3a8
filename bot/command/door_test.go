package command_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
)

func newDoorBench(t *testing.T) *bench {
	t.Helper()
	return newBench(t, command.DoorCommand(), command.UsedCommand(), command.KitCommand(), command.ReportCommand(), command.UndoCommand(), command.NoneCommand())
}

// member is the n-th member of a rig's crew.
func (b *bench) member(unit string, n int) bot.Speaker {
	for _, m := range b.desk.Department.Members {
		if m.Unit != unit || m.Status != department.Working {
			continue
		}
		if n == 0 {
			return bot.Speaker{ID: m.ID, Member: m.ID}
		}
		n--
	}
	b.t.Fatalf("%s has no such member", unit)
	return bot.Speaker{}
}

func (s said) line(t *testing.T, name string) string {
	t.Helper()
	for line := range strings.Lines(s.text) {
		if rest, ok := strings.CutPrefix(line, name+": "); ok {
			return strings.TrimSpace(rest)
		}
	}
	t.Fatalf("no line %q in:\n%s", name, s.text)
	return ""
}

func (s said) has(t *testing.T, words ...string) {
	t.Helper()
	for _, w := range words {
		if !strings.Contains(s.text, w) {
			t.Errorf("want %q in:\n%s", w, s.text)
		}
	}
}

func (s said) hasNot(t *testing.T, words ...string) {
	t.Helper()
	for _, w := range words {
		if strings.Contains(s.text, w) {
			t.Errorf("want no %q in:\n%s", w, s.text)
		}
	}
}

// step is the first numbered line.
func (s said) step(t *testing.T) string { return s.after(t, "1. ") }

func (s said) after(t *testing.T, prefix string) string {
	t.Helper()
	for line := range strings.Lines(s.text) {
		if rest, ok := strings.CutPrefix(line, prefix); ok {
			return strings.TrimSpace(rest)
		}
	}
	t.Fatalf("no line %q in:\n%s", prefix, s.text)
	return ""
}

func TestThreeTapsToTheFirstInstruction(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	first := b.press(me, command.StandingButton().Value)
	for _, swing := range []string{"Toward you", "Away", "Can't tell"} {
		second := b.press(me, first.button(t, swing))
		for _, hold := range []string{"Latch", "Guard plate", "Bolt", "Glass", "Room guard", "Don't know"} {
			t.Run(swing+", "+hold, func(t *testing.T) {
				plan := b.press(me, second.button(t, hold))
				step := plan.step(t)
				if n := len(strings.Fields(step)); n > 12 {
					t.Errorf("%d words: %s", n, step)
				}
				for _, line := range []string{"Caution", "Stop", "Then", "I understood"} {
					plan.line(t, line)
				}
				for i, label := range []string{"Opened", "Not yet", "Somebody's down"} {
					if plan.buttons[i].Label != label {
						t.Errorf("button %d is %q, want %q", i+1, plan.buttons[i].Label, label)
					}
				}
			})
		}
	}
}

func TestButtonsFit(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	for _, text := range []string{"door", "pull door, plate over the latch", "push door with a guard plate, latch"} {
		all := b.say(me, text)
		fix := b.say(me, "fix")
		for _, button := range slices.Concat(all.buttons, fix.buttons) {
			if len(button.Value) > bot.MaxButtonValue {
				t.Errorf("%s: %d bytes", button.Value, len(button.Value))
			}
		}
	}
}

func TestSomebodyIsDown(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	asked := b.press(me, command.StandingButton().Value)
	plan := b.press(me, asked.button(t, "Somebody's down"))
	plan.has(t, "Life at stake")
	if step := plan.step(t); !strings.Contains(step, "irons") {
		t.Errorf("first step: %s", step)
	}
	plan.hasNot(t, "Look:")
}

// A call that is over, with a life at stake said before, is asked about in words
// that a person would use.
func TestOverOrALifeIsAskedInWords(t *testing.T) {
	b := newDoorBench(t)
	four := b.speaker("engine-4")
	b.say(four, "push door, latch, she is not breathing")
	b.say(four, "stand down, call is over").button(t, "Call is not over")
}

func TestCorrectedByAWord(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	b.say(me, "pull door, latch, tight gap")
	plan := b.say(me, "no, it swings in")
	if got := plan.line(t, "I understood"); !strings.HasPrefix(got, "opens away") || !strings.Contains(got, "(not: opens toward you)") {
		t.Errorf("understood: %s", got)
	}
}

// What is another door and what is the same one, told by words alone.
func TestSameDoorOrAnother(t *testing.T) {
	for _, row := range []struct{ name, says, understood string }{
		{"one more fact", "it has a lever", "opens toward you, spring latch, no guard plate, lever inside"},
		{"a correction", "no, it's a push door", "opens away, spring latch, no guard plate (not: opens toward you)"},
		{"a long correction", "actually it's a push door with a deadbolt, and a lever", "opens away, deadbolt"},
		{"a whole door", "push door, lever, big gap under it", "opens away, room under the door, lever inside"},
		{"what this one is not", "magnet at the head of the door, motion sensor inside", "magnet, motion sensor inside"},
	} {
		t.Run(row.name, func(t *testing.T) {
			b := newDoorBench(t)
			me := b.speaker("engine-4")
			b.say(me, "pull door, latch in plain sight, no plate, lift assist")
			if got := b.say(me, row.says).line(t, "I understood"); !strings.HasPrefix(got, row.understood) {
				t.Errorf("understood %q, want %q", got, row.understood)
			}
		})
	}
}

// At a door, what is told of it is about it; a question is for the cards, and a
// report that names a rig is a report.
func TestWordsAtADoor(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	first := b.say(me, "pull door, latch in plain sight, no plate, lift assist")
	failed := b.say(me, "the blade did not work")
	if failed.step(t) == first.step(t) {
		t.Errorf("the same step again: %s", failed.step(t))
	}
	b.say(me, "E4 strap missing").has(t, "door strap missing")
	for _, word := range []string{"why", "draw it", "fix", "can't tell", "force now", "opened"} {
		if got := b.say(me, word); got.text == "" {
			t.Errorf("%q gets no answer", word)
		}
	}
	if got := b.say(me, "why"); strings.Contains(got.text, "Why this order") {
		t.Error("why without a door still speaks of one")
	}
}

func TestOpenDoorIsKeptOpen(t *testing.T) {
	b := newDoorBench(t)
	open := b.say(b.speaker("engine-4"), "the door stands open, nobody on it")
	open.has(t, "It is open: keep it open while you work.")
	open.hasNot(t, "right address")
}

func TestCorrectedByAButton(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	b.say(me, "pull door, latch, tight gap")
	which := b.say(me, "fix")
	values := b.press(me, which.button(t, "Opens toward you"))
	plan := b.press(me, values.button(t, "Opens away"))
	plan.has(t, "opens away", "(not: opens toward you)")
	unknown := b.press(me, values.button(t, "Can't tell"))
	if got := unknown.line(t, "I understood"); strings.Contains(got, "opens away,") || strings.HasPrefix(got, "opens") {
		t.Errorf("still knows the swing: %s", got)
	}
}

func TestContradictionIsAskedAndSettled(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	plan := b.say(me, "push door, guard plate over the latch")
	plan.line(t, "Which is it")
	settled := b.press(me, plan.button(t, "Opens away"))
	settled.hasNot(t, "Which is it", "guard plate")
}

func TestNotYetChangesThePlanOnce(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	first := b.say(me, "pull door, latch in plain sight, no plate, lift assist")
	button := first.button(t, "Not yet")
	second := b.press(me, button)
	if first.step(t) == second.step(t) {
		t.Errorf("the same step again: %s", second.step(t))
	}
	again := b.press(me, button)
	if again.step(t) != second.step(t) {
		t.Errorf("an old button counted a second failure: %s", again.step(t))
	}
}

func TestWhatCouldNotBeToldIsNotAskedAgain(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	plan := b.say(me, "pull door, plate over the latch")
	question := plan.line(t, "Look")
	plan = b.say(me, "can't tell")
	plan.hasNot(t, question)
}

func TestPastTheTimeAtTheDoor(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	b.say(me, "pull door, latch in plain sight, no plate, lift assist")
	b.clock.Set(b.clock.Now().Add(9 * time.Minute))
	plan := b.say(me, "not yet")
	if got := plan.line(t, "Officer"); got != "9 minutes at this door. Force now?" {
		t.Errorf("officer: %s", got)
	}
	forced := b.press(me, plan.button(t, "Force now"))
	forced.has(t, "On your officer's order: force it.")
	if step := forced.step(t); !strings.Contains(step, "irons") {
		t.Errorf("first step: %s", step)
	}
}

func TestMissingToolNamesWhoHasIt(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	b.say(me, "E4 thick shim missing")
	plan := b.say(me, "pull door, plate over the latch, lift assist")
	plan.has(t, "thick latch shim (thin latch shim stands in)")
	b.say(me, "Ladder 4 film missing, both")
	b.say(me, "E4 film missing, both")
	b.say(me, "door")
	b.press(me, "door:at:away")
	plan = b.press(me, "door:at:away:latch")
	plan.has(t, "latch film (Engine 1 has one)")
	b.say(me, "why").has(t, "Engine 1 has the latch film.")
}

func TestForbiddenIsNamed(t *testing.T) {
	b := newDoorBench(t)
	dept := *b.desk.Department
	dept.Forbids = []string{"through-the-lock"}
	b.desk.Department = &dept
	me := b.speaker("engine-4")
	plan := b.say(me, "push door, deadbolt")
	plan.hasNot(t, "cylinder")
	b.say(me, "why").has(t, "Go through the lock: Not used here: the department forbids it.")
}

func TestDrawingOfThisDoor(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	plan := b.say(me, "pull door, plate over the latch, lift assist")
	picture := b.press(me, plan.button(t, "Draw it")).posts[0].Reply.Pictures[0]
	if len(picture.Scene) > 64 || !strings.Contains(picture.Alt, "toward you") {
		t.Errorf("picture: %+v", picture)
	}
	if png, err := b.desk.Draw(picture.Scene); err != nil || len(png) == 0 {
		t.Errorf("draw %s: %v", picture.Scene, err)
	}
	for _, bad := range []string{"door:", "door:zzz", "door:" + strings.Repeat("z", 19), "door:" + strings.Repeat("-", 19) + ":nothing+else"} {
		if _, err := b.desk.Draw(bad); err == nil && !strings.Contains(bad, "nothing") {
			t.Errorf("%s was drawn", bad)
		}
	}
}

func TestGuestGetsNoPlan(t *testing.T) {
	b := newDoorBench(t)
	for _, m := range b.desk.Department.Members {
		if m.Has(department.Guest) {
			b.press(bot.Speaker{ID: m.ID, Member: m.ID}, command.StandingButton().Value).has(t, bot.SayNoTechnique.With().Say)
			return
		}
	}
	t.Skip("the demo has no guest")
}

func TestOldButtons(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	old := b.say(me, "pull door, latch in plain sight, no plate").button(t, "Opened")
	b.clock.Set(b.clock.Now().Add(time.Minute))
	b.say(me, "push door, deadbolt, lever inside, welfare check")
	b.press(me, old).has(t, bot.SayDoorOther.With("08:31").Say)
	for _, bad := range []string{"door:", "door:set:swing=up", "door:set:colour=red", "door:at:up", "door:at:toward:rope", "door:fix:colour", "door:dance"} {
		t.Run(bad, func(t *testing.T) { b.press(me, bad).has(t, bot.SayOldButton.With().Say) })
	}
	b.clock.Set(b.clock.Now().Add(time.Hour))
	b.press(me, "door:why").has(t, bot.SayDoorOver.With().Say)
}

func TestNotYetChangesTheSameMessage(t *testing.T) {
	b := newDoorBench(t)
	ref := bot.MessageRef{ID: "m1"}
	var asked []string
	b.router.Sent = func(_ context.Context, _, _, key string) (bot.MessageRef, error) {
		asked = append(asked, key)
		return ref, nil
	}
	me := b.speaker("engine-4")
	plan := b.say(me, "pull door, latch in plain sight, no plate")
	if post := plan.outcome.Turn.Posts[0]; post.Edit != nil {
		t.Errorf("a first plan changes a message: %v", post.Edit)
	}
	shown := plan.outcome.Turn.Posts[0].Key
	plan = b.press(me, plan.button(t, "Not yet"))
	if post := plan.outcome.Turn.Posts[0]; post.Edit == nil || *post.Edit != ref || !slices.Contains(asked, shown) {
		t.Errorf("edit %v, asked for %v", post.Edit, asked)
	}
	b.router.Sent = func(context.Context, string, string, string) (bot.MessageRef, error) {
		return bot.MessageRef{}, fmt.Errorf("find: %w", bot.ErrNotFound)
	}
	plan = b.press(me, plan.button(t, "Not yet"))
	if post := plan.outcome.Turn.Posts[0]; post.Edit != nil {
		t.Errorf("changes a message that is not there: %v", post.Edit)
	}
}

// Whatever a scene key holds, it is drawn or refused; it never panics.
func FuzzDrawDoor(f *testing.F) {
	for _, seed := range []string{"door:acb-----------------", "door:-------------------:shove-knife+air-wedge", "door:", "card:x", "door:\x00:+++"} {
		f.Add(seed)
	}
	desk := command.Desk{Cards: command.Shelf{}}
	f.Fuzz(func(t *testing.T, key string) {
		if !strings.HasPrefix(key, "door:") {
			return
		}
		png, err := desk.Draw(key)
		if (err == nil) != (len(png) > 0) {
			t.Errorf("%q: %d bytes, %v", key, len(png), err)
		}
	})
}

// Words of a door without a door start none by themselves, and are not lost.
func TestWordsOfNoDoor(t *testing.T) {
	for _, text := range []string{"didn't go", "force now", "it's open", "no good next", "why"} {
		b := newDoorBench(t)
		asked := b.say(b.speaker("engine-4"), text)
		asked.has(t, "No door is being worked on")
		b.press(b.speaker("engine-4"), asked.button(t, "DOOR")).has(t, "Which way does it open?")
	}
}

// What is said of the person takes a life at stake back, and what is said of
// smoke does not; a danger stays above every plan of that door.
func TestLifeIsTakenBackByWordsAboutThePersonOnly(t *testing.T) {
	for text, back := range map[string]bool{
		"he is fine now":                true,
		"nobody is down":                true,
		"she answered us, she is okay":  true,
		"no smoke showing":              false,
		"he is not fine":                false,
		"owner is fine with forcing it": false,
		"is he ok?":                     false,
		"he says she is not breathing":  false,
		"not yet":                       false,
	} {
		b := newDoorBench(t)
		me := b.speaker("engine-4")
		b.say(me, "push door, latch, somebody is down behind it")
		got := b.say(me, text)
		if said := strings.Contains(got.text, "Taken back: no life at stake"); said != back {
			t.Errorf("%q: %s", text, got.text)
		}
		if again := b.say(me, "somebody's down"); !strings.Contains(again.text, "Life at stake") {
			t.Errorf("%q, then down again: %s", text, again.text)
		}
	}
}

func TestADangerStandsAboveEveryPlan(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	for _, text := range []string{"push door, latch, shots fired inside", "not yet", "door has a plate"} {
		if got := b.say(me, text); !strings.HasPrefix(got.text, "A weapon or a threat") {
			t.Errorf("%q: %s", text, got.text)
		}
	}
}
