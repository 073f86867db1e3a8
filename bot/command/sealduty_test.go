package command_test

import (
	"strings"
	"testing"

	"kitbell/bot/command"
)

// Only a tag that is said to be whole is a check; all else is looked into, and
// what is broken or another is unknown from then on, whatever was said before.
func TestSealNeedsIntact(t *testing.T) {
	const everyLine, unknown = "Go through every line", "Last check: unknown"
	for text, want := range map[string][2]string{
		"E1 tag 004501 intact":      {"all there", "Last check: all there, by tag 004501"},
		"E1 tag 004501 broken":      {everyLine, unknown},
		"E1 tag 004501 not intact":  {everyLine, unknown},
		"E1 tag 004599 intact":      {everyLine, unknown},
		"E1 tag 004501":             {"Is tag 004501 whole?", unknown},
		"E1 tag 004501 I think":     {"Is tag 004501 whole?", unknown},
		"E1 checked":                {everyLine, unknown},
		"E1 checked, not all there": {"something is off", "Last check: something is off"},
	} {
		t.Run(text, func(t *testing.T) {
			b := newBench(t, command.SealCommand(), command.CheckCommand(), command.KitCommand())
			from := b.speaker("engine-1")
			if got := b.say(from, text); !strings.Contains(got.text, want[0]) {
				t.Errorf("%s, want %q", got.text, want[0])
			}
			if got := b.say(from, "kit E1"); !strings.Contains(got.text, want[1]) {
				t.Errorf("its kit: %s, want %q", got.text, want[1])
			}
		})
	}
}

func TestSealButtons(t *testing.T) {
	for label, want := range map[string]string{"Whole": "all there", "Broken": "Go through every line"} {
		b := newBench(t, command.SealCommand(), command.CheckCommand())
		from := b.speaker("engine-1")
		asked := b.say(from, "E1 tag 004501")
		if got := b.press(from, asked.button(t, label)); !strings.Contains(got.text, want) {
			t.Errorf("%s: %s, want %q", label, got.text, want)
		}
	}
}

// A broken tag, then a full check, then the new tag: only then does a tag vouch
// for the kit again, and it is the new one.
func TestANewTagNeedsAFullCheck(t *testing.T) {
	b := newBench(t, command.SealCommand(), command.CheckCommand(), command.KitCommand(), command.UndoCommand())
	from := b.speaker("engine-1")
	open := b.say(from, "E1 tag 004501 broken")
	if got := b.say(from, "E1 tag 004501 intact"); !strings.Contains(got.text, "vouches for nothing") {
		t.Errorf("the broken tag, whole again: %s", got.text)
	}
	full := b.press(from, open.button(t, "Every line is there"))
	if !strings.Contains(full.text, "new tag") {
		t.Errorf("full check: %s", full.text)
	}
	if got := b.press(from, b.say(from, "E1 new tag 004502").button(t, "Yes, every line")); !strings.Contains(got.text, "is on kit k02") {
		t.Errorf("another kit's tag: %s", got.text)
	}
	sealed := b.press(from, b.say(from, "E1 new tag 004700").button(t, "Yes, every line"))
	if !strings.Contains(sealed.text, "Tag 004700 is on record") {
		t.Errorf("new tag: %s", sealed.text)
	}
	if got := b.say(from, "kit E1"); !strings.Contains(got.text, "Seal: 004700\n") {
		t.Errorf("its kit: %s", got.text)
	}
	if got := b.say(from, "E1 tag 004700 intact"); !strings.Contains(got.text, "all there, by tag 004700") {
		t.Errorf("next check: %s", got.text)
	}
	if got := b.say(from, "undo"); !strings.Contains(got.text, "Undone") {
		t.Errorf("undo: %s", got.text)
	}
}

// It is Monday the 23rd of November 2026 at the bench.
func TestDutyOnADate(t *testing.T) {
	b := newBench(t, command.DutyCommand())
	from := b.speaker("engine-4")
	year, month, day := monday(b.desk.Department).Date()
	if year != 2026 || month != 11 || day != 23 {
		t.Fatalf("the bench's day is %d-%d-%d", year, month, day)
	}
	for text, want := range map[string]string{
		"who's on Dec 25": "Fri 25 Dec", "who's on 12/25": "Fri 25 Dec", "who's on november 2": "Tue 2 Nov", "who's on the day after tomorrow": "Wed 25 Nov",
		"who's on in three days": "Thu 26 Nov", "who's on monday": "Mon 23 Nov", "who's on next monday": "Mon 30 Nov", "who's on feb 29": "Tue 29 Feb",
		"who's on thanksgiving": "Which day do you mean", "who's on feb 30": "Which day do you mean", "when is D back": "There is no D platoon",
	} {
		if got := b.say(from, text); !strings.Contains(got.text, want) {
			t.Errorf("%q: %s, want %q", text, got.text, want)
		}
	}
}
