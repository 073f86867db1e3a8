package command

import (
	"slices"
	"strings"

	"kitbell/bot"
	"kitbell/bot/door"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
	"kitbell/knowledge"
)

// Read turns words into meaning, with the cards as a second opinion. Words that
// the reader finds no use for may still name what a card is about ("soapy water
// bag test"), and a word of the trade does not yet put a crew at a door ("usual
// latch throw"). Where somebody stands at a door, or says what is wrong with a
// tool, the cards are not asked.
func (d *Desk) Read(text string, c understand.Context) understand.Reading {
	read := d.Reader.Read(text, c)
	switch {
	case mayCompare(read) && d.compares(text):
	case read.Intent == understand.Used && read.Use.Empty():
		if d.Cards.Search(text).Verdict == knowledge.Declined {
			return read
		}
	case read.Intent == understand.Door && c.Memory.Door != nil && nothingNew(read, *c.Memory.Door):
		if d.Cards.Search(text).Verdict == knowledge.Declined {
			return read
		}
	case read.Intent == understand.None && strings.Contains(strings.TrimSpace(text), " "),
		read.Voted && c.Memory.Pending == nil && onlyShows(read.Intent),
		read.Intent == understand.Door && c.Memory.Door == nil && barelyADoor(read):
		if d.Cards.Search(text).Verdict != knowledge.Answered {
			return read
		}
	default:
		return read
	}
	if read.Intent != understand.None {
		read.Also = append([]understand.Intent{read.Intent}, read.Also...)
	}
	read.Intent = understand.Ask
	return read
}

// mayCompare says whether a message may be about two tools or two locks rather
// than about a door or a kit: nothing is complete enough to act on.
func mayCompare(read understand.Reading) bool {
	switch read.Intent {
	case understand.Door:
		return read.Outcome == "" && !read.Down && len(read.Door.Failed) == 0
	case understand.Report:
		open := len(read.Lines) == 0 && slices.ContainsFunc(read.AskBack, func(q understand.Question) bool { return q.About == understand.AskCondition })
		// "Air wedge instead of the bar" may be a wrong piece in a slot, or a choice.
		return open || !read.UnitNamed && !slices.ContainsFunc(read.Lines, func(l understand.Line) bool { return l.Condition != kit.Wrong })
	}
	return false
}

// compares says whether the cards take a text for a comparison.
func (d *Desk) compares(text string) bool {
	answer, ok := d.Cards.Answer(d.Cards.Search(text))
	return ok && answer.Part == knowledge.Comparison
}

// onlyShows says whether an intent keeps nothing: one that was only likened to
// others gives way to a card that answers.
func onlyShows(i understand.Intent) bool {
	switch i {
	case understand.Queue, understand.Duty, understand.Kit, understand.Drill, understand.Budget, understand.Records, understand.Handover,
		understand.Restock, understand.Wish, understand.SignOff, understand.RollOut, understand.Help:
		return true
	}
	return false
}

// nothingNew says whether a message leaves the running door as it is.
func nothingNew(read understand.Reading, running door.Facts) bool {
	if read.Outcome != "" || read.Down || read.Fine || len(read.Hazards) > 0 || len(read.Door.Failed) > 0 || len(read.AskBack) > 0 {
		return false
	}
	for _, fact := range door.AllFacts() {
		if said := read.Door.Value(fact); said != "" && said != running.Value(fact) {
			return false
		}
	}
	return true
}

// barelyADoor says whether a message tells next to nothing of a door, and
// nothing of a call.
func barelyADoor(read understand.Reading) bool {
	if read.Outcome != "" || read.Down || len(read.Door.Failed) > 0 || len(read.Doubted) > 0 || read.Door.Urgency != "" {
		return false
	}
	said := 0
	for _, fact := range door.AllFacts() {
		if read.Door.Value(fact) != "" {
			said++
		}
	}
	return said < wholeDoor-1
}

// ownCard offers the card that answers the message as it stands, for when it was
// taken for something else; nil when none does.
func (r *Request) ownCard(label string) []bot.Button {
	if r.Verb != "" || !r.Who.member() {
		return nil
	}
	found := r.Hits()
	if found.Verdict != knowledge.Answered {
		return nil
	}
	card, ok := r.Cards.Card(found.Hits[0].ID)
	if !ok {
		return nil
	}
	return []bot.Button{{Label: label + card.Title, Value: "ask:" + refCard + ":" + card.ID}}
}

// atThisDoor plans the door that a question tells of, for somebody who stands
// at it; nil when it tells of none.
func (r *Request) atThisDoor() []bot.Button {
	if r.Verb != "" || r.Memory.Running != nil || !slices.Contains(r.Reading.Also, understand.Door) {
		return nil
	}
	var facts []string
	for _, fact := range door.AllFacts() {
		if said := r.Reading.Door.Value(fact); said != "" {
			facts = append(facts, string(fact)+"="+said)
		}
	}
	value := doorStart
	if len(facts) > 0 {
		value = string(understand.Door) + ":with:" + strings.Join(facts, ",")
	}
	return []bot.Button{{Label: "I am at this door", Value: value}}
}
