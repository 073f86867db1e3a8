package understand

import (
	"slices"

	"kitbell/bot/kit"
)

// scope is one rig, or several named together, and where in the message.
type scope struct {
	at   int // first mark
	refs []unitRef
}

// scopes groups the rigs of a message: "E2 and R2 both" is one group. Rigs that
// only gave something or got it are left out.
func (s *sheet) scopes() []scope {
	var all []scope
	joinable := false
	rigs := s.namesRig()
	for i, m := range s.marks {
		switch {
		case m.kind == unitMark && rigs && m.unit.id == "" && m.unit.station != "":
			// "covering at station 1, truck 1 has …": the rig is plain
		case m.kind == unitMark && s.aside(i):
			s.handedOver = true
			joinable = false
		case m.kind == unitMark && joinable:
			last := &all[len(all)-1]
			last.refs = append(last.refs, m.unit)
		case m.kind == unitMark:
			all = append(all, scope{at: i, refs: []unitRef{m.unit}})
			joinable = true
		case m.kind == borderMark && s.tokens[m.at].kind == commaToken:
		case m.kind == wordMark && (s.word(m) == s.grammar.and || s.word(m) == s.grammar.both):
		default:
			joinable = false
		}
	}
	return all
}

// namesRig says whether the message names a rig, and not only its station.
func (s *sheet) namesRig() bool {
	return slices.ContainsFunc(s.marks, func(m mark) bool { return m.kind == unitMark && m.unit.id != "" })
}

// aside says whether the rig at mark i is not the one that the report concerns.
func (s *sheet) aside(i int) bool {
	if i > 1 && s.marks[i-2].kind == conditionMark && s.marks[i-2].sense(conditionSense).status == status(kit.Missing) {
		return false // "missing from E3"
	}
	m := s.marks[i]
	if s.speaks(i) {
		return false
	}
	if i > 0 && s.marks[i-1].kind == wordMark && s.grammar.refers[s.word(s.marks[i-1])] {
		return true
	}
	if i+1 < len(s.marks) {
		// "on E11, not here"
		if next := s.marks[i+1].sense(conditionSense); next != nil && next.status == elsewhere {
			return true
		}
	}
	return m.end < len(s.tokens) && s.grammar.gives[s.tokens[m.end].word] || i > 0 && s.from(s.marks[i-1])
}

// speaks says whether the rig at mark i is who writes: "somebody from rescue
// here", "this is E4".
func (s *sheet) speaks(i int) bool {
	m := s.marks[i]
	if m.end < len(s.tokens) && s.tokens[m.end].word == s.grammar.here && i > 0 && s.word(s.marks[i-1]) != s.grammar.to {
		return m.end+1 == len(s.tokens) || s.tokens[m.end+1].border()
	}
	return false
}

// from says whether a mark ends with "from", as "back from" does, or tells where
// something was found.
func (s *sheet) from(m mark) bool {
	last := s.tokens[m.end-1].word
	sense := m.sense(conditionSense)
	return s.grammar.refers[last] || sense != nil && sense.status == found && s.grammar.places[last]
}

// unitsFor gives the rigs that a mention is about: "ours" is the speaker's; the
// rig named last before it; when all rigs come after, the next one; without any
// the speaker's.
func (s *sheet) unitsFor(m *mention, scopes []scope, first int) []unitRef {
	own := unitRef{id: s.context.Unit}
	if own.id == "" && s.context.Station != "" {
		own.candidates = s.withKit(s.units.byPlace[s.context.Station])
		if len(own.candidates) == 1 {
			own.id = own.candidates[0]
		}
	}
	if len(scopes) == 0 || m.own && s.handedOver {
		return []unitRef{own}
	}
	next, _ := slices.BinarySearchFunc(scopes, m.at, func(sc scope, at int) int { return sc.at - at })
	if scopes[0].at > first && next < len(scopes) {
		return scopes[next].refs
	}
	if next == 0 {
		return scopes[0].refs
	}
	return scopes[next-1].refs
}

// firstContent is the first mark that names an item or says something of one.
func (s *sheet) firstContent() int {
	return slices.IndexFunc(s.marks, func(m mark) bool {
		return m.kind == itemMark || m.kind == sizeMark || m.kind == conditionMark
	})
}
