package command_test

import (
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/kit"
)

// queueCommands are those that the queue is worked with.
func queueCommands() []command.Command {
	return []command.Command{
		command.ReportCommand(), command.ResolvedCommand(), command.QueueCommand(), command.UndoCommand(),
		command.CheckCommand(), command.NoneCommand(), command.AskCommand(),
	}
}

// A report is confirmed in one line of at most 15 words with its number, is in
// the audit, and the same again joins it.
func TestReportIsOneLine(t *testing.T) {
	b := newBench(t, queueCommands()...)
	officer := b.speaker("engine-4")
	first := b.say(officer, "E4 is missing the small hook")
	if n := len(strings.Fields(first.text)); n > 15 || strings.Count(strings.TrimSpace(first.text), "\n") > 0 {
		t.Errorf("confirmed in %d words: %s", n, first.text)
	}
	if !strings.Contains(first.text, "#1 ") {
		t.Errorf("no number: %s", first.text)
	}
	second := b.say(officer, "E4 is missing the small hook")
	if !strings.Contains(second.text, "#1 ") || !strings.Contains(second.text, "reported 2 times") {
		t.Errorf("the same again: %s", second.text)
	}
	open, err := b.db.OpenLines(t.Context(), b.desk.Department.Slug)
	if err != nil || len(open) != 1 || open[0].Reports != 2 {
		t.Errorf("open lines: %+v, %v", open, err)
	}
	if rows, err := b.db.VerifyAudit(t.Context(), b.desk.Department.Slug); err != nil || rows < 2 {
		t.Errorf("the audit has %d sound rows, %v", rows, err)
	}
}

// Whatever several crews report at the same time, an item of a kit has one open
// line and every report is counted.
func TestReportsAtTheSameTime(t *testing.T) {
	b := newBench(t, queueCommands()...)
	const crews = 24
	events := make([]bot.Event, crews)
	for i := range events {
		events[i] = b.event(bot.Speaker{ID: fmt.Sprint("p", i)}, "E4 strap is missing")
		events[i].Where.Channel = fmt.Sprint("channel-", i)
	}
	var all sync.WaitGroup
	for _, e := range events {
		all.Go(func() {
			if _, err := b.intake.Now(t.Context(), e); err != nil {
				t.Errorf("%s: %v", e.ID, err)
			}
		})
	}
	all.Wait()
	open, err := b.db.OpenLines(t.Context(), b.desk.Department.Slug)
	if err != nil || len(open) != 1 || open[0].Reports != crews {
		t.Errorf("open lines %+v, %v; want one with %d reports", open, err, crews)
	}
}

// Undo works for five minutes, for one's own, once, and while nobody has worked
// on the line.
func TestUndo(t *testing.T) {
	mine, other := "engine-4", "ladder-1"
	for _, row := range []struct {
		name  string
		after func(b *bench)
		who   string
		want  string
	}{
		{"at once", func(*bench) {}, mine, "Undone"},
		{"after five minutes", func(b *bench) { b.clock.Set(b.clock.Now().Add(kit.UndoFor)) }, mine, "Undone"},
		{"after six minutes", func(b *bench) { b.clock.Set(b.clock.Now().Add(6 * time.Minute)) }, mine, "Too late"},
		{"reported again meanwhile", func(b *bench) { b.say(b.speaker(other), "E4 strap missing") }, mine, "moved on"},
	} {
		t.Run(row.name, func(t *testing.T) {
			b := newBench(t, queueCommands()...)
			button := b.say(b.speaker(mine), "E4 strap missing").button(t, "Undo")
			row.after(b)
			if got := b.press(b.speaker(row.who), button).text; !strings.Contains(got, row.want) {
				t.Errorf("said %q, want %q", got, row.want)
			}
		})
	}
}

func TestUndoTwiceAndOfOthers(t *testing.T) {
	b := newBench(t, queueCommands()...)
	button := b.say(bot.Speaker{ID: "a"}, "E4 strap missing").button(t, "Undo")
	if got := b.press(bot.Speaker{ID: "b"}, button).text; !strings.Contains(got, "Only the person") {
		t.Errorf("somebody else's undo: %q", got)
	}
	if got := b.press(bot.Speaker{ID: "a"}, button).text; !strings.Contains(got, "Undone") {
		t.Errorf("the first undo: %q", got)
	}
	if got := b.press(bot.Speaker{ID: "a"}, button).text; !strings.Contains(got, "undone already") {
		t.Errorf("the second undo: %q", got)
	}
	if open, err := b.db.OpenLines(t.Context(), b.desk.Department.Slug); err != nil || len(open) > 0 {
		t.Errorf("still open: %+v, %v", open, err)
	}
}

// A closing cannot be undone once the same thing was reported anew.
func TestUndoOfAClosing(t *testing.T) {
	b := newBench(t, queueCommands()...)
	officer := b.speaker("engine-4")
	b.say(officer, "E4 strap missing")
	button := b.say(officer, "found the strap").button(t, "Undo")
	b.say(officer, "E4 strap missing")
	if got := b.press(officer, button).text; !strings.Contains(got, "reported again since") {
		t.Errorf("said %q", got)
	}
}

// A question back is answered in the same conversation, for half an hour.
func TestAskBackLastsHalfAnHour(t *testing.T) {
	for _, row := range []struct {
		name  string
		after time.Duration
		lines int
	}{{"at once", 0, 1}, {"after 29 minutes", 29 * time.Minute, 1}, {"after 31 minutes", 31 * time.Minute, 0}} {
		t.Run(row.name, func(t *testing.T) {
			b := newBench(t, queueCommands()...)
			anon := bot.Speaker{ID: "a"}
			if got := b.say(anon, "the strap is missing"); !strings.Contains(got.text, "Whose kit") {
				t.Fatalf("asked %q", got.text)
			}
			b.clock.Set(b.clock.Now().Add(row.after))
			b.say(anon, "engine 4")
			open, err := b.db.OpenLines(t.Context(), b.desk.Department.Slug)
			if err != nil || len(open) != row.lines {
				t.Errorf("%d lines, %v; want %d", len(open), err, row.lines)
			}
		})
	}
}

// A check button counts for its tour only.
func TestCheckButtonOfAnotherTour(t *testing.T) {
	b := newBench(t, queueCommands()...)
	for range 2 { // the first step begins the entries, an hour later the check is due
		if _, err := b.bundler.Step(t.Context(), b.clock.Now()); err != nil {
			t.Fatal(err)
		}
		b.clock.Set(b.clock.Now().Add(time.Hour))
	}
	b.clock.Set(b.clock.Now().Add(-time.Hour))
	value := ""
	for _, item := range send(t, b.db, b.clock.Now()) {
		for _, button := range item.Message.Reply.Buttons {
			if strings.HasPrefix(button.Label, "Engine 4") {
				value = button.Value
			}
		}
	}
	if value == "" || len(value) > bot.MaxButtonValue {
		t.Fatalf("button value %q", value)
	}
	if got := b.press(b.speaker("engine-4"), value).text; !strings.Contains(got, "all there") {
		t.Errorf("said %q", got)
	}
	b.clock.Set(b.clock.Now().AddDate(0, 0, 4))
	if got := b.press(b.speaker("engine-4"), value).text; !strings.Contains(got, "had its day") || !strings.Contains(got, "Engine 4 kit: all there") {
		t.Errorf("four days later it said %q", got)
	}
	checks, err := b.db.Entries(t.Context(), b.desk.Department.Slug, "check", "engine-4", time.Time{})
	if err != nil || len(checks) != 1 {
		t.Errorf("%d checks on record, %v; want 1", len(checks), err)
	}
}

// What no card answers is kept for the lead; banter in a channel gets silence.
func TestUnansweredAndBanter(t *testing.T) {
	b := newBench(t, queueCommands()...)
	officer := b.speaker("engine-4")
	if got := b.say(officer, "how do we cut into a bank vault").text; !strings.Contains(got, "no card on that") {
		t.Errorf("said %q", got)
	}
	kept, err := b.db.Entries(t.Context(), b.desk.Department.Slug, "unanswered", "", time.Time{})
	if err != nil || len(kept) != 1 {
		t.Errorf("%d questions kept, %v; want 1", len(kept), err)
	}
	e := b.event(officer, "thanks, see you at dinner")
	e.Direct = false
	if got := b.handle(e); len(got.posts) > 0 {
		t.Errorf("banter got %q", got.text)
	}
}

// A press that no button of ours has keeps nothing and warns nobody.
func TestPressedNote(t *testing.T) {
	b := newBench(t, command.TaskBookCommand())
	got := b.press(b.speaker("engine-4"), "stop-use:now")
	if !strings.Contains(got.text, "had its day") || len(got.posts) != 1 || len(got.outcome.Turn.Changes) > 0 {
		t.Errorf("said %q, %d posts, %d changes", got.text, len(got.posts), len(got.outcome.Turn.Changes))
	}
}
