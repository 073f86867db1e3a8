package understand

import (
	"slices"
	"strings"

	"kitbell/bot/kit"
)

// Cue kinds that are no intents of their own.
const (
	notToday  Intent = "not-today" // a check that is put off
	lookedCue Intent = "looked"    // a check was made; what it found is said apart, if at all
	deniedCue Intent = "denied"    // "isn't all there"
	thanksCue Intent = "thanks"
	asksCue   Intent = "asks"  // a question without a question word
	tellsCue  Intent = "tells" // a statement that is put as a question
	idleCue   Intent = "idle"  // what a station talks about all day
	openedCue Intent = "opened"
	failedCue Intent = "failed"
)

// cueHit is one place where the message says what it is for.
type cueHit struct {
	intent Intent
	from   int // token
	to     int
	clause int
	asked  bool
}

// findCues lays the cues over the message. They see items, rigs, numbers, days
// and platoons as such, whatever their names; cues may overlap.
func (s *sheet) findCues() {
	m := matcher{cells: s.cueCells(), skip: s.words.skip}
	var senses []*sense
	for i := range m.cells {
		if m.cells[i].border {
			continue
		}
		var end int
		senses, end = m.at(s.cues, i, senses[:0])
		if end < 0 {
			continue
		}
		last := m.cells[end-1]
		for _, sense := range senses {
			s.addHit(sense.cue, m.cells[i], last)
		}
	}
}

func (s *sheet) addHit(c *cue, first, last cell) {
	at := s.markAt(first.at)
	if c.intent == Check && at > 0 && s.marks[at-1].kind == negationMark {
		c = &cue{intent: deniedCue}
	}
	if c.intent != deniedCue && s.denies(at) && c.intent != Ask && c.intent != asksCue && c.intent != Undo {
		return // "didn't put the mirror back"
	}
	if c.intent == asksCue && s.eitherIs(at, s.markAt(last.at)) {
		return // "fork or strap missing" tells, though it cannot say which
	}
	hit := cueHit{intent: c.intent, from: first.at, to: last.at + last.span, clause: s.marks[at].clause, asked: s.marks[at].asked}
	s.cueHits = append(s.cueHits, hit)
	switch c.intent {
	case asksCue:
		s.setAsked(hit.clause, true)
	case tellsCue:
		s.setAsked(hit.clause, false)
	}
	if c.claims != "" && s.clauses[hit.clause].claimed != "all" {
		s.clauses[hit.clause].claimed = c.claims
		s.claimReason(hit.clause+1, c.claims)
	}
}

// claimReason claims a clause that only gives the reason for a command: "…,
// because one tears".
func (s *sheet) claimReason(n int, claims string) {
	if n < len(s.clauses) && s.word(s.marks[s.clauses[n].from]) == s.grammar.because {
		s.clauses[n].claimed = claims
	}
}

// denies says whether a negation stands right before mark i, or i began with one.
func (s *sheet) denies(i int) bool {
	if i > 0 && s.marks[i-1].kind == negationMark {
		return true
	}
	m := s.marks[i]
	return m.kind == conditionMark && m.sense(conditionSense).status == status(kit.Missing) && s.words.negates[s.word(m)]
}

// setAsked makes a clause a question, or takes it for a statement.
func (s *sheet) setAsked(n int, asked bool) {
	c := &s.clauses[n]
	if c.asks == asked {
		return
	}
	c.asks = asked
	for i := c.from; i < c.to; i++ {
		s.marks[i].asked = asked
	}
}

// markAt is the mark that covers a token.
func (s *sheet) markAt(token int) int {
	i, found := slices.BinarySearchFunc(s.marks, token, func(m mark, t int) int { return m.at - t })
	if !found {
		i--
	}
	return i
}

// cueCells is the message with every item, rig, number, day and platoon also
// standing for its kind.
func (s *sheet) cueCells() []cell {
	g := s.grammar
	cells := make([]cell, 0, len(s.tokens))
	for _, m := range s.marks {
		switch m.kind {
		case dateMark:
			cells = append(cells, cell{words: [3]wordID{g.dayCell, s.tokens[m.at].word}, at: m.at, span: m.end - m.at})
			continue
		case unitMark:
			cells = append(cells, cell{words: [3]wordID{g.unitCell}, at: m.at, span: m.end - m.at})
			continue
		case itemMark, sizeMark:
			c := cell{words: [3]wordID{g.itemCell}, at: m.at, span: m.end - m.at}
			if c.span == 1 {
				c.words[1] = s.tokens[m.at].word
			}
			cells = append(cells, c)
			continue
		}
		for i := m.at; i < m.end; i++ {
			cells = append(cells, s.tokenCell(i))
		}
	}
	return cells
}

func (s *sheet) tokenCell(i int) cell {
	t := s.tokens[i]
	c := cell{words: [3]wordID{t.word, t.base}, border: t.border(), at: i, span: 1}
	switch {
	case s.platoonAt(i) != "":
		c.words[2] = s.grammar.platoonCell
	case t.value >= 0:
		c.words[2] = s.grammar.numberCell
	case s.words.days[t.word] != "":
		c.words[2] = s.grammar.dayCell
	}
	return c
}

// hits says whether the message has a cue of this kind.
func (s *sheet) hits(intent Intent) bool {
	return slices.ContainsFunc(s.cueHits, func(h cueHit) bool { return h.intent == intent })
}

// longest is the number of tokens of the longest cue of this kind, 0 for none.
func (s *sheet) longest(intent Intent) int {
	n := 0
	for _, h := range s.cueHits {
		if h.intent == intent {
			n = max(n, h.to-h.from)
		}
	}
	return n
}

// platoonName is a platoon as the department names it.
type platoonName struct {
	name  string
	words []wordID
}

// loadPlatoons takes the platoons' names from the department's rotation; a
// department without one is taken to have A, B and C.
func (r *Reader) loadPlatoons() error {
	names := r.dept.Rotation.Platoons()
	if len(names) == 0 {
		names = []string{"A", "B", "C"}
	}
	if !slices.ContainsFunc(names, func(name string) bool { return len(name) != 1 }) && len(names) == 3 {
		names = append(names, "D") // asked for where there is none, which the answer says
	}
	for _, name := range names {
		if words := r.words.wordsOf(name); len(words) > 0 {
			r.platoons = append(r.platoons, platoonName{name, words})
			continue
		}
		r.platoons = append(r.platoons, platoonName{name, r.words.list(strings.ToLower(name))}) // A, which phrases pass over
	}
	return nil
}

// platoonAt reads "B", "b shift", "platoon c", "Gold" at token i. A letter is a
// platoon's when it is a capital or stands beside "shift"; A and I only so.
func (s *sheet) platoonAt(i int) string {
	t := s.tokens[i]
	if t.kind != wordToken {
		return ""
	}
	for _, p := range s.platoons {
		if !s.reads(p.words, i) {
			continue
		}
		written := s.text[t.from:t.to]
		beside := s.isShift(i+1) || s.isShift(i-1)
		if len(p.words) > 1 || t.to-t.from > 1 || beside || written == strings.ToUpper(written) && written != "A" && written != "I" && !s.numbered(i) {
			return p.name
		}
	}
	return ""
}

// numbered says whether a number stands right behind token i: B5 is a rig.
func (s *sheet) numbered(i int) bool {
	return i+1 < len(s.tokens) && s.tokens[i+1].kind == numberToken && s.tokens[i+1].joined
}

func (s *sheet) isShift(i int) bool {
	return i >= 0 && i < len(s.tokens) && s.grammar.shift[s.tokens[i].word]
}
