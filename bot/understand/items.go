package understand

import "slices"

// mention is one place where the message names an item.
type mention struct {
	at        int      // index of its mark
	items     []string // what it may be; one when it is plain
	both      []string // what "both" of them are
	plural    bool
	amount    amount
	own       bool // "our", "my": the speaker's, whatever rig is named beside it
	none      bool // "no cards"
	dismissed bool // "not the thin shim"
	denied    bool // "isn't bent"
	says      []saying
}

// saying is what is said of a mention.
type saying struct {
	status  status
	amount  amount
	only    []string // items that it can be said of; empty for any
	cancels bool     // "cancel", "scratch": what follows is only named by it
	meant   status   // what was denied, when status is denied
}

// mentionAt makes the mention of an item mark. before is the last mention, which
// settles "the small one". It is nil for a lone "thin" when no shim was named.
func (s *sheet) mentionAt(i int, before *mention) *mention {
	m := s.marks[i]
	out := &mention{at: i, plural: s.tokens[m.end-1].plural, own: s.ownBefore(m.at)}
	if m.kind == sizeMark {
		size := m.sense(sizeSense)
		if size.alone && (before == nil || len(intersect(s.familyOf(before.items), size.items)) == 0) {
			return nil
		}
		out.items = s.sized(size.items, before)
		return out
	}
	for _, sense := range m.senses {
		if sense.kind != itemSense {
			continue
		}
		for _, id := range sense.items {
			if !slices.Contains(out.items, id) {
				out.items = append(out.items, id)
			}
		}
		out.both = sense.both
	}
	return out
}

// sized narrows the items of a size to the family of the item before: after
// "large hook", "the small one" is the small hook.
func (s *sheet) sized(items []string, before *mention) []string {
	family := s.pendingItems()
	if before != nil {
		family = s.familyOf(before.items)
	}
	if near := intersect(items, family); len(near) > 0 {
		return near
	}
	return items
}

// pendingItems are the candidates that the last answer asked about.
func (s *sheet) pendingItems() []string {
	if s.context.Memory.Pending == nil {
		return nil
	}
	var items []string
	for _, line := range s.context.Memory.Pending.Lines {
		if len(line.Items) > 1 {
			items = append(items, line.Items...)
		}
	}
	return items
}

// familyOf is the smallest group of items that holds all of these.
func (s *sheet) familyOf(items []string) []string {
	var best []string
	for _, group := range s.families {
		if containsAll(group, items) && (best == nil || len(group) < len(best)) {
			best = group
		}
	}
	return best
}

// ownBefore says whether "our" or "my" stands before token i.
func (s *sheet) ownBefore(i int) bool {
	for k := i - 1; k >= 0 && k >= i-2; k-- {
		if s.tokens[k].word == s.grammar.our {
			return true
		}
	}
	return false
}

// narrow settles an ambiguous mention by what is said of it: only an air wedge
// leaks.
func (m *mention) narrow() {
	if len(m.items) < 2 {
		return
	}
	for _, say := range m.says {
		if near := intersect(m.items, say.only); len(near) > 0 {
			m.items = near
		}
	}
}

// spread turns "both hooks" and "no shims" into one mention for each of them.
func (m *mention) spread() []*mention {
	whole := len(m.both) == len(m.items) && m.plural && (m.none || m.amount.all)
	paired := m.amount.both || slices.ContainsFunc(m.says, func(say saying) bool { return say.amount.both })
	if len(m.items) < 2 || len(m.both) == 0 || !paired && !whole {
		return []*mention{m}
	}
	var each []*mention
	for _, id := range m.both {
		one := *m
		one.items, one.amount, one.plural = []string{id}, amount{}, false
		one.says = slices.Clone(m.says)
		for i := range one.says {
			one.says[i].amount.both = false
		}
		each = append(each, &one)
	}
	return each
}

func intersect(a, b []string) []string {
	var both []string
	for _, x := range a {
		if slices.Contains(b, x) {
			both = append(both, x)
		}
	}
	return both
}

func containsAll(group, items []string) bool {
	for _, x := range items {
		if !slices.Contains(group, x) {
			return false
		}
	}
	return len(items) > 0
}
