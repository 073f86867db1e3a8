package command

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/understand"
)

// The journal's words for what people ask of the programme.
const (
	wishKind       = "wish"
	noteKind       = "note"
	unansweredKind = "unanswered"
)

// wish is the body of a wish: what for, in the asker's words, and why.
type wish struct {
	For    string `json:"for"`
	Reason string `json:"reason,omitempty"`
	Unit   string `json:"unit,omitempty"`
}

// WishCommand records what a crew would like the kit to have.
func WishCommand() Command {
	return Command{
		Name:    string(understand.Wish),
		Usage:   "we should carry a second film, because one tears",
		Summary: "Wish for something in the kit. The lead sees it with your reason.",
		Run:     recordWish,
	}
}

func recordWish(ctx context.Context, r *Request) (Result, error) {
	subject, words := r.wished()
	if words == "" {
		return Say("What should the kit have, and why? Say it like this: we should carry a second film, because one tears."), nil
	}
	others, err := r.Books.Entries(ctx, r.Department.Slug, wishKind, subject, r.Now.AddDate(-1, 0, 0))
	if err != nil {
		return Result{}, fmt.Errorf("read wishes: %w", err)
	}
	text := fmt.Sprintf("Wish noted: %s.", words)
	if len(others) > 0 {
		text += fmt.Sprintf(" %s asked for it before you.", plural(len(others), "other"))
	}
	if r.Reading.Reason == "" {
		text += " Why? A reason helps the lead."
	}
	entry := bot.NewEntry(wishKind, subject, r.Who.Person, r.Now, wish{For: words, Reason: r.Reading.Reason, Unit: r.Who.Unit})
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: entry}},
	}, nil
}

// wished is what the wish is about: a known item, under which equal wishes
// join, or the words themselves.
func (r *Request) wished() (subject, words string) {
	words = strings.TrimSpace(r.Reading.WishFor)
	if len(r.Reading.Items) > 0 {
		subject = r.Reading.Items[0]
		if words == "" {
			words = r.itemName(subject)
		}
		return subject, words
	}
	return strings.ToLower(words), words
}

// passOn are the things a crew may ask that the bot cannot act on by itself
// yet: it keeps them for the person whose desk it is and says so.
func passOn() map[understand.Intent]string {
	return map[understand.Intent]string{
		understand.Move:    "the quartermaster",
		understand.Lend:    "the quartermaster",
		understand.Restock: "the quartermaster",
		understand.StopUse: "the lead",
		understand.SignOff: "the chief of training",
		understand.RollOut: "the lead",
	}
}

// note is the body of a note to somebody's desk.
type note struct {
	Desk string `json:"desk"`
	Text string `json:"text"`
	Unit string `json:"unit,omitempty"`
}

// PassOnCommands keep a note for the person whose desk it is. A stop-use also
// goes to the programme's and the officers' channels at once, by day or night:
// a bad tool must not wait for the morning.
func PassOnCommands() []Command {
	var out []Command
	for _, intent := range []understand.Intent{
		understand.Move, understand.Lend, understand.Restock, understand.StopUse, understand.SignOff, understand.RollOut,
	} {
		out = append(out, Command{
			Name: string(intent),
			Run:  func(_ context.Context, r *Request) (Result, error) { return r.keepNote(intent), nil },
		})
	}
	return out
}

func (r *Request) keepNote(intent understand.Intent) Result {
	desk := passOn()[intent]
	entry := bot.NewEntry(noteKind, string(intent), r.Who.Person, r.Now, note{Desk: desk, Text: r.Event.Text, Unit: r.Who.Unit})
	text := fmt.Sprintf("Noted for %s. I cannot act on it by myself yet, so speak to them if it is urgent.", desk)
	out := Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: entry}},
	}
	if intent == understand.StopUse {
		out.Posts[0].Reply.Text = "Stop-use: the lead and the officers have it now. Pull the tool and tag it on your rig until the lead answers."
		warning := bot.Reply{Title: "Stop-use asked for", Text: r.Event.Text + "\nFrom " + r.asker() + ". Pull and tag until the lead has answered."}
		for _, use := range []department.ChannelUse{department.ProgrammeChannel, department.OfficersChannel} {
			out.Posts = append(out.Posts, Post{To: Place{Use: use}, Reply: warning})
		}
	}
	return out
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

// decode reads an entry's body.
func decode[T any](e bot.Entry) (T, error) {
	var body T
	if err := json.Unmarshal(e.Body, &body); err != nil {
		return body, fmt.Errorf("read %s entry %d: %w", e.Kind, e.ID, err)
	}
	return body, nil
}
