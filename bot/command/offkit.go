package command

import (
	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/understand"
)

// passOnRef is the ref of the button that passes on what is not the kit's.
const passOnRef = "pass"

// notMine says whose desk a saw or a radio is on, and offers to take the message
// there. The words wait in the conversation and nowhere else.
func (r *Request) notMine() Result {
	r.Memory.OffKit = r.Event.Text
	return Say(bot.SayNotMine.With().Say, bot.Button{Label: "Pass it on", Value: string(understand.None) + ":" + passOnRef})
}

// passOffKit brings the words to the officers.
func (r *Request) passOffKit() (Result, error) {
	words := r.Memory.OffKit
	if r.Ref != passOnRef || words == "" {
		return Result{}, bot.SayOldButton.With()
	}
	r.Memory.OffKit = ""
	entry := bot.NewEntry(noteKind, "off-kit", r.Who.Person, r.Now, note{Desk: "the officers", Text: words, Unit: r.Who.Unit})
	return Result{
		Posts: []Post{
			{Reply: bot.Reply{Text: "Passed on to the officers.", Buttons: []bot.Button{r.undoButton()}}},
			{To: Place{Use: department.OfficersChannel}, Reply: bot.Reply{Title: "Not the kit's, passed on", Text: words + "\nFrom " + r.asker() + "."}},
		},
		Changes: []bot.Change{bot.Written{Entry: entry}},
	}, nil
}
