package command

import (
	"context"
	"fmt"
	"time"

	"kitbell/bot"
	"kitbell/bot/understand"
	"kitbell/knowledge"
)

// DrillCommand gives a crew a short drill, and books one as done.
func DrillCommand() Command {
	return Command{
		Name:    string(understand.Drill),
		Usage:   "give us a drill",
		Summary: "Get a ten-minute drill for your crew, the one longest undone.",
		Run:     drill,
	}
}

// drillKind is the journal's word for a drill that was done hands-on.
const drillKind = "drill"

type drillDone struct {
	Card    string `json:"card"`
	Unit    string `json:"unit,omitempty"`
	Platoon string `json:"platoon,omitempty"`
}

func drill(ctx context.Context, r *Request) (Result, error) {
	if !r.Who.member() {
		return Result{}, bot.SayNoTechnique.With()
	}
	if r.Verb != "" {
		return r.bookDrill()
	}
	id, err := r.nextDrill(ctx)
	if err != nil {
		return Result{}, err
	}
	card, ok := r.Cards.Card(id)
	if !ok {
		return Say("There are no drill cards here."), nil
	}
	reply, err := r.asServed(ctx, stepsReply(card), card.ID)
	if err != nil {
		return Result{}, err
	}
	reply.Buttons = []bot.Button{{Label: "Done hands-on", Value: "drill:" + id}}
	return Answer(reply), nil
}

func (r *Request) bookDrill() (Result, error) {
	card, ok := r.Cards.Card(r.Ref)
	if !ok {
		return Result{}, bot.SayOldButton.With()
	}
	entry := bot.NewEntry(drillKind, card.ID, r.Who.Person, r.Now, drillDone{Card: card.ID, Unit: r.Who.Unit, Platoon: r.Who.Platoon})
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: fmt.Sprintf("Booked: %s, done hands-on, %s.", card.Title, r.day(r.Now)), Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: entry}},
	}, nil
}

// nextDrill is the drill card that this crew has not done for longest.
func (r *Request) nextDrill(ctx context.Context) (string, error) {
	entries, err := r.Books.Entries(ctx, r.Department.Slug, drillKind, "", r.Now.AddDate(-1, 0, 0))
	if err != nil {
		return "", fmt.Errorf("read drills: %w", err)
	}
	last := make(map[string]time.Time)
	for _, e := range entries {
		d, err := decode[drillDone](e)
		if err != nil {
			return "", err
		}
		if d.Unit == r.Who.Unit && d.Platoon == r.Who.Platoon {
			last[d.Card] = e.At
		}
	}
	best := ""
	for _, id := range r.Cards.IDs(knowledge.Drill) {
		if best == "" || last[id].Before(last[best]) {
			best = id
		}
	}
	return best, nil
}
