package command

import (
	"fmt"
	"slices"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/knowledge"
)

// ownTool is the department's own tool that a question is about, where no card
// tells of it; ok is false when a tool with a card is named too.
func (r *Request) ownTool() (tool department.Item, ok bool) {
	for _, id := range r.Reading.Items {
		item, own := r.Department.Item(id)
		if _, hasCard := r.Cards.Card(id); hasCard || !own {
			return department.Item{}, false
		}
		if !ok {
			tool, ok = item, true
		}
	}
	return tool, ok
}

// sayOwnTool tells what the department's file says of its own tool and that
// there is no card. Another tool's card would be a wrong answer, so what the
// search found is offered by name only. The question is kept for the lead.
func (r *Request) sayOwnTool(tool department.Item, found knowledge.Found) Result {
	reply := bot.Reply{
		Title:  tool.Name,
		Text:   "The department's own tool. There is no card on it here yet, so I cannot say how to use it. I keep your question for the lead.",
		Fields: []bot.Field{{Name: "In the kit", Value: r.onList(tool.ID)}},
	}
	q := unanswered{Question: r.Event.Text}
	if found.Verdict != knowledge.Declined {
		if c, ok := r.Cards.Card(found.Hits[0].ID); ok {
			q.Nearest, q.Share = c.ID, found.Hits[0].Evidence.Fields
			reply.Buttons = []bot.Button{{Label: "May not fit: " + c.Title, Value: "ask:" + refCard + ":" + c.ID}}
		}
	}
	entry := bot.NewEntry(unansweredKind, questionKey(q.Question), r.Who.Person, r.Now, q)
	return Result{Posts: []Post{{Reply: reply}}, Changes: []bot.Change{bot.Written{Entry: entry}}}
}

// onList says how many of an item each kit holds by the list in force.
func (r *Request) onList(item string) string {
	list, _ := r.Department.List(r.Department.InForce)
	for _, line := range list.Lines {
		if line.Item == item {
			return fmt.Sprintf("%d in each kit, by list version %d", line.Qty, list.Version)
		}
	}
	if slices.Contains(r.Department.OnEvery, item) {
		return "not in it; every rig carries it outside the kit"
	}
	return "not on the list in force"
}
