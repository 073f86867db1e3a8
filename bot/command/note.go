package command

import (
	"context"
	"fmt"

	"kitbell/bot"
	"kitbell/bot/understand"
)

// passOn are the things a crew may ask that the bot cannot act on by itself
// yet: it keeps them for the person whose desk it is and says so.
func passOn() map[understand.Intent]string {
	return map[understand.Intent]string{
		understand.SignOff: "the chief of training",
	}
}

// note is the body of a note to somebody's desk.
type note struct {
	Desk string `json:"desk"`
	Text string `json:"text"`
	Unit string `json:"unit,omitempty"`
}

// PassOnCommands keep a note for the person whose desk it is.
func PassOnCommands() []Command {
	var out []Command
	for _, intent := range []understand.Intent{
		understand.SignOff,
	} {
		out = append(out, Command{
			Name: string(intent),
			Run:  func(_ context.Context, r *Request) (Result, error) { return r.keepNote(intent) },
		})
	}
	return out
}

// keepNote keeps the message's words. It has no buttons, so a press is none of
// its own and would keep nothing.
func (r *Request) keepNote(intent understand.Intent) (Result, error) {
	if r.Verb != "" {
		return Result{}, bot.SayOldButton.With()
	}
	desk := passOn()[intent]
	entry := bot.NewEntry(noteKind, string(intent), r.Who.Person, r.Now, note{Desk: desk, Text: r.Event.Text, Unit: r.Who.Unit})
	text := fmt.Sprintf("Noted for %s. I cannot act on it by myself yet, so speak to them if it is urgent.", desk)
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: entry}},
	}, nil
}

// asker names who speaks for people who read it elsewhere.
func (r *Request) asker() string {
	name := r.Who.Member.Name
	if name == "" {
		name = "a crew member"
	}
	if r.Who.Unit != "" {
		name += ", " + r.unitName(r.Who.Unit)
	}
	return name
}
