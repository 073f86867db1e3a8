package understand

import (
	"slices"

	"kitbell/bot/kit"
)

// reach is how many marks a negation looks ahead for what it turns around.
const reach = 3

// clauseReader walks the marks of a message and makes the events of each
// clause: it counts, negates and leaves out what is asked or belongs to a
// command.
type clauseReader struct {
	*sheet
	counter
	events     []event
	negated    int // mark of the last negation, -1 for none
	before     *mention
	named      []string // items that were plain so far
	unreturned int      // "didn't put … back": the clause, counted from 1
	breaks     bool     // "won't telescope": no condition was named so far
	timesRow   bool     // "film x" waits for its number
	settled    int      // the clause in which all is said, counted from 1
	lists      bool     // the clause only lists items and numbers
}

// events lists the items and what is said of them.
func (s *sheet) events() []event {
	c := clauseReader{sheet: s, negated: -1}
	for i, m := range s.marks {
		if i == 0 || s.marks[i-1].clause != m.clause {
			c.lists = s.listed(m.clause)
		}
		if c.settled == m.clause+1 && m.kind != borderMark {
			continue
		}
		switch m.kind {
		case borderMark:
			c.flush()
			c.border(i)
		case negationMark:
			c.negated = i
			c.breaks = c.grammar.breaks[s.word(m)] && c.beforeIn(i) != nil && !m.asked
			if len(c.events) > 0 && s.tokens[m.at].value == 0 {
				c.counter.number(0, m.at)
			}
		case numberMark:
			c.numberAt(i)
		case wordMark:
			c.wordAt(i)
		case itemMark, sizeMark:
			c.itemAt(i)
		case conditionMark:
			c.conditionAt(i)
		}
	}
	c.flush()
	return c.events
}

// flush ends a clause: a number that nothing took goes to the item before ("film
// count is 1", "…, they have zero"), and what an item will not do is damage.
func (c *clauseReader) flush() {
	c.flushNumber()
	if c.breaks {
		c.breaks = false
		c.events = append(c.events, event{saying: saying{status: status(kit.Damaged)}, clause: c.marks[c.before.at].clause})
	}
}

func (c *clauseReader) flushNumber() {
	if n := len(c.events); n > 0 && c.counter.given && c.events[n-1].saying.status == short {
		c.events[n-1].saying.amount = c.counter.amount // "short by two"
	}
	if c.before != nil && c.counter.both {
		c.before.amount.both = true // "shims rusty, both"
	}
	if c.before != nil && !c.before.amount.said() && c.countsThem() {
		c.before.amount = amount{n: c.counter.n, given: true} // "cards tore, 2 of them"
	}
	c.counter.have = c.counter.have || c.counter.of > 0 // "steel wedges 1 of 2"
	if c.before != nil && c.counter.given && (c.counter.have || c.counter.only) && !c.before.amount.given {
		c.before.amount = c.counter.amount
	}
}

// countsThem says whether the number left over is that of "two of them".
func (c *clauseReader) countsThem() bool {
	them := c.counter.at + 2
	return c.counter.given && c.counter.ofRow && them < len(c.tokens) && c.grammar.its[c.tokens[them].word]
}

func (c *clauseReader) border(i int) {
	if kind := c.tokens[c.marks[i].at].kind; kind == stopToken || kind == askToken {
		c.before = nil
	}
	c.negated, c.timesRow, c.counter = -1, false, counter{}
}

func (c *clauseReader) numberAt(i int) {
	m := c.marks[i]
	if c.timesRow && c.before != nil {
		c.before.amount.n, c.before.amount.given = c.tokens[m.at].value, true
		c.timesRow = false
		return
	}
	if c.lists && c.beforeIn(i) != nil && c.before.at == i-1 {
		c.before.amount = amount{n: c.tokens[m.at].value, given: true, have: true}
		return
	}
	if c.tabled(i) {
		c.before.amount = amount{n: c.tokens[m.at].value, given: true, have: true}
		return
	}
	if m.at > 0 && c.tokens[m.at-1].word == c.grammar.in {
		return // "got it in two"
	}
	c.counter.number(c.tokens[m.at].value, m.at)
	c.except()
}

// except reads "gone except one": so many remain.
func (c *clauseReader) except() {
	n := len(c.events)
	if n < 2 || c.events[n-1].saying.status != except || c.events[n-2].saying.status != status(kit.Missing) {
		return
	}
	c.events = c.events[:n-1]
	c.events[n-2].saying = saying{status: left, amount: c.counter.amount}
}

func (c *clauseReader) wordAt(i int) {
	m := c.marks[i]
	switch c.word(m) {
	case c.grammar.both:
		if i > 0 && c.marks[i-1].kind == unitMark {
			return // both rigs, not both pieces
		}
		c.counter.both, c.counter.at = true, m.at
	case c.grammar.all:
		c.counter.all, c.counter.at = true, m.at
	case c.grammar.half:
		c.counter.half, c.counter.at = true, m.at
	case c.grammar.of:
		c.counter.ofRow = c.counter.given
	case c.grammar.x:
		c.timesRow = true
	case c.grammar.but:
		if c.hits(Check) || m.at > 0 && c.grammar.entire[c.tokens[m.at-1].word] {
			c.events = append(c.events, event{saying: saying{status: except}, clause: m.clause})
		}
	}
}

func (c *clauseReader) itemAt(i int) {
	if i > 0 && c.marks[i-1].kind == wordMark && c.likened(c.marks[i].at) {
		return
	}
	m := c.mentionAt(i, c.before)
	if m == nil {
		if c.marks[i].sense(conditionSense) != nil {
			c.conditionAt(i)
		}
		return
	}
	if c.holdsOther(i) && !c.marks[i].asked {
		c.takeWrong(i, m)
		return
	}
	c.pointBack(m)
	if c.isOther(i) {
		for _, id := range m.items {
			addOnce(&c.before.items, id)
		}
		c.before.at = i // "… or mirror" may follow
		return
	}
	m.amount = c.counter.take(c.marks[i].at)
	c.narrowByList(m)
	if before := c.beforeIn(i); before != nil && before.none && c.joinedByOr(before.at, i) {
		m.none = true // "no fork or strap"
	}
	if c.negates(i) {
		m.none = c.word(c.marks[c.negated]) != c.grammar.not && !c.isVerb(c.negated)
		m.dismissed = !m.none
		c.negated = -1
	}
	if c.specifies(i, m) || c.counts(i, m) {
		return
	}
	c.before = m
	c.events = append(c.events, event{mention: m, clause: c.marks[i].clause})
}

// narrowByList settles "3 of 4 wedges" when the list has four of one kind only.
func (c *clauseReader) narrowByList(m *mention) {
	if len(m.items) < 2 || m.amount.of < 2 {
		return
	}
	var listed []string
	for _, id := range m.items {
		if c.kitQty[id] == m.amount.of {
			listed = append(listed, id)
		}
	}
	if len(listed) == 1 {
		m.items = listed
	}
}

// isOther says whether the item at mark i is only what the one before it may be
// too: "fork or strap missing". "No fork or strap" and "can't find the fork or
// the strap" speak of both.
func (c *clauseReader) isOther(i int) bool {
	before := c.beforeIn(i)
	if before == nil || !c.joinedByOr(before.at, i) {
		return false
	}
	from := c.marks[c.clauses[c.marks[i].clause].from].at
	return !slices.ContainsFunc(c.tokens[from:c.marks[i].at], func(t token) bool { return c.words.negates[t.word] })
}

// joinedByOr says whether nothing but "or", and small words, stands between two
// marks.
func (s *sheet) joinedByOr(from, to int) bool {
	joined := false
	for _, m := range s.marks[from+1 : to] {
		switch {
		case m.kind != wordMark:
			return false
		case s.word(m) == s.grammar.or:
			joined = true
		case !s.skips(m) && !s.grammar.lists[s.word(m)]:
			return false
		}
	}
	return joined
}

// eitherIs says whether something is said of one of two items that "or" joins,
// right behind them or before.
func (s *sheet) eitherIs(first, last int) bool {
	if first >= last || s.marks[first].clause != s.marks[last].clause || !s.joinedByOr(first, last) {
		return false
	}
	c := s.clauses[s.marks[last].clause]
	for _, m := range s.marks[c.from:first] {
		if m.kind == conditionMark {
			return true
		}
	}
	for _, m := range s.marks[last+1 : c.to] {
		switch {
		case m.kind == conditionMark:
			return true
		case m.kind == itemMark, m.kind == sizeMark, s.word(m) == s.grammar.or: // "… or mirror"
		case !s.grammar.states[s.word(m)] && !s.skips(m):
			return false
		}
	}
	return false
}

// pointBack settles "the rod" when the message has named just one of the rods.
func (c *clauseReader) pointBack(m *mention) {
	if at := c.marks[m.at].at; len(m.items) > 1 && at > 0 && c.grammar.points[c.tokens[at-1].word] {
		if known := intersect(m.items, c.named); len(known) == 1 {
			m.items = known
		}
	}
	if len(m.items) == 1 {
		addOnce(&c.named, m.items[0])
	}
}

// likened says whether "as" or "like" stands before token i: the hook that was
// used as a screwdriver is no screwdriver.
func (c *clauseReader) likened(i int) bool {
	for k := i - 1; k >= max(0, i-2); k-- {
		if c.grammar.likens[c.tokens[k].word] {
			return true
		}
	}
	return false
}

// specifies says whether a mention only tells which of several the one before
// was: "two wedges, wood ones".
func (c *clauseReader) specifies(i int, m *mention) bool {
	if c.before == nil || len(c.before.items) < 2 || len(m.items) != 1 || !c.grammar.ones[c.tokens[c.marks[i].end-1].word] {
		return false
	}
	if len(intersect(c.before.items, m.items)) == 0 {
		return false
	}
	c.before.items = m.items
	return true
}

// counts says whether a mention only adds how many the one before was: "film is
// creased, both sheets".
func (c *clauseReader) counts(i int, m *mention) bool {
	here := c.clauses[c.marks[i].clause]
	alone := !slices.ContainsFunc(c.marks[here.from:here.to], func(m mark) bool { return m.kind == conditionMark || m.kind == negationMark })
	if !alone || !m.amount.both || c.before == nil || c.before.amount.said() || !slices.Equal(c.before.items, m.items) {
		return false
	}
	c.before.amount = m.amount
	return true
}

// isVerb says whether a negation is that of a verb (isn't, don't), which does
// not say that an item is gone.
func (c *clauseReader) isVerb(negation int) bool {
	w := c.word(c.marks[negation])
	return w != c.grammar.no && !c.grammar.none[w]
}

func (c *clauseReader) conditionAt(i int) {
	m := c.marks[i]
	c.breaks = false
	st, limits := c.status(m)
	if st == status(kit.Missing) && c.words.negates[c.word(m)] {
		c.unreturned = m.clause + 1
	}
	switch {
	case st == aside, c.ignores(i, st):
		return
	case st == only:
		c.counter.only, c.counter.at = true, m.end
		if n := c.tokens[m.end-1].value; n > 0 {
			c.counter.number(n, m.end) // "just the one chock"
		}
		return
	case st == have:
		c.counter.have = true
		if before := c.beforeIn(i); before != nil && before.amount.given {
			before.amount.have = true // "3 wedges instead of 4"
		}
		return
	}
	say := saying{status: st, amount: c.counter.take(m.at), only: limits}
	say.cancels = c.grammar.cancels[c.word(m)]
	say, ok := c.reconsider(i, say)
	c.negated = -1
	if !ok {
		return
	}
	c.events = append(c.events, event{saying: say, clause: m.clause})
}

// status is what a condition phrase says, and the items it can be said of when
// one of its readings is choosy.
func (c *clauseReader) status(m mark) (status, []string) {
	var st status
	var limits []string
	for _, sense := range m.senses {
		if sense.kind != conditionSense {
			continue
		}
		if len(sense.items) == 0 && st == "" {
			st = sense.status
		}
		limits = append(limits, sense.items...)
		if st == "" {
			st = sense.status
		}
	}
	return st, limits
}

// ignores leaves out what is asked, what a command claims and what is said of
// somebody else's equipment.
func (c *clauseReader) ignores(i int, st status) bool {
	m := c.marks[i]
	if m.asked && st != alsoAsked || c.succeeds(m) {
		return true
	}
	here := c.clauses[m.clause]
	if st == fine && here.items && c.beforeIn(i) == nil {
		return true // "all good except …", "engine seven here, …"
	}
	return here.claimed == "all" || here.claimed == "loss" && isLoss(st) || here.offKit && !here.items
}

// succeeds says whether "popped" tells of a door and not of a bulb, and "rip" is
// a sigh: nothing else stands in its clause.
func (c *clauseReader) succeeds(m mark) bool {
	here := c.clauses[m.clause]
	if m.end > m.at+1 || here.items || !here.bare {
		return false
	}
	word := c.words.names[c.word(m)]
	return word == "rip" || word == "popped" && c.hits(Used)
}

// reconsider turns a saying around when it is negated, and settles "left". ok is
// false when nothing remains: "nothing missing" is said of no item.
func (c *clauseReader) reconsider(i int, say saying) (out saying, ok bool) {
	negated := c.negates(i) && !c.corrects(say.status)
	if negated && !c.clauses[c.marks[i].clause].items && c.grammar.none[c.word(c.marks[c.negated])] && say.status != left {
		return say, false
	}
	counted := say.amount.given || c.beforeIn(i) != nil && (c.beforeIn(i).amount.given || c.beforeIn(i).none)
	if say.status == found && c.grammar.cancels[c.word(c.marks[i])] && !c.namesItem() {
		return say, false // a bare "never mind" is talk, and closes nothing
	}
	if say.status == back {
		if c.beforeIn(i) == nil || c.unreturned == c.marks[i].clause+1 {
			return say, false
		}
		say.status = found
	}
	switch {
	case say.status == inside && !negated && !counted:
		return say, false
	case say.status == inside && negated:
		say.status = status(kit.Missing)
	case say.status == inside:
		say.status = left
	case say.status == left && negated:
		say.status, say.amount = left, amount{given: true}
	case say.status == left && (!counted || c.beforeIn(i) != nil && c.beforeIn(i).none):
		say.status = status(kit.Missing)
	case negated && c.word(c.marks[i]) == c.grammar.left && c.grammar.none[c.word(c.marks[c.negated])]:
		say.status, say.amount = left, amount{given: true} // "nothing left in the pouch"
	case negated && say.status == fine && c.word(c.marks[c.negated]) == c.grammar.didnt:
		return say, false // it did not open the door, which is no fault
	case !negated:
	case say.status == status(kit.Missing), say.status == alsoAsked, say.status == short:
		say.status = found
	case say.status == fine:
		say.status = status(kit.Damaged)
	case say.status == found:
		say.status = status(kit.Missing)
	case say.status != left:
		say.meant, say.status = say.status, denied
	}
	return say, true
}

// isLoss says whether a saying is only about being there or not.
func isLoss(st status) bool {
	switch st {
	case status(kit.Missing), left, short, found, back, needs, status(kit.Extra), alsoAsked:
		return true
	}
	return false
}

// corrects says whether the last negation takes back what was said and does not
// turn around what follows: "wait no found it".
func (c *clauseReader) corrects(st status) bool {
	return st == found && c.negated >= 0 && c.word(c.marks[c.negated]) == c.grammar.no
}

// beforeIn is the last item when it stands in the same clause as mark i.
func (c *clauseReader) beforeIn(i int) *mention {
	if c.before == nil || c.marks[c.before.at].clause != c.marks[i].clause {
		return nil
	}
	return c.before
}

// negates says whether the last negation reaches mark i.
func (c *clauseReader) negates(i int) bool {
	return c.negated >= 0 && i-c.negated <= reach && c.marks[c.negated].clause == c.marks[i].clause
}
