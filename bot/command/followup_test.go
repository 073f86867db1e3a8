package command_test

import (
	"os"
	"slices"
	"strings"
	"testing"

	"kitbell/bot/command"
)

// askedTo gives the card that answered the second of two messages, "" for none.
func (b *bench) askedTo(channel, first, second string) (card, text string) {
	me := b.speaker("engine-4")
	var last said
	for _, words := range []string{first, second} {
		e := b.event(me, words)
		e.Where.Channel = channel
		last = b.handle(e)
	}
	for _, button := range last.buttons {
		if id, ok := strings.CutPrefix(button.Value, "ask:more:"); ok {
			return id, last.text
		}
	}
	return "", last.text
}

// Two messages in one thread: the first is answered, the second leans on it, or
// does not. Columns: first, second, cards that are right; NONE is no card.
func TestFollowUps(t *testing.T) {
	b := newBench(t, append(queueCommands(), command.DoorCommand(), command.KitCommand(), command.DutyCommand(), command.HelpCommand(nil))...)
	for file, floor := range map[string]float64{"own.tsv": 0.9, "fresh.tsv": 1} {
		data, err := os.ReadFile("../../testdata/followups/" + file)
		if err != nil {
			t.Fatal(err)
		}
		right, all := 0, 0
		for i, line := range strings.Split(strings.TrimSpace(string(data)), "\n")[1:] {
			cells := strings.Split(line, "\t")
			if len(cells) != 3 {
				t.Fatalf("%s: %q", file, line)
			}
			all++
			card, text := b.askedTo(file+string(rune('a'+i)), cells[0], cells[1])
			if card == "" {
				card = "NONE"
			}
			if slices.Contains(strings.Split(cells[2], ","), card) {
				right++
			} else {
				t.Logf("%q, %q: %s, want %s (%.60q)", cells[0], cells[1], card, cells[2], text)
			}
		}
		share := float64(right) / float64(all)
		t.Logf("%s: %d of %d right, %.1f %%", file, right, all, 100*share)
		if share < floor {
			t.Errorf("%s fell below its floor of %.2f", file, floor)
		}
	}
}

// What leans on nothing is asked about, and not answered from chance.
func TestFollowUpOfNothing(t *testing.T) {
	for _, text := range []string{"what if", "and if it", "the other one", "and then"} {
		b := newBench(t, queueCommands()...)
		if got := b.say(b.speaker("engine-4"), text).text; !strings.Contains(got, "Which one do you mean?") {
			t.Errorf("%q: %s", text, got)
		}
	}
}
