package command_test

import (
	"strings"
	"testing"

	"kitbell/bot"
	"kitbell/bot/department"
)

// pressOn presses a button on a message of the platform's.
func (b *bench) pressOn(from bot.Speaker, value, message string) said {
	b.t.Helper()
	e := b.event(from, "")
	e.Kind, e.Press, e.On = bot.Pressed, value, message
	return b.handle(e)
}

// A press on a message about one line changes that message, where the platform
// can; on a message about more it does not.
func TestPressChangesItsMessage(t *testing.T) {
	edits := func(string) bool { return true }
	for _, row := range []struct {
		name    string
		edits   func(string) bool
		message string
		press   func(b *bench, crew, qm bot.Speaker) (bot.Speaker, string)
		want    bool
	}{
		{"a step below the line's history", edits, "m1", func(b *bench, _, qm bot.Speaker) (bot.Speaker, string) {
			return qm, b.press(qm, "queue:see:1").button(b.t, "Take it")
		}, true},
		{"the next step below that", edits, "m1", func(b *bench, _, qm bot.Speaker) (bot.Speaker, string) {
			taken := b.pressOn(qm, b.press(qm, "queue:see:1").button(b.t, "Take it"), "m1")
			return qm, taken.button(b.t, "Ordered")
		}, true},
		{"an answer below the report", edits, "m1", func(b *bench, crew, _ bot.Speaker) (bot.Speaker, string) {
			return crew, b.say(crew, "E4 is missing the fork").button(b.t, "Left on scene")
		}, true},
		{"an answer below a report of two lines", edits, "m1", func(b *bench, crew, _ bot.Speaker) (bot.Speaker, string) {
			b.say(crew, "E4 is missing the fork")
			return crew, "queue:where:2:1:scene"
		}, false},
		{"a button of a check", edits, "m1", func(b *bench, crew, qm bot.Speaker) (bot.Speaker, string) {
			for _, label := range []string{"Take it", "In hand", "Dropped off"} {
				b.press(qm, b.press(qm, "queue:see:1").button(b.t, label))
			}
			return crew, b.say(crew, "E4 checked all there").button(b.t, "#1 in the kit")
		}, false},
		{"a platform that changes nothing", func(string) bool { return false }, "m1", func(b *bench, _, qm bot.Speaker) (bot.Speaker, string) {
			return qm, b.press(qm, "queue:see:1").button(b.t, "Take it")
		}, false},
		{"a message that only one person saw", edits, "", func(b *bench, _, qm bot.Speaker) (bot.Speaker, string) {
			return qm, b.press(qm, "queue:see:1").button(b.t, "Take it")
		}, false},
	} {
		t.Run(row.name, func(t *testing.T) {
			b := newBench(t, working()...)
			b.router.Edits = row.edits
			crew, qm := b.crewOf("engine-4", "B"), b.holder(department.Quartermaster)
			b.say(crew, "E4 pair door hook is bent")
			who, value := row.press(b, crew, qm)
			got := b.pressOn(who, value, row.message)
			out := got.outcome.Turn
			if len(out.Changes) == 0 || len(out.Posts) == 0 {
				t.Fatalf("said %q, %d changes", got.text, len(out.Changes))
			}
			if edit := out.Posts[0].Edit; (edit != nil) != row.want || edit != nil && (edit.ID != row.message || edit.Address != out.Posts[0].To) {
				t.Errorf("edit %+v, want one: %v", edit, row.want)
			}
		})
	}
}

// An old message whose line has moved on says so and is brought up to date, with
// the steps that are next now; a press that was refused changes no message.
func TestOldPressRefreshesItsMessage(t *testing.T) {
	b := newBench(t, working()...)
	b.router.Edits = func(string) bool { return true }
	crew, qm := b.crewOf("engine-4", "B"), b.holder(department.Quartermaster)
	b.say(crew, "E4 pair door hook is bent")
	take := b.press(qm, "queue:see:1").button(t, "Take it")
	refused := b.pressOn(crew, take, "m1")
	if !strings.Contains(refused.text, "quartermaster's step") || refused.outcome.Turn.Posts[0].Edit != nil {
		t.Errorf("refused: %q, %+v", refused.text, refused.outcome.Turn.Posts)
	}
	b.pressOn(qm, take, "m1")
	old := b.pressOn(crew, take, "m2")
	if posts := old.outcome.Turn.Posts; !strings.Contains(old.text, "so already: taken") || len(posts) != 2 || posts[0].Edit == nil || posts[0].Edit.ID != "m2" ||
		!strings.Contains(posts[0].Reply.Text, "Engine 4: pair-door hook damaged. Taken") || !posts[1].Reply.Private || posts[1].Edit != nil {
		t.Errorf("the old message: %q, %+v", old.text, posts)
	}
	if b.pressOn(qm, old.button(t, "Ordered"), "m2"); b.line(1).State != "ordered" {
		t.Errorf("its new button: %+v", b.line(1))
	}
}
