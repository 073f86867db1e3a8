package command_test

import (
	"testing"

	"kitbell/bot/door"
	"kitbell/bot/understand"
)

// The cards are a second opinion on what a message is for, and only there: who
// stands at a door, reports or records is not answered with a card instead.
func TestCardsSettleWhatWordsLeaveOpen(t *testing.T) {
	b := newBench(t, queueCommands()...)
	running := door.Facts{Swing: door.SwingOut, Lock: door.LockSpringLatch}
	atDoor := understand.Context{Unit: "engine-4", Memory: understand.Memory{Door: &running}}
	for _, row := range []struct {
		name, text string
		context    understand.Context
		want       understand.Intent
	}{
		{"a word of the trade is no door", "How can you tell from the hallway which way it opens?", understand.Context{}, understand.Ask},
		{"words that no rule knows", "backset and stile, meaning", understand.Context{}, understand.Ask},
		{"tools and no deed", "strap and the chock", understand.Context{}, understand.Ask},
		{"thanks are no question", "appreciate it", understand.Context{}, understand.None},
		{"a whole door", "pull door, latch in plain sight, no plate", understand.Context{}, understand.Door},
		{"somebody is down", "she is on the floor and does not answer, door locked", understand.Context{}, understand.Door},
		{"a report", "E4 strap missing", understand.Context{}, understand.Report},
		{"a question while a door runs", "how thick is a narrow stile", atDoor, understand.Ask},
		{"two locks side by side", "magnet or electric strike, how do I tell", understand.Context{}, understand.Ask},
		{"two tools side by side", "air wedge instead of the pry bar", understand.Context{}, understand.Ask},
		{"a record of nothing", "break glass or force the door", understand.Context{}, understand.Ask},
		{"news of the running door", "no plate, swings in", atDoor, understand.Door},
	} {
		t.Run(row.name, func(t *testing.T) {
			if got := b.desk.Read(row.text, row.context).Intent; got != row.want {
				t.Errorf("%q: %s, want %s", row.text, got, row.want)
			}
		})
	}
}
