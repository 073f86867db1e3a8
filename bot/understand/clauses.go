package understand

// clause is a stretch of the message between two borders.
type clause struct {
	from, to int       // marks
	end      tokenKind // the border behind it
	items    bool      // it names something in the kit
	offKit   bool      // it names other equipment
	asks     bool      // it is a question
	claimed  string    // which sayings in it belong to a command: all, loss or none
	bare     bool      // hardly more than a list of items
}

// divide cuts the marks into clauses, at borders and at "but", and finds the
// clauses that ask.
func (s *sheet) divide() {
	from := 0
	for i := range s.marks {
		m := &s.marks[i]
		if m.kind == wordMark && s.word(*m) == s.grammar.but && i > from {
			s.addClause(from, i, commaToken)
			from = i
		}
		m.clause = len(s.clauses)
		if m.kind == borderMark {
			s.addClause(from, i+1, s.tokens[m.at].kind)
			from = i + 1
		}
	}
	if from < len(s.marks) {
		s.addClause(from, len(s.marks), stopToken)
	}
}

func (s *sheet) addClause(from, to int, end tokenKind) {
	c := clause{from: from, to: to, end: end}
	for _, m := range s.marks[from:to] {
		c.items = c.items || m.kind == itemMark || m.kind == sizeMark
		c.offKit = c.offKit || m.kind == offKitMark
	}
	c.bare = s.bare(s.marks[from:to])
	c.asks = s.asks(s.marks[from:to], end)
	for i := from; i < to; i++ {
		s.marks[i].asked = c.asks
	}
	s.clauses = append(s.clauses, c)
}

// asks says whether a clause begins or ends like a question. A rig, small words
// or a greeting may come first; "E2 is missing" does not ask.
func (s *sheet) asks(marks []mark, end tokenKind) bool {
	if end == askToken {
		return true
	}
	if s.supposes(marks) {
		return true
	}
	subject := false
	for _, m := range marks {
		word := s.word(m)
		switch {
		case m.kind == itemMark || m.kind == sizeMark:
			return false // "can of air"
		case s.words.asking[word]:
			return !subject || !s.grammar.aux[word]
		case m.kind == unitMark:
			subject = true
		case word != 0 && (s.words.skip[word] || s.grammar.leads[word]):
		default:
			return false
		}
	}
	return false
}

// supposes says whether a clause is a question behind its condition: "if the
// film rips can we tape it".
func (s *sheet) supposes(marks []mark) bool {
	if !s.grammar.poses[s.word(marks[0])] {
		return false
	}
	for i, m := range marks[1:] {
		if s.grammar.aux[s.word(m)] && i+2 < len(marks) && s.grammar.subjects[s.word(marks[i+2])] {
			return true
		}
	}
	return false
}

// bare says whether a clause is hardly more than a list, so that what is said in
// the next one holds for its items too ("pry bar, drivers gone").
func (s *sheet) bare(marks []mark) bool {
	others := 0
	for _, m := range marks {
		if m.kind == wordMark && !s.grammar.lists[s.word(m)] && !s.skips(m) {
			others++
		}
	}
	return others <= 1
}

// skips says whether a mark is a small word that phrases pass over.
func (s *sheet) skips(m mark) bool { return s.words.skip[s.word(m)] }
