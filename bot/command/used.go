package command

import (
	"context"
	"fmt"

	"kitbell/bot"
	"kitbell/bot/understand"
)

// UsedCommand records a real use of the kit, or practice, typed in one line.
func UsedCommand() Command {
	return Command{
		Name:    string(understand.Used),
		Usage:   "used the thick shim on a guarded door, second try, no mark",
		Summary: "Record what you used and how it went. It helps the next crew.",
		Run:     recordUse,
	}
}

// useKind is the journal's word for a use of the kit.
const useKind = "use"

// use is the body of a record of use. Practice never counts for anything but
// itself.
type use struct {
	understand.Use
	Unit    string `json:"unit,omitempty"`
	Platoon string `json:"platoon,omitempty"`
	Facts   any    `json:"facts,omitempty"`
}

func recordUse(_ context.Context, r *Request) (Result, error) {
	if r.Verb == useKind {
		return Result{}, bot.SayOldButton.With()
	}
	said := r.Reading.Use
	body := use{Use: said, Unit: r.Who.Unit, Platoon: r.Who.Platoon}
	if r.Reading.DoorSaid {
		body.Facts = r.Reading.Door
	}
	subject := said.Technique
	if subject == "" && len(said.Items) > 0 {
		subject = said.Items[0]
	}
	entry := bot.NewEntry(useKind, subject, r.Who.Person, r.Now, body)
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: r.useWords(said), Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: entry}},
	}, nil
}

// useWords repeats what was understood, so that a slip is seen at once.
func (r *Request) useWords(u understand.Use) string {
	names := make([]string, 0, len(u.Items))
	for _, item := range u.Items {
		names = append(names, r.itemName(item))
	}
	words := "Use noted"
	if len(names) > 0 {
		words += ": " + list(names, "and")
	}
	if u.Outcome != "" {
		words += ", " + string(u.Outcome)
	}
	if u.Tries > 0 {
		words += fmt.Sprintf(", try %d", u.Tries)
	}
	if u.Mark != "" {
		words += ", mark: " + u.Mark
	}
	if u.Practice {
		return words + ". Practice: it changes no numbers."
	}
	return words + ". Counted as a real call. Was it practice? Undo, and say so."
}
