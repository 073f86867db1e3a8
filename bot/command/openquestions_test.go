package command_test

import (
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
)

// A question is counted in all its wordings, leaves the list when the lead
// settles it, and comes back when it is asked again.
func TestOpenQuestions(t *testing.T) {
	b := newBench(t, command.AskCommand(), command.OpenQuestionsCommand(), command.UndoCommand(), command.NoneCommand())
	lead, crew := b.holder(department.Lead), b.speaker("engine-4")
	b.say(lead, "unanswered").has(t, "Every question of the last 90 days")
	b.say(crew, "how do we open a bank vault")
	b.say(crew, "how do we open the bank vault?")
	b.say(crew, "unanswered").has(t, "for the lead")

	list := b.say(lead, "unanswered")
	list.has(t, "1 question in 90 days", "asked 2 times")
	list.hasNot(t, b.desk.Department.Members[0].Name)
	see := list.button(t, "Question 1")
	gone := b.press(lead, see).button(t, "Not for us")
	b.press(crew, gone).has(t, "for the lead")
	b.press(lead, gone).has(t, "Settled")
	b.press(lead, gone).has(t, bot.SayQuestionGone.With().Say)
	b.say(lead, "what could nobody answer").has(t, "Every question")

	b.clock.Set(b.clock.Now().Add(time.Hour))
	b.say(crew, "how do we open the bank vault")
	b.say(lead, "unanswered").has(t, "1 question in 90 days")
}

// An answer that did not help is on the list with the card that gave it.
func TestPoorAnswerIsAnOpenQuestion(t *testing.T) {
	b := newBench(t, command.AskCommand(), command.OpenQuestionsCommand(), command.NoneCommand())
	lead, crew := b.holder(department.Lead), b.speaker("engine-4")
	b.press(crew, b.say(crew, "how do I slip an inward door").button(t, "This didn't help"))
	list := b.say(lead, "unanswered")
	list.has(t, "slip an inward door, which did not help")
	b.press(lead, b.press(lead, list.button(t, "Question 1")).button(t, "Slip an inward door answers it")).has(t, "Settled")
}
