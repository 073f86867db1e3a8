package understand

import (
	"slices"

	"kitbell/bot/kit"
)

// event is an item or something said of one, in the order of the message.
type event struct {
	mention *mention // nil for something said
	saying  saying
	clause  int
}

// assembler hangs what is said on the items it is said of. Crews say it before
// ("lost the hook and a chock") or behind ("hook and chock are gone"); which of
// the two holds is decided for each clause by what comes first in it.
type assembler struct {
	mentions []*mention
	waiting  []*mention // named, nothing said of them yet
	last     []*mention // what was last spoken of
	carried  *saying    // "missing: fork, film": goes on over the next clauses
	denied   *saying    // "the large one isn't bent": holds for what is named next
	orphans  []saying   // said of nothing
}

// readLines fills the lines and what has to be asked about them.
func (s *sheet) readLines(out *Reading) {
	events := s.events()
	var a assembler
	for from := 0; from < len(events); {
		to := from
		for to < len(events) && events[to].clause == events[from].clause {
			to++
		}
		a.clause(events[from:to], s.clauses[events[from].clause])
		from = to
	}
	a.finish()
	s.collect(out, &a)
}

// clause hangs the sayings of one clause on its items.
func (a *assembler) clause(events []event, c clause) {
	items := slices.ContainsFunc(events, func(e event) bool { return e.mention != nil })
	sayings := slices.ContainsFunc(events, func(e event) bool { return e.mention == nil })
	switch {
	case items && !sayings:
		a.onlyItems(events, c)
	case sayings && !items:
		a.onlySayings(events, c.end)
	case events[0].mention == nil && c.end != colonToken:
		a.before(events)
	default:
		a.behind(events, c)
	}
}

func (a *assembler) onlyItems(events []event, c clause) {
	for _, e := range events {
		a.mentions = append(a.mentions, e.mention)
		switch {
		case a.carried != nil:
			a.hang(*a.carried, e.mention)
		case a.denied != nil:
			a.hang(*a.denied, e.mention)
		default:
			a.wait(c, e.mention)
		}
	}
}

// onlySayings is "…, cracked" after the item was named, or "missing: …" before.
func (a *assembler) onlySayings(events []event, end tokenKind) {
	for _, e := range events {
		say := e.saying
		switch {
		case end == colonToken:
			a.carried = &say
		case len(a.waiting) > 0:
			a.hang(say, a.take()...)
		case len(a.last) > 0:
			a.hang(say, a.last...)
		default:
			a.orphans = append(a.orphans, say)
			a.carried = &say
		}
	}
}

// before hangs each saying on the items that follow it; one without items
// behind it adds to those before it.
func (a *assembler) before(events []event) {
	a.denied = nil
	var current saying
	fresh := false
	var group []*mention
	for _, e := range events {
		if e.mention == nil {
			if fresh && current.status == found && (current.cancels || e.saying.status == status(kit.Missing)) {
				continue // "cancel the missing fork"
			}
			if fresh && len(group) == 0 && len(a.waiting) > 0 {
				a.hang(current, a.take()...)
			}
			current, fresh = e.saying, true
			continue
		}
		if fresh {
			group, fresh = nil, false
		}
		a.mentions = append(a.mentions, e.mention)
		group = append(group, e.mention)
		a.hang(current, e.mention)
	}
	if fresh && len(group) > 0 {
		a.hang(current, group[len(group)-1])
	}
	a.last = group
	a.carried = &current
}

// behind hangs each saying on the items before it.
func (a *assembler) behind(events []event, c clause) {
	a.carried, a.denied = nil, nil
	var group []*mention
	said := false
	for i, e := range events {
		if e.mention != nil {
			if said {
				group, said = nil, false
			}
			a.mentions = append(a.mentions, e.mention)
			if i+1 == len(events) || events[i+1].mention == nil || !e.mention.complete() {
				group = append(group, e.mention)
			}
			continue
		}
		if !said {
			group = append(a.take(), group...)
		}
		if said && i > 0 && lastSaying(events) == i && i+1 < len(events) {
			a.before(events[i:]) // "mirror's cracked and we can't find one of the chocks"
			return
		}
		a.hang(e.saying, group...)
		said = true
	}
	if !said {
		a.wait(c, group...)
	}
	a.last = group
}

func lastSaying(events []event) int {
	for i, e := range slices.Backward(events) {
		if e.mention == nil {
			return i
		}
	}
	return -1
}

func (a *assembler) hang(say saying, on ...*mention) {
	if len(on) == 0 {
		return
	}
	if say.status == denied {
		say.status = say.meant
		a.denied = &say
		for _, m := range on {
			m.denied = true
		}
		return
	}
	if len(on) == 2 && say.amount.both {
		say.amount.both = false // both things, not two pieces of each
	}
	for _, m := range on {
		if say.status == same {
			a.repeat(m)
			continue
		}
		m.says = append(m.says, say)
	}
	a.last = on
}

// repeat says of m what was said of the item before it.
func (a *assembler) repeat(m *mention) {
	for i, other := range slices.Backward(a.mentions) {
		if other != m && len(other.says) > 0 && i < len(a.mentions) {
			m.says = append(m.says, other.says[len(other.says)-1])
			return
		}
	}
}

// wait keeps items for what the next clause says, when theirs is only a list;
// otherwise they are still what was last spoken of.
func (a *assembler) wait(c clause, items ...*mention) {
	a.last = items
	for _, m := range items {
		if c.bare && !m.complete() {
			a.waiting = append(a.waiting, m)
		}
	}
}

func (a *assembler) take() []*mention {
	waiting := a.waiting
	a.waiting = nil
	return waiting
}

// complete says whether a mention needs no further word: "no cards", "has two
// hooks".
func (m *mention) complete() bool {
	return m.none || m.amount.said() && (m.amount.have || m.amount.only)
}

// finish reads what was named with a number but without a word about it: "two
// thick shims", "no thin".
func (a *assembler) finish() {
	for _, m := range a.mentions {
		switch {
		case m.none:
			m.says = append(m.says, saying{status: status(kit.Missing)})
		case len(m.says) == 0 && m.complete():
			m.says = []saying{{status: have}}
		}
	}
}
