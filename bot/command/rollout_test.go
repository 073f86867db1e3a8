package command_test

import (
	"testing"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
)

// Only the lead begins and ends a roll-out. A crew's plans leave the tool out
// until somebody of that crew has had it in hand.
func TestRollOut(t *testing.T) {
	b := newBench(t, command.RollOutCommand(), command.DoorCommand(), command.UndoCommand(), command.NoneCommand())
	lead, four, three := b.holder(department.Lead), b.speaker("engine-4"), b.speaker("engine-3")
	b.say(four, "roll out the latch film").has(t, "The lead begins one")
	if !b.usesFilm(four) {
		t.Error("a crew's word alone took the film out of the plans")
	}
	b.say(lead, "roll out the latch film").has(t, "Roll-out begun")
	if b.usesFilm(four) || b.usesFilm(three) {
		t.Error("planned with before anybody had it")
	}
	b.press(four, "roll-out:had:latch-film").has(t, "Plans of Engine 4")
	b.press(four, "roll-out:had:latch-film").has(t, "already")
	if !b.usesFilm(four) || b.usesFilm(three) {
		t.Error("only the crew that had it may plan with it")
	}
	b.press(four, "roll-out:finish:latch-film").has(t, "lead's word")
	b.press(lead, "roll-out:finish:latch-film").has(t, "finished")
	if !b.usesFilm(three) {
		t.Error("finished, and still held back")
	}
	b.press(four, "roll-out:had:latch-film").has(t, bot.SayRollOutOver.With().Say)
	b.press(bot.Speaker{ID: "nobody"}, "roll-out:had:latch-film").has(t, bot.SayRollOutOver.With().Say)
}
