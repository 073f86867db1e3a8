package command

import (
	"slices"
	"strings"

	"kitbell/bot"
	"kitbell/knowledge"
)

// Cards are a department's cards; in memory, any goroutine.
type Cards interface {
	// Search finds the cards for a question and says what to do with them.
	Search(question string) knowledge.Found
	// Answer makes the answer to what was found; ok is false when it was
	// declined.
	Answer(found knowledge.Found) (answer knowledge.Answer, ok bool)
	// Card finds a card by id.
	Card(id string) (*knowledge.Card, bool)
	// File reads what a card's link leads to, at most limit bytes.
	File(link knowledge.Link, limit int64) ([]byte, error)
	// IDs lists the ids of the cards of the kinds named, or of all, in order.
	IDs(kinds ...knowledge.Kind) []string
}

// mostHits is how many cards a search gives: what nDCG@10 looks at.
const mostHits = 10

// Shelf is a library with its index, which may still be in the making: Index
// waits for it. It implements Cards.
type Shelf struct {
	*knowledge.Library
	Index func() *knowledge.Index
}

// Search finds the cards for a question.
func (s Shelf) Search(question string) knowledge.Found { return s.Index().Search(question, mostHits) }

// Answer makes the answer to what was found.
func (s Shelf) Answer(found knowledge.Found) (knowledge.Answer, bool) {
	return knowledge.NewAnswer(s.Library, found)
}

// IDs lists the ids of the cards of the kinds named, or of all.
func (s Shelf) IDs(kinds ...knowledge.Kind) []string {
	var ids []string
	for _, c := range s.All() {
		if len(kinds) == 0 || slices.Contains(kinds, c.Kind) {
			ids = append(ids, c.ID)
		}
	}
	return ids
}

// answerReply writes an answer for the chat: text first, then steps, then what
// to watch for, then where it is from.
func answerReply(a knowledge.Answer) bot.Reply {
	reply := bot.Reply{Title: a.Title, Text: a.Text, Steps: a.Steps}
	for _, g := range a.Groups {
		reply.Fields = append(reply.Fields, bot.Field{Name: g.Title, Value: bullets(g.Bullets)})
	}
	if len(a.Cautions) > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: knowledge.Cautions, Value: bullets(a.Cautions)})
	}
	return withLinks(withSources(reply, a.Sources), a.Links)
}

// bullets puts each point on a line of its own: on a phone a paragraph of five
// is read as one.
func bullets(points []string) string {
	if len(points) < 2 {
		return strings.Join(points, "")
	}
	return "\n- " + strings.Join(points, "\n- ")
}

// sourceField is the name of the field that says where a card has it from.
const sourceField = "Source"

func withSources(reply bot.Reply, sources []string) bot.Reply {
	if len(sources) > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: sourceField, Value: strings.Join(sources, "; ")})
	}
	return reply
}

// stepsReply is a card's steps with its cautions and sources.
func stepsReply(c *knowledge.Card) bot.Reply {
	a := knowledge.Answer{Title: c.Title, Text: c.Intro, Steps: c.Section(knowledge.Steps).Texts(), Sources: c.Sources}
	a.Cautions = c.Section(knowledge.Cautions).Texts()
	a.Groups = []knowledge.Group{{Title: knowledge.StopWhen, Bullets: c.Section(knowledge.StopWhen).Texts()}}
	return answerReply(a)
}

// wholeReply is every section of a card.
func wholeReply(c *knowledge.Card) bot.Reply {
	reply := bot.Reply{Title: c.Title, Text: c.Intro, Steps: c.Section(knowledge.Steps).Texts()}
	for _, s := range c.Sections {
		if s.Title != knowledge.Steps {
			reply.Fields = append(reply.Fields, bot.Field{Name: c.Shown(s.Title), Value: bullets(s.Texts())})
		}
	}
	return withLinks(withSources(reply, c.Sources), c.Links)
}
