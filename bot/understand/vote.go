package understand

import (
	"slices"

	"kitbell/bot/kit"
)

// How sure the classifier must be before it speaks: beside a rule that found
// the same, in place of a bare topic, in place of a question.
const (
	sureAmong    = 0.97
	sureBare     = 0.55
	sureQuestion = 0.9
)

// longCue is the length of a cue that is sure of itself.
const longCue = 3

// weigh lets the classifier settle what the rules leave open. It never takes
// the place of a line, of a door in urgency or of a rule that is sure.
func (s *sheet) weigh(out *Reading, found []Intent) []Intent {
	if memory := s.context.Memory; len(s.tokens) == 0 || memory.Door != nil || memory.Pending != nil {
		return found // an answer is read by what it answers
	}
	if len(out.Hazards) > 0 || found[0] == Queue && !out.Step.Empty() {
		return found // a danger, and what was done with a line, leave no doubt
	}
	guess, likely := s.guess()
	if guess == Resolved && likely < sureQuestion && len(out.Lines) == 0 {
		guess = Report // closing a line must not be a guess: it asks what is wrong
	}
	first := found[0]
	switch {
	case guess == first:
	case first == Used && len(out.Lines) == 0 && slices.Contains(unsureUses, guess) && likely >= sureAmong,
		first == Door && out.Door.Urgency == "" && s.bareTopic() && likely >= sureAmong && (guess == Used && s.namesItem() && !s.habitual() || slices.Contains(commands, guess)),
		first == Resolved && guess == Used && slices.Contains(found, Used) && likely >= sureAmong,
		slices.Contains(commands, first) && (guess == Used || slices.Contains(commands, guess)) && likely >= sureAmong && s.longest(first) < longCue && s.mayBe(out, guess):
		if guess == Used {
			out.Lines, out.Pending, out.AskBack = nil, nil, nil // "a neighbour showed up with a key"
		}
		out.Voted = true
		return promote(found, guess)
	case first == None && !s.hits(idleCue) && !s.hits(thanksCue) && out.OffKit == "" && likely >= sureQuestion,
		first == Ask && s.bareTopic() && likely >= sureBare,
		first == Ask && !s.bareTopic() && slices.Contains(askedCommands, guess) && likely >= sureQuestion:
		if s.mayBe(out, guess) {
			out.Voted = true
			s.fillVoted(out, guess)
			return promote(found, guess)
		}
	}
	return found
}

// fillVoted gives a message that only the classifier took for a report or its
// end what the grammar did not find: the item is settled, or what is wrong with
// it is asked.
func (s *sheet) fillVoted(out *Reading, guess Intent) {
	if len(out.Lines) > 0 || out.Pending != nil || guess != Report && guess != Resolved {
		return
	}
	for i, m := range s.marks {
		if m.kind != itemMark || m.asked {
			continue
		}
		f := finding{mention: s.mentionAt(i, nil), count: 1}
		refs := s.unitsFor(f.mention, s.scopes(), s.firstContent())
		if guess == Resolved {
			f.condition = kit.Resolved
			s.addFinding(out, f, refs[0], map[Line]bool{})
			continue
		}
		out.Pending = &Pending{Intent: Report, Lines: []PartialLine{{Unit: refs[0].id, Units: refs[0].candidates, Items: f.mention.items, Count: 1}}}
		out.ask(AskCondition, nil)
		if refs[0].id == "" {
			out.ask(AskUnit, refs[0].candidates)
		}
		return
	}
}

// unsureUses are what a lone word for a use may be instead.
var unsureUses = []Intent{Restock, StopUse, Lend, Wish, SignOff, RollOut}

// askedCommands are what a question can be for besides a card.
var askedCommands = []Intent{Queue, Drill, Duty, Budget, Wish, RollOut, Handover, Kit, Records, Help, SignOff, Lend, Undo, Riding}

// promote puts an intent first; what was only a topic, or nothing, goes.
func promote(found []Intent, to Intent) []Intent {
	rest := slices.DeleteFunc(slices.Clone(found), func(i Intent) bool { return i == to || i == Ask || i == None })
	return append([]Intent{to}, rest...)
}

// bareTopic says whether nothing in the message asks.
func (s *sheet) bareTopic() bool {
	return !slices.ContainsFunc(s.clauses, func(c clause) bool { return c.asks }) && !s.hits(asksCue)
}

// mayBe says whether the message has what the intent needs.
func (s *sheet) mayBe(out *Reading, i Intent) bool {
	switch i {
	case None:
		return !s.namesItem() && !out.DoorSaid
	case Help:
		return !s.aboutKit(out)
	case Ask:
		return s.namesTopic() || s.namesItem()
	case Report, Resolved:
		return s.namesItem() && !s.fineOnly()
	case StopUse:
		return s.namesItem()
	case Door:
		return out.DoorSaid
	case Riding:
		return len(out.Units) > 0 || out.Station != ""
	case Used: // a record must not be a guess: something was done, or counted
		return !s.habitual() && (s.namesItem() || out.DoorSaid) && (out.Outcome != "" || out.Use.Tries > 0 || s.hits(Used) || s.counts())
	}
	return true
}

// counts says whether the message has a number in it: of tries, or of minutes.
func (s *sheet) counts() bool {
	return slices.ContainsFunc(s.tokens, func(t token) bool { return t.value >= 0 })
}
