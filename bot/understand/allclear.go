package understand

import (
	"slices"

	"kitbell/bot/kit"
)

// fillCheck says what a check found, and whose kit it was. "All there" needs
// words that say so and none near them that deny or doubt it: a false all-clear
// sends a crew out with a kit that is short.
func (s *sheet) fillCheck(out *Reading) {
	out.SealState = s.sealState()
	if !out.Has(Check) {
		return
	}
	switch {
	case s.hits(notToday):
		out.Check = kit.NotToday
	case out.Has(Report) || s.hits(deniedCue) || s.faulty() || out.SealState == SealBroken:
		out.Check = kit.Off
	case s.clearSaid() && !s.doubtful():
		out.Check = kit.AllThere
	}
}

// clearSaid says whether the message states that all is there.
func (s *sheet) clearSaid() bool {
	return slices.ContainsFunc(s.cueHits, func(h cueHit) bool { return h.intent == Check && !h.asked })
}

// inClear says whether a token belongs to words that say all is there, as the
// negation of "nothing missing" does.
func (s *sheet) inClear(token int) bool {
	return slices.ContainsFunc(s.cueHits, func(h cueHit) bool { return h.intent == Check && h.from <= token && token < h.to })
}

// faulty says whether something is said to be wrong, outside the words that say
// that nothing is.
func (s *sheet) faulty() bool {
	for i, m := range s.marks {
		sense := m.sense(conditionSense)
		if sense == nil || m.kind != conditionMark || s.inClear(m.at) || m.asked {
			continue
		}
		switch sense.status {
		case fine, found, have, back, inside, aside, only, same:
		default:
			if !s.denies(i) || !s.words.negates[s.tokens[m.at-1].word] {
				return true
			}
		}
	}
	return false
}

// doubtful says whether a negation or a word of doubt stands in the message
// outside the words that say all is there. A lone "no, ..." is an answer.
func (s *sheet) doubtful() bool {
	for i, t := range s.tokens {
		if s.inClear(i) {
			continue
		}
		if s.grammar.doubts[t.word] || s.grammar.doubts[t.base] || s.grammar.torn[t.word] {
			return true
		}
		answer := (i == 0 || s.tokens[i-1].border()) && i+1 < len(s.tokens) && s.tokens[i+1].border()
		if s.words.negates[t.word] && !answer {
			return true
		}
	}
	return false
}

// sealReach is how many tokens a negation looks ahead for what it denies.
const sealReach = 3

// sealState reads what is said of a tag. Broken outweighs intact, and whatever
// leaves a doubt says nothing.
func (s *sheet) sealState() SealState {
	if !s.hits(Seal) && !slices.ContainsFunc(s.tokens, func(t token) bool { return s.grammar.seal[t.word] }) || s.onlyAsks() {
		return ""
	}
	state, negated, open := SealState(""), -sealReach-1, false
	for i, t := range s.tokens {
		near := i-negated <= sealReach
		switch {
		case t.border():
			negated = -sealReach - 1
		case s.words.negates[t.word]:
			negated, open = i, true
		case s.grammar.doubts[t.word]:
			return ""
		case s.grammar.whole[t.word] && near, s.grammar.torn[t.word] && !near:
			return SealBroken
		case s.grammar.whole[t.word], s.grammar.torn[t.word]:
			state = SealIntact
			open = open && !near
		}
	}
	if open {
		return ""
	}
	return state
}
