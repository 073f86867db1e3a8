package understand

import "kitbell/bot/kit"

// holdsOther says whether something else lies in an item's place: "the film
// slot has a sandwich bag in it", "… where the knife goes". at is the item's
// mark.
func (c *clauseReader) holdsOther(at int) bool {
	m := c.marks[at]
	if c.followed(m.end, c.grammar.lives) && c.afterWhere(m.at) {
		return true
	}
	if c.followed(m.end, c.grammar.pouches) && c.putIn(at) {
		return true
	}
	if !c.followed(m.end, c.grammar.pouches) || !c.followed(m.end+1, c.grammar.holds) || m.end+3 >= len(c.tokens) {
		return false
	}
	next := c.tokens[m.end+2]
	return !next.border() && next.value < 0 && !c.words.negates[next.word] && !c.marks[c.markAt(m.end+1)].loses()
}

// loses says whether a mark says that something is gone: "has nothing".
func (m mark) loses() bool {
	sense := m.sense(conditionSense)
	return sense != nil && sense.status == status(kit.Missing)
}

func (c *clauseReader) followed(token int, by map[wordID]bool) bool {
	return token < len(c.tokens) && by[c.tokens[token].word]
}

func (c *clauseReader) afterWhere(token int) bool {
	for k := token - 1; k >= max(0, token-2); k-- {
		if c.tokens[k].word == c.grammar.where {
			return true
		}
	}
	return false
}

// takeWrong makes the one event of a clause of which the item at a mark is in
// the wrong hands.
func (c *clauseReader) takeWrong(at int, m *mention) {
	clause := c.marks[at].clause
	for len(c.events) > 0 && c.events[len(c.events)-1].clause == clause {
		c.events = c.events[:len(c.events)-1]
	}
	c.events = append(c.events, event{mention: m, clause: clause}, event{saying: saying{status: status(kit.Wrong)}, clause: clause})
	c.settled = clause + 1
}

// tabled says whether the number at mark i stands alone behind an item and a
// colon: "cards: 1".
func (c *clauseReader) tabled(i int) bool {
	if c.before == nil || c.before.at != i-2 || c.marks[i-1].kind != borderMark || c.tokens[c.marks[i-1].at].kind != colonToken {
		return false
	}
	return i+1 == len(c.marks) || c.marks[i+1].kind == borderMark
}

// putIn says whether "put", "stuck" or the like stands in the clause before a mark.
func (c *clauseReader) putIn(at int) bool {
	for i := at - 1; i >= max(c.clauses[c.marks[at].clause].from, at-reachOfPut); i-- {
		if c.grammar.puts[c.word(c.marks[i])] {
			return true
		}
	}
	return false
}

// reachOfPut is how many marks "put" may stand before the place it is put in.
const reachOfPut = 6

// listed says whether a clause only lists items with how many there are: "wood
// wedge 4 chock 1".
func (s *sheet) listed(n int) bool {
	c := s.clauses[n]
	pairs := 0
	for i := c.from + 1; i < c.to; i++ {
		switch s.marks[i].kind {
		case numberMark:
			if s.marks[i-1].kind == itemMark {
				pairs++
			}
		case conditionMark, negationMark:
			return false
		}
	}
	return pairs > 1 && s.marks[c.from].kind != numberMark
}
