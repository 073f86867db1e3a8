package command_test

import (
	"strings"
	"testing"

	"kitbell/bot/command"
)

// Only a tag that is said to be whole is a check; all else is looked into.
func TestSealNeedsIntact(t *testing.T) {
	b := newBench(t, command.SealCommand(), command.CheckCommand())
	from := b.speaker("engine-1")
	for text, want := range map[string]string{
		"E1 tag 004501 intact":      "all there",
		"E1 tag 004501 broken":      "check every line now",
		"E1 tag 004501 not intact":  "check every line now",
		"E1 tag 004599 intact":      "check every line now",
		"E1 tag 004501":             "Is tag 004501 whole?",
		"E1 tag 004501 I think":     "Is tag 004501 whole?",
		"E1 checked":                "Was everything on Engine 1 there",
		"E1 checked, not all there": "something is off",
	} {
		if got := b.say(from, text); !strings.Contains(got.text, want) {
			t.Errorf("%q: %s, want %q", text, got.text, want)
		}
	}
	asked := b.say(from, "E1 tag 004501")
	if got := b.press(from, asked.button(t, "Whole")); !strings.Contains(got.text, "all there") {
		t.Errorf("whole: %s", got.text)
	}
	if got := b.press(from, asked.button(t, "Broken")); !strings.Contains(got.text, "check every line now") {
		t.Errorf("broken: %s", got.text)
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
