package command

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"kitbell/bot/door"
	"kitbell/bot/understand"
	"kitbell/knowledge"
)

// readFollowUp lets a message that leans on the last answer be about its card:
// "how many tries", "what about the other one", "and if it swings in?". What
// names something of its own is a question of its own.
func (r *Request) readFollowUp(ctx context.Context) error {
	lean := r.Reading.Lean
	if r.Verb != "" || r.Memory.Pending != nil || !r.Who.member() || lean == (understand.Lean{}) || !r.mayFollow() {
		return nil
	}
	last, ok := r.Cards.Card(r.lastCard())
	switch {
	case lean.Other && (ok || lean.Bare || r.Hits().Verdict == knowledge.Declined):
		r.followOther()
	case !ok && lean.Bare && (lean.Leads || lean.Supposes) && r.Memory.Running == nil:
		r.Reading.Intent, r.Reading.Also, r.lost = understand.Ask, nil, true
	case !ok:
	case lean.Supposes && len(r.saidOfDoor()) > 0:
		return r.suppose(ctx, last)
	case lean.Bare:
		r.answerFrom(last.ID, r.Event.Text)
	case lean.Leads:
		r.followLead(last)
	case lean.Refers && (r.Hits().Verdict != knowledge.Answered || ofIt(r.Event.Text)):
		r.answerFrom(last.ID, r.Event.Text)
	}
	return nil
}

// ofIt says whether a text asks if something is right, or tells that it fails:
// what it points at is the last answer then, whatever else it names.
func ofIt(text string) bool {
	part := knowledge.AsksPart(text)
	return part == knowledge.Whether || part == knowledge.Trouble
}

// mayFollow says whether the words alone leave room for a follow-up: nothing is
// reported, done or asked of a list.
func (r *Request) mayFollow() bool {
	switch r.Reading.Intent {
	case understand.Ask, understand.None:
		return true
	case understand.Door:
		return r.Reading.Lean.Supposes && r.Reading.Outcome == "" && !r.Reading.Down
	case understand.Report, understand.Used, understand.Drill, understand.Duty, understand.Help, understand.Queue, understand.Kit:
		return r.Reading.Lean.Bare && r.Reading.Voted
	}
	return false
}

// lastCard is what was shown last: a card, or the technique that the crew was
// told to try.
func (r *Request) lastCard() string {
	if r.Memory.Card == "" && r.Memory.Running != nil {
		technique, _, _ := strings.Cut(r.Memory.Running.Way, "/")
		return technique
	}
	return r.Memory.Card
}

// answerFrom makes a card the one that was found, with the question that picks
// its part.
func (r *Request) answerFrom(id, question string) {
	found := knowledge.Found{Question: question, Verdict: knowledge.Answered, Hits: []knowledge.Hit{{ID: id}}}
	r.hits = func() knowledge.Found { return found }
	r.follows = true
	r.Reading.Intent, r.Reading.Also = understand.Ask, nil
}

// followOther answers from the other card of those shown last, or asks which.
func (r *Request) followOther() {
	others := slices.DeleteFunc(slices.Clone(r.Memory.Others), func(id string) bool { return id == r.Memory.Card })
	if len(others) == 0 {
		r.Reading.Intent, r.Reading.Also, r.lost = understand.Ask, nil, true
		return
	}
	r.answerFrom(others[0], r.partQuestion())
}

// followLead answers "and the large hook?" as the last question was answered,
// and "and how deep does it go?" from the last card.
func (r *Request) followLead(last *knowledge.Card) {
	if sibling := r.sibling(last); sibling != "" && r.Reading.Lean.Refers {
		r.answerFrom(sibling, r.partQuestion())
		return
	}
	found := r.Hits()
	named := len(r.Reading.Items) > 0 || found.Verdict == knowledge.Answered
	switch {
	case !named || r.Reading.Lean.Refers && len(r.Reading.Items) == 0:
		r.answerFrom(last.ID, r.Event.Text)
	case len(found.Hits) > 0 && found.Verdict != knowledge.Declined:
		r.answerFrom(found.Hits[0].ID, r.partQuestion())
	}
}

// shortWord is the length up to which a word tells no card apart: the, and.
const shortWord = 3

// sibling is the card beside the last one that the message tells apart from it:
// "what about the large one" after the small hook. "" for none.
func (r *Request) sibling(last *knowledge.Card) string {
	words := strings.Fields(strings.ToLower(strings.Trim(r.Event.Text, " ?!.")))
	for _, id := range slices.Concat(r.Memory.Others, last.Related) {
		c, ok := r.Cards.Card(id)
		if !ok || c.ID == last.ID || c.Kind != last.Kind {
			continue
		}
		theirs, ours := strings.Fields(strings.ToLower(c.Title)), strings.Fields(strings.ToLower(last.Title))
		if slices.ContainsFunc(words, func(w string) bool {
			return len(w) > shortWord && slices.Contains(theirs, w) && !slices.Contains(ours, w)
		}) {
			return c.ID
		}
	}
	return ""
}

// partQuestion is the question that picks the part of a card: this message
// where it asks for one, or else the last question.
func (r *Request) partQuestion() string {
	if knowledge.AsksPart(r.Event.Text) != knowledge.Overview || r.Memory.Question == "" {
		return r.Event.Text
	}
	return r.Memory.Question
}

// saidOfDoor are the facts that this message states.
func (r *Request) saidOfDoor() []door.Fact {
	var said []door.Fact
	for _, fact := range door.AllFacts() {
		if r.Reading.Door.Value(fact) != "" {
			said = append(said, fact)
		}
	}
	return said
}

// suppose answers a supposed case from the planner: whether the card's way still
// stands, and which one comes first then. A door that the crew is working on
// stays as it was said.
func (r *Request) suppose(ctx context.Context, last *knowledge.Card) error {
	base := r.Reader.Read(last.Title, understand.Context{}).Door
	base = door.Merge(base, r.Reader.Read(r.Memory.Question, understand.Context{}).Door)
	if running := r.Memory.Running; running != nil && r.Memory.Card == "" {
		base = running.Facts.Facts
		base.Failed = nil
	}
	barred, err := r.barred(ctx)
	if err != nil {
		return err
	}
	facts := door.Merge(base, r.Reading.Door)
	plan, err := r.Doors.Plan(door.Request{Facts: facts, Tools: r.CompleteKit(r.Department.InForce), Barred: barred})
	if err != nil {
		return fmt.Errorf("plan a supposed door: %w", err)
	}
	first, ok := firstAttempt(plan.Steps)
	if !ok {
		return nil
	}
	next, ok := r.Cards.Card(first.Technique)
	if !ok {
		return nil
	}
	why := r.whyNot(plan, last)
	question := r.Memory.Question
	if why == "" && (last.Kind == knowledge.Technique || last.Kind == knowledge.Tool) && inPlan(plan, last) {
		next, question = last, r.partQuestion()
	}
	r.answerFrom(next.ID, question)
	r.supposed = supposedWords(r.Reading.Door, why, last, next)
	return nil
}

// whyNot is why a plan leaves out a technique, or every technique with a tool.
func (r *Request) whyNot(plan door.Plan, c *knowledge.Card) string {
	if inPlan(plan, c) {
		return ""
	}
	for _, out := range plan.RuledOut {
		technique, ok := r.Cards.Card(out.Technique)
		if out.Technique == c.ID || ok && slices.Contains(technique.Tools, c.ID) {
			return out.Why
		}
	}
	return ""
}

// inPlan says whether a plan has the technique, or uses the tool.
func inPlan(plan door.Plan, c *knowledge.Card) bool {
	return slices.ContainsFunc(plan.Steps, func(s door.Step) bool {
		return s.Technique == c.ID || s.With == c.ID || slices.Contains(s.Tools, c.ID)
	})
}

// supposedWords says the case, and what it does to the way shown last.
func supposedWords(facts door.Facts, why string, last, next *knowledge.Card) string {
	words := "If so (" + factsWords(facts) + "): "
	switch {
	case why != "":
		return words + lowerFirst(last.Title) + " is out. " + why + " First choice then:"
	case next == last:
		return words + lowerFirst(last.Title) + " still stands."
	}
	return words + "first choice then:"
}
