package command_test

import (
	"testing"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
	"kitbell/knowledge"
)

// newAdoptBench is a department that has adopted nothing yet.
func newAdoptBench(t *testing.T) *bench {
	b := newBench(t, command.AskCommand(), command.DoorCommand(), command.AdoptCommand(), command.UndoCommand(), command.NoneCommand())
	desk := *b.desk
	desk.AdoptsAll = false
	*b.desk = desk
	return b
}

// holder is a member with exactly this role.
func (b *bench) holder(role department.Role) bot.Speaker {
	b.t.Helper()
	for _, m := range b.desk.Department.Members {
		if m.Has(role) {
			return bot.Speaker{ID: m.ID, Member: m.ID}
		}
	}
	b.t.Fatalf("nobody is %s", role)
	return bot.Speaker{}
}

const inward = "push door, latch, knob, welfare check"

// Nothing is adopted until the chief of training says so; then all is, and undo
// takes it back whole.
func TestAdoptAll(t *testing.T) {
	b := newAdoptBench(t)
	chief, officer := b.holder(department.Training), b.speaker("engine-4")
	b.say(officer, inward).has(t, "Not adopted here: ")
	b.say(officer, "how do I slip an inward door").has(t, "Not adopted here: the chief of training")
	b.say(officer, "adopt all cards").has(t, "adopted by the chief of training")

	ask := b.say(chief, "adopt all cards")
	button := ask.button(t, "Adopt 119")
	b.press(officer, button).has(t, "adopted by the chief of training")
	b.press(chief, button).has(t, "Adopted: 119 cards")
	b.press(chief, button).has(t, "Every card is adopted already")
	b.say(officer, "new door, "+inward).hasNot(t, "Not adopted here")
	b.say(officer, "how do I slip an inward door").hasNot(t, "Not adopted here")

	b.say(chief, "undo")
	b.say(officer, "how do I slip an inward door").has(t, "Not adopted here")
}

// A card counts as adopted in the version that was read, and no other.
func TestChangedCardNeedsTheWordAgain(t *testing.T) {
	b := newAdoptBench(t)
	chief := b.holder(department.Training)
	b.say(chief, "adopt card slip-inward").has(t, "Adopted: Slip an inward door")
	b.say(chief, "adopt the card slip an inward door").has(t, "adopted already")
	b.say(chief, "how do I slip an inward door").hasNot(t, "adopted here")

	shelf := b.desk.Cards.(command.Shelf)
	old, _ := shelf.Card("slip-inward")
	changed := *old
	changed.Version = "another"
	cards := []*knowledge.Card{&changed}
	for _, c := range shelf.All() {
		if c.ID != changed.ID {
			cards = append(cards, c)
		}
	}
	desk := *b.desk
	desk.Cards = command.Shelf{Library: knowledge.NewLibrary(cards), Index: shelf.Index}
	*b.desk = desk
	b.say(chief, "how do I slip an inward door").has(t, "Changed since it was adopted here")
	b.say(chief, "set aside slip-inward").has(t, "Set aside: Slip an inward door")
	b.say(chief, "how do I slip an inward door").has(t, "Not adopted here")
}

// A button of a week ago adopts nothing that came since.
func TestAdoptButtonGrowsOld(t *testing.T) {
	b := newAdoptBench(t)
	chief := b.holder(department.Training)
	button := b.say(chief, "adopt everything").button(t, "Adopt 119")
	b.say(chief, "adopt card slip-inward")
	b.press(chief, button).has(t, bot.SayOldAdoption.With("118 cards").Say)
	b.say(chief, "what is not adopted").has(t, "118 of 119 cards")
	b.say(chief, "adopt card nothing-like-it").has(t, "no card called nothing-like-it")
}

// What the department forbids shows its cautions and no steps.
func TestForbiddenCard(t *testing.T) {
	b := newAdoptBench(t)
	dept := *b.desk.Department
	dept.Forbids = []string{"through-the-lock"}
	desk := *b.desk
	desk.Department, desk.AdoptsAll = &dept, true
	*b.desk = desk
	card := b.say(b.speaker("engine-4"), "how do I go through the lock")
	card.has(t, "Not used here: the department forbids it.")
	card.has(t, "Caution")
	card.has(t, "Here it is ")
	card.hasNot(t, "1. ")
	drawing := b.press(b.speaker("engine-4"), "ask:draw:through-the-lock")
	drawing.has(t, "Not used here: the department forbids it.")
	drawing.hasNot(t, "Picture: ")
	b.say(b.holder(department.Training), "adopt card through-the-lock").has(t, "forbids")
}
