package command

import (
	"context"
	"slices"
	"strings"

	"kitbell/bot"
	"kitbell/bot/understand"
	"kitbell/knowledge"
)

// AskCommand answers questions from the cards.
func AskCommand() Command {
	return Command{
		Name:    string(understand.Ask),
		Usage:   "how do I slip a tight gap",
		Summary: "Ask about a tool, a lock or a technique. I answer from the cards.",
		Thread:  true,
		Run:     ask,
	}
}

// The refs of an answer's buttons: more:ID is the whole card, card:ID another
// one, draw:ID its drawing, poor:ID says that it did not help.
const (
	refMore = "more"
	refCard = "card"
	refDraw = "draw"
	refPoor = "poor"
)

// unanswered is the body of a question that no card answered, or that an answer
// did not help with. Nearest is the card that came closest.
type unanswered struct {
	Question string  `json:"question"`
	Nearest  string  `json:"nearest,omitempty"`
	Share    float64 `json:"share,omitempty"` // of the most the question could score
	Poor     bool    `json:"poor,omitempty"`  // it was answered, and that did not help
}

func ask(ctx context.Context, r *Request) (Result, error) {
	if !r.Who.member() {
		return Result{}, bot.SayNoTechnique.With()
	}
	if r.Verb != "" {
		return r.pressAnswer(ctx)
	}
	if r.lost {
		return Result{}, bot.SayWhichOne.With()
	}
	found := r.Hits()
	if tool, ok := r.ownTool(); ok {
		result := r.sayOwnTool(tool, found)
		reply, err := r.underStops(ctx, result.Posts[0].Reply, tool.ID)
		result.Posts[0].Reply = reply
		return result, err
	}
	answer, ok := r.Cards.Answer(found)
	if !ok {
		return r.decline(found), nil
	}
	r.rememberAnswer(found, answer)
	reply, err := r.asServed(ctx, answerReply(answer), answer.Cards...)
	if err != nil {
		return Result{}, err
	}
	if r.supposed != "" {
		reply.Text = r.supposed + "\n" + reply.Text
	}
	reply.Buttons = r.answerButtons(answer.Cards[0])
	if found.Verdict == knowledge.Offered && answer.Part != knowledge.Comparison {
		reply.Buttons = onceEach(append(r.others(found), reply.Buttons...))
	}
	reply.Buttons = append(r.atThisDoor(), reply.Buttons...)
	return Answer(reply), nil
}

// rememberAnswer keeps what a follow-up may lean on. A follow-up keeps the
// question that it followed: "and the large one?" asks what that asked.
func (r *Request) rememberAnswer(found knowledge.Found, answer knowledge.Answer) {
	if last := r.Memory.Card; r.follows && last != answer.Cards[0] {
		r.Memory.Others = []string{last}
	} else if !r.follows {
		r.Memory.Others = answer.Cards[1:]
	}
	if found.Verdict == knowledge.Offered && len(answer.Cards) == 1 {
		for _, hit := range found.Hits[1:min(3, len(found.Hits))] {
			r.Memory.Others = append(r.Memory.Others, hit.ID)
		}
	}
	r.Memory.Card, r.Memory.Question = answer.Cards[0], found.Question
}

// decline says honestly that no card answers, and keeps the question for the
// lead. The nearest card is offered by name only, so that nobody acts on it by
// mistake.
func (r *Request) decline(found knowledge.Found) Result {
	q := unanswered{Question: r.Event.Text}
	reply := bot.Reply{Text: "I have no card on that. I keep your question for the lead."}
	if len(found.Hits) > 0 && found.Beyond == "" {
		q.Nearest, q.Share = found.Hits[0].ID, found.Hits[0].Evidence.Fields
		if c, ok := r.Cards.Card(q.Nearest); ok {
			reply.Text += " The nearest card may not fit: " + c.Title + "."
			reply.Buttons = []bot.Button{{Label: c.Title, Value: "ask:" + refCard + ":" + c.ID}}
		}
	}
	entry := bot.NewEntry(unansweredKind, questionKey(q.Question), r.Who.Person, r.Now, q)
	return Result{Posts: []Post{{Reply: reply}}, Changes: []bot.Change{bot.Written{Entry: entry}}}
}

// questionKey makes the same question typed twice one subject.
func questionKey(question string) string {
	words := words(question)
	low := make([]string, len(words))
	for i, w := range words {
		low[i] = w.low
	}
	key := strings.Join(low, " ")
	return key[:min(len(key), 200)]
}

func (r *Request) answerButtons(id string) []bot.Button {
	buttons := []bot.Button{{Label: "More", Value: "ask:" + refMore + ":" + id}}
	card, ok := r.Cards.Card(id)
	if !ok {
		return nil
	}
	for _, related := range card.Related[:min(2, len(card.Related))] {
		if c, ok := r.Cards.Card(related); ok {
			buttons = append(buttons, bot.Button{Label: c.Title, Value: "ask:" + refCard + ":" + c.ID})
		}
	}
	if len(card.Drawing) > 0 {
		buttons = append(buttons, bot.Button{Label: "Picture", Value: "ask:" + refDraw + ":" + id})
	}
	buttons = append(buttons, ownPictures(card)...)
	return append(buttons, bot.Button{Label: "This didn't help", Value: "ask:" + refPoor + ":" + id})
}

// others offers the cards that came close to the first.
func (r *Request) others(found knowledge.Found) []bot.Button {
	var buttons []bot.Button
	for _, hit := range found.Hits[1:min(3, len(found.Hits))] {
		if c, ok := r.Cards.Card(hit.ID); ok {
			buttons = append(buttons, bot.Button{Label: "Or: " + c.Title, Value: "ask:" + refCard + ":" + c.ID})
		}
	}
	return buttons
}

// onceEach drops a button that does what an earlier one does: a card that came
// close is often related to the first as well.
func onceEach(buttons []bot.Button) []bot.Button {
	seen := map[string]bool{}
	return slices.DeleteFunc(buttons, func(b bot.Button) bool {
		again := seen[b.Value]
		seen[b.Value] = true
		return again
	})
}

func (r *Request) pressAnswer(ctx context.Context) (Result, error) {
	what, id := press(r.Ref)
	if what == refOwn {
		return r.ownPicture(ctx, id)
	}
	card, ok := r.Cards.Card(id)
	if !ok {
		return Result{}, bot.SayOldButton.With()
	}
	switch what {
	case refMore:
		reply, err := r.asServed(ctx, wholeReply(card), id)
		return Answer(reply), err
	case refCard:
		if r.Memory.Card != "" && r.Memory.Card != id {
			r.Memory.Others = []string{r.Memory.Card}
		}
		r.Memory.Card, r.Memory.Pending = id, nil // whoever asks for a card did not report
		reply, err := r.asServed(ctx, answerReply(knowledge.AnswerFrom(card, "")), id)
		reply.Buttons = r.answerButtons(id)
		return Answer(reply), err
	case refDraw:
		return r.picture(ctx, card)
	case refPoor:
		q := unanswered{Question: r.Memory.Question, Nearest: id, Poor: true}
		if q.Question == "" {
			return Result{}, bot.SayOldButton.With()
		}
		entry := bot.NewEntry(unansweredKind, questionKey(q.Question), r.Who.Person, r.Now, q)
		return Result{
			Posts:   []Post{{Reply: bot.Reply{Text: "Thank you. The lead gets your question and this card.", Buttons: []bot.Button{r.undoButton()}}}},
			Changes: []bot.Change{bot.Written{Entry: entry}},
		}, nil
	}
	return Result{}, bot.SayOldButton.With()
}
