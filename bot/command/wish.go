package command

import (
	"context"
	"fmt"
	"strings"

	"kitbell/bot"
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
	Cents  int    `json:"cents,omitempty"` // price each, as the asker knows it
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
	text := fmt.Sprintf("Wish noted: %s.", strings.TrimSuffix(words, "."))
	if r.form.cents > 0 {
		text += fmt.Sprintf(" $%d.%02d each, as you know it.", r.form.cents/100, r.form.cents%100)
	}
	if len(others) > 0 {
		text += fmt.Sprintf(" %s asked for it before you.", plural(len(others), "other"))
	}
	if r.Reading.Reason == "" {
		text += " Why? A reason helps the lead."
	}
	entry := bot.NewEntry(wishKind, subject, r.Who.Person, r.Now, wish{For: words, Reason: r.Reading.Reason, Unit: r.Who.Unit, Cents: r.form.cents})
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
