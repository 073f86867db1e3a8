package command_test

import (
	"strings"
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
	asked := b.press(lead, "roll-out:finish:latch-film")
	asked.has(t, "Not had it in hand: 32 of 33 crews", "Not confirmed: 141 of 141 members")
	if b.usesFilm(three) {
		t.Error("asked once more, and finished already")
	}
	b.press(lead, asked.button(t, "Yes, finish it")).has(t, "finished")
	if !b.usesFilm(three) {
		t.Error("finished, and still held back")
	}
	b.press(four, "roll-out:had:latch-film").has(t, bot.SayRollOutOver.With().Say)
	b.press(bot.Speaker{ID: "nobody"}, "roll-out:had:latch-film").has(t, bot.SayRollOutOver.With().Say)
}

// A roll-out does not lift a stop-use, and says so.
func TestRollOutUnderStopUse(t *testing.T) {
	b := newBench(t, command.RollOutCommand(), command.StopUseCommand(), command.NoneCommand())
	lead, four := b.holder(department.Lead), b.speaker("engine-4")
	b.say(lead, "stop using the latch films")
	begun := b.say(lead, "roll out the latch film")
	begun.has(t, "Roll-out begun")
	if !strings.Contains(begun.postTo(t, department.StationChannel).text, "Do not use it") {
		t.Error("the stations' post does not tell of the stop-use")
	}
	b.press(four, "roll-out:had:latch-film").has(t, "under stop-use: plans leave it out")
}
