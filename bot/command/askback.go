package command

import (
	"fmt"

	"kitbell/bot"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
)

// mostChoices is how many buttons a question back may have: more than that is
// no longer quicker than typing.
const mostChoices = 6

// askBack asks the first thing that a report left open.
func (r *Request) askBack() (Result, error) {
	if r.Reading.OffKit != "" {
		return r.notMine(), nil
	}
	if len(r.Reading.AskBack) == 0 {
		return Say("What is wrong, and on which rig? Say it like this: {rig} is missing the small hook."), nil
	}
	return Answer(r.question(r.Reading.AskBack[0])), nil
}

// question puts one open question to the person, with the likeliest answers as
// buttons that stand for typing them.
func (r *Request) question(q understand.Question) bot.Reply {
	var reply bot.Reply
	switch q.About {
	case understand.AskUnit:
		reply.Text = "Whose kit is it? Name the rig."
		if unknown := r.Reading.UnknownUnit; unknown != "" {
			reply.Text = fmt.Sprintf("There is no %s here. Whose kit is it?", unknown)
		}
	case understand.AskItem:
		reply.Text = "Which tool do you mean?"
	case understand.AskCondition:
		reply.Text = "What is wrong with it?"
		q.Candidates = wrongs(q.Candidates)
	default:
		reply.Text = fmt.Sprintf("What about the %s?", q.About)
	}
	if len(q.Candidates) > mostChoices {
		return reply
	}
	for _, id := range q.Candidates {
		reply.Buttons = append(reply.Buttons, typed(r.choice(q.About, id), r.choice(q.About, id)))
	}
	if q.About == understand.AskCondition {
		reply.Buttons = append(reply.Buttons, r.ownCard("I only ask: ")...)
	}
	return reply
}

// wrongs are the conditions to choose from where the words left all of them
// open.
func wrongs(candidates []string) []string {
	if len(candidates) > 0 {
		return candidates
	}
	return []string{string(kit.Missing), string(kit.Damaged), string(kit.Low), string(kit.Worn), string(kit.Dirty)}
}

func (r *Request) choice(about, id string) string {
	switch about {
	case understand.AskUnit:
		return r.unitName(id)
	case understand.AskItem:
		return r.itemName(id)
	}
	return id
}
