package understand

import (
	"regexp"
	"slices"
	"strings"

	"kitbell/bot/door"
	"kitbell/bot/kit"
)

// commands are the intents that a cue alone can carry, the more specific first:
// of two cues the longer one counts, then the order here.
var commands = []Intent{
	StopUse, Seal, Lend, Move, Riding, SignOff, RollOut, Restock, Handover, Undo, Queue, Records, Budget, Kit, Duty, Drill, Wish,
}

// readIntent settles what the message is for. Everything that was found is a
// candidate; the first in order of precedence is the intent, the others are
// kept beside it.
func (s *sheet) readIntent(out *Reading) {
	var found []Intent
	add := func(yes bool, i Intent) {
		if yes && !slices.Contains(found, i) {
			found = append(found, i)
		}
	}
	add(s.urgentDoor(out) || s.personDown(out), Door)
	atLife := s.context.Memory.Door != nil && s.context.Memory.Door.Urgency == door.UrgencyLife
	add(out.Fine && atLife && !s.onlyAsks(), Door)
	add(len(out.Hazards) > 0 && !s.onlyAsks() && !s.namesItem(), Door)
	add(s.halts(), StopUse)
	if s.aboutShelf() {
		add(true, Restock)
		out.Lines, out.Pending, out.AskBack = nil, nil, nil // what a shelf lacks no kit does
	}
	if s.saysWish() {
		add(true, Wish)
		out.Lines, out.Pending, out.AskBack = nil, nil, nil // why it is wished for is no report
	}
	add(!out.Step.Empty() && (!out.Step.ByPlace || !reports(out)), Queue)
	add(reports(out), Report)
	add(s.resolves(out), Resolved)
	add(s.uses(out), Used)
	add(s.checks(out), Check)
	for _, c := range s.commanded(out) {
		add(true, c)
	}
	add(s.describesDoor(out), Door)
	add(s.asksSomething(out, len(found) > 0), Ask)
	if len(found) == 0 {
		found = []Intent{None}
	}
	found = s.weigh(out, found)
	if found[0] == None && s.onlyDate() {
		found[0] = Duty
	}
	if found[0] == StopUse && !out.UnitNamed {
		out.Lines, out.Pending, out.AskBack = nil, nil, nil // why, and no report of the speaker's kit
		found = slices.DeleteFunc(found, func(i Intent) bool { return i == Report })
	}
	out.Intent, out.Also = found[0], found[1:]
	s.fillCheck(out)
}

// urgentDoor: somebody's life, or time, hangs on a door now. A line about the
// kit beside mere urgency is a report from after the call.
func (s *sheet) urgentDoor(out *Reading) bool {
	f := out.Door
	switch f.Urgency {
	case door.UrgencyLife:
	case door.UrgencyUrgent:
		if len(out.Lines) > 0 || out.Pending != nil {
			return false
		}
	default:
		return false
	}
	return !s.onlyAsks() && (len(out.Lines) == 0 || saysMore(f)) && s.onScene(out)
}

// personDown: somebody is in trouble, and the message is about nothing else. It
// needs no word about a door.
func (s *sheet) personDown(out *Reading) bool {
	return out.Door.Urgency == door.UrgencyLife && s.personSaid && !s.namesItem() && !s.onlyAsks()
}

// halts: everybody is to stop using something. What is wrong with it is the
// reason and no report of one kit's.
func (s *sheet) halts() bool {
	return slices.ContainsFunc(s.cueHits, func(h cueHit) bool {
		return h.intent == StopUse && !h.asked && s.grammar.halts[s.tokens[h.from].word]
	})
}

// aboutShelf says whether a message is about a station's shelf: it begins with
// the word, or with the shelf's owner.
func (s *sheet) aboutShelf() bool {
	said := strings.TrimSpace(strings.ToLower(s.text))
	return shelfFirst.MatchString(said)
}

var shelfFirst = regexp.MustCompile(`^(?:the |our |station \d+ |station \d+'s )?shelf\b(?: (?:at|in|of) \w+(?: \d+)?)?,?:? (?:has|have|holds|is|got|needs|lacks)\b`)

// saysWish says whether a message calls itself a wish.
func (s *sheet) saysWish() bool { return wishFirst.MatchString(strings.TrimSpace(s.text)) }

var wishFirst = regexp.MustCompile(`(?i)^wish(?: ?list)? ?[:,-] ?\S`)

// onlyDate says whether the message is a date and nothing else.
func (s *sheet) onlyDate() bool { return len(s.marks) == 1 && s.marks[0].kind == dateMark }

// onScene tells a crew at a door from somebody who looks a word up: two things
// are said of the door, or somebody is spoken of, or a door is being worked on.
func (s *sheet) onScene(out *Reading) bool {
	f := out.Door
	if s.context.Memory.Door != nil || out.Outcome != "" || f.Ajar == door.Yes || f.Finished == door.Yes {
		return true
	}
	facts := 0
	for _, m := range s.marks {
		switch {
		case m.sense(factSense) != nil:
			facts++
		case m.kind != borderMark && s.grammar.people[s.word(m)]:
			return true
		}
	}
	return facts > 1 && !s.hits(Drill) || len(s.tokens) > shortScene
}

// shortScene is the length above which a description is taken for a real door.
const shortScene = 7

// saysMore reports door facts besides the urgency.
func saysMore(f door.Facts) bool {
	for _, fact := range door.AllFacts() {
		switch fact {
		case door.FactUrgency, door.FactFire, door.FactFinished:
		default:
			if f.Value(fact) != "" {
				return true
			}
		}
	}
	return false
}

// onlyAsks says whether all clauses with words in them are questions.
func (s *sheet) onlyAsks() bool {
	asked := false
	for _, c := range s.clauses {
		words := c.to - c.from
		if s.marks[c.to-1].kind == borderMark {
			words--
		}
		if words > 0 && !c.asks {
			return false
		}
		asked = asked || c.asks
	}
	return asked
}

func reports(out *Reading) bool {
	if out.Pending != nil && out.Pending.Intent != Resolved {
		return true
	}
	return slices.ContainsFunc(out.Lines, func(l Line) bool { return l.Condition != kit.Resolved })
}

func (s *sheet) resolves(out *Reading) bool {
	return out.foundIt || out.Pending != nil && out.Pending.Intent == Resolved || slices.ContainsFunc(out.Lines, func(l Line) bool { return l.Condition == kit.Resolved })
}

// uses: a technique or tool was tried and the attempt is over. One that failed
// at a door that is still described is part of the door.
func (s *sheet) uses(out *Reading) bool {
	worked := out.Outcome == Opened && s.namesItem() && s.context.Memory.Door == nil
	if !s.hits(Used) && !worked || s.onlyAsks() || s.hits(Records) || s.longest(Drill) > 1 && !out.Use.Practice {
		return false
	}
	if s.habitual() {
		return false
	}
	if s.longest(Drill) > s.longest(Used) || s.longest(RollOut) > longCue-1 && !s.hits(openedCue) {
		return false // a drill that was done, a tool that is to be used from now on
	}
	if out.Outcome == NotYet && out.DoorSaid && saysMore(out.Door) && !s.hits(openedCue) {
		return false
	}
	return s.namesItem() || out.DoorSaid || s.longest(Used) > 2
}

// habit is how something opens on any day: "the key box opens with the utility
// key" tells of no call.
var habit = regexp.MustCompile(`(?i)\b(?:opens|unlocks) (?:up )?(?:with|by|using)\b`)

// habitual says whether the message only tells how something opens on any day.
func (s *sheet) habitual() bool { return habit.MatchString(s.text) && !crewDid.MatchString(s.text) }

// crewDid is in a message that tells what its crew did as well.
var crewDid = regexp.MustCompile(`(?i)\b(?:we|i|used|tried|opened|forced|got)\b`)

func (s *sheet) namesItem() bool {
	return slices.ContainsFunc(s.clauses, func(c clause) bool { return c.items })
}

func (s *sheet) checks(out *Reading) bool {
	return slices.ContainsFunc(s.cueHits, func(h cueHit) bool {
		return (h.intent == Check || h.intent == lookedCue || h.intent == deniedCue || h.intent == notToday) && !h.asked
	})
}

// commanded lists the commands named, the best first.
func (s *sheet) commanded(out *Reading) []Intent {
	var named []Intent
	for _, c := range commands {
		if s.hits(c) && !(c == Wish && s.asksHow()) {
			named = append(named, c)
		}
	}
	slices.SortStableFunc(named, func(a, b Intent) int { return s.longest(b) - s.longest(a) })
	if s.hits(Help) && (s.longest(Help) > 1 || len(s.tokens) <= shortCall) && !s.aboutKit(out) {
		named = append(named, Help)
	}
	return named
}

// aboutKit says whether the message is about a tool, a door or a word of the
// trade: "how do I use the air wedge" asks for a card, "how do I use this" for
// help.
func (s *sheet) aboutKit(out *Reading) bool { return s.namesItem() || out.DoorSaid || s.namesTopic() }

// asksHow says whether the message begins with where, how or why: a question
// about getting something is no wish for it.
func (s *sheet) asksHow() bool {
	return len(s.tokens) > 0 && s.words.asking[s.tokens[0].word] && !s.grammar.aux[s.tokens[0].word]
}

// shortCall is the length up to which a lone "help" asks the program for help
// and not a neighbour.
const shortCall = 3

// describesDoor: the message tells about a door, and not only inside questions.
func (s *sheet) describesDoor(out *Reading) bool {
	if out.Outcome != "" && s.context.Memory.Door != nil {
		return true
	}
	if !out.DoorSaid || !s.onScene(out) {
		return false
	}
	for i, m := range s.marks {
		if m.sense(factSense) != nil && m.kind == factMark && !s.marks[i].asked {
			return true
		}
	}
	return false
}

// asksSomething: a question, or bare words of the trade. Beside another intent
// only a real question counts.
func (s *sheet) asksSomething(out *Reading, beside bool) bool {
	asked := slices.ContainsFunc(s.clauses, func(c clause) bool { return c.asks && c.to-c.from > 1 })
	topical := s.namesItem() || out.DoorSaid || s.namesTopic()
	switch {
	case beside:
		return asked && topical && s.hits(Ask)
	case asked && out.OffKit != "" && !s.namesItem() && !out.DoorSaid && !s.hits(asksCue):
		return false
	case asked:
		return topical || !s.hits(idleCue) && !s.hits(thanksCue) && out.OffKit == ""
	case s.hits(thanksCue) && !topical, out.OffKit != "", s.fineOnly():
		return false
	}
	return topical
}

// fineOnly says whether all that was said of the items is that they are fine.
func (s *sheet) fineOnly() bool {
	return slices.ContainsFunc(s.marks, func(m mark) bool {
		sense := m.sense(conditionSense)
		return sense != nil && m.kind == conditionMark && sense.status == fine
	})
}

func (s *sheet) namesTopic() bool {
	return slices.ContainsFunc(s.tokens, func(t token) bool {
		return s.words.topics[t.word] || s.words.topics[t.base]
	})
}
