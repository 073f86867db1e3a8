package understand

import (
	"slices"

	"kitbell/bot/kit"
)

// settle completes a reading: an answer to what was asked before, the rig that
// the message concerns, and what is still open.
func (s *sheet) settle(out *Reading) {
	s.answer(out)
	s.unsaid(out)
	out.Lines = slices.DeleteFunc(out.Lines, func(l Line) bool { return l.Count < 1 }) // "0 films torn" says that none is
	s.unclear(out)
	s.unheard(out)
	s.strange(out)
	s.askDoor(out)
	out.Unit = s.unit(out)
	if out.Unit == "" && (out.Intent == Check || out.Intent == Seal) {
		out.ask(AskUnit, s.openUnits(out))
	}
	if out.Has(Wish) {
		out.WishFor = s.wish()
	}
}

// unsaid drops what a message takes back of itself: "fork missing. scratch that,
// shove knife missing" says nothing of the fork, and closes no older line.
func (s *sheet) unsaid(out *Reading) {
	if !s.hits(Undo) || !reports(out) || out.Intent != Report {
		return
	}
	out.Lines = slices.DeleteFunc(out.Lines, func(l Line) bool { return l.Condition == kit.Resolved })
	out.Also = slices.DeleteFunc(out.Also, func(i Intent) bool { return i == Resolved || i == Undo })
}

// unit is the rig that the message names; the first line's; the speaker's. It
// stays empty when the message names one that does not exist.
func (s *sheet) unit(out *Reading) string {
	if len(out.Units) > 0 {
		if len(out.Lines) > 0 && slices.Contains(out.Units, out.Lines[0].Unit) {
			return out.Lines[0].Unit
		}
		return out.Units[0]
	}
	if s.namesUnknownUnit() {
		return ""
	}
	return s.context.Unit
}

func (s *sheet) namesUnknownUnit() bool {
	return slices.ContainsFunc(s.marks, func(m mark) bool { return m.kind == unitMark && m.unit.id == "" })
}

func (s *sheet) openUnits(out *Reading) []string {
	for _, m := range s.marks {
		if m.kind == unitMark && m.unit.id == "" {
			return m.unit.candidates
		}
	}
	return s.withKit(s.units.byPlace[s.context.Station])
}

// strange asks whose kit it is when a message says that something is wrong on a
// rig that does not exist, whatever the thing is.
func (s *sheet) strange(out *Reading) {
	if out.UnknownUnit == "" || out.Intent != None || s.onlyAsks() || out.OffKit != "" || !s.faulty() {
		return
	}
	out.Intent = Report
	out.ask(AskUnit, s.openUnits(out))
}

// unclear asks what is wrong when a message says of an item something that the
// vocabulary does not have: "the fork is all wibbly".
func (s *sheet) unclear(out *Reading) {
	if out.Intent != None && out.Intent != Ask || s.onlyAsks() || s.fineOnly() {
		return
	}
	for i, m := range s.marks {
		if m.kind != itemMark || m.asked || !s.saysStrange(i) {
			continue
		}
		p := PartialLine{Unit: s.context.Unit, Items: s.mentionAt(i, nil).items, Count: 1}
		if refs := s.scopes(); len(refs) > 0 {
			p.Unit, p.Units = refs[0].refs[0].id, refs[0].refs[0].candidates
		}
		out.Intent, out.Also = Report, nil
		out.Pending = &Pending{Intent: Report, Lines: []PartialLine{p}}
		out.ask(AskCondition, nil)
		if p.Unit == "" {
			out.ask(AskUnit, p.Units)
		}
		if len(p.Items) != 1 {
			out.ask(AskItem, p.Items)
		}
		return
	}
}

// unheard asks which thing a plain report is about when its name is none that
// anybody taught: "the gizmo is missing".
func (s *sheet) unheard(out *Reading) {
	if out.Intent != None && out.Intent != Ask || s.onlyAsks() || s.namesItem() || out.OffKit != "" || out.DoorSaid || s.hits(idleCue) {
		return
	}
	ofKit := s.speaksOfKit()
	for i, m := range s.marks {
		if m.kind != wordMark || m.asked || !s.placeholder(i) && !((ofKit || s.short()) && s.unheardThing(i)) {
			continue
		}
		if c, ok := s.faultBehind(i); ok && (c == kit.Missing || s.placeholder(i) || ofKit) {
			s.wonder(out, Report, c)
			if refs := s.scopes(); len(refs) > 0 {
				out.Pending.Lines[0].Unit, out.Pending.Lines[0].Units = refs[0].refs[0].id, refs[0].refs[0].candidates
			}
			out.Intent, out.Also = Report, nil
			if p := out.Pending.Lines[0]; p.Unit == "" {
				out.ask(AskUnit, p.Units)
			}
			return
		}
	}
}

// unheardThing says whether mark i is a word that nobody knows, behind "the" or
// "our". It counts in a short remark, or in one about the kit.
func (s *sheet) unheardThing(i int) bool {
	t := s.tokens[s.marks[i].at]
	return i > 0 && t.kind == wordToken && t.word == 0 && t.base == 0 && s.grammar.naming[s.word(s.marks[i-1])] && !s.everyday.knows(plain(s.raw(s.marks[i])))
}

// placeholder says whether mark i is a word for a thing whose name one forgot.
func (s *sheet) placeholder(i int) bool {
	t := s.tokens[s.marks[i].at]
	return s.grammar.things[t.word] || s.grammar.things[t.base]
}

// speaksOfKit says whether the message names the kit, so that a word that nobody
// knows is a thing of the kit's, and no coffee machine.
func (s *sheet) speaksOfKit() bool {
	return slices.ContainsFunc(s.tokens, func(t token) bool { return s.grammar.kits[t.word] || s.grammar.kits[t.base] })
}

// faultBehind is what is said to be wrong right behind mark i.
func (s *sheet) faultBehind(i int) (kit.Condition, bool) {
	for _, m := range s.marks[i+1 : s.clauses[s.marks[i].clause].to] {
		sense := m.sense(conditionSense)
		switch {
		case sense != nil && sense.status == inside: // "in the kit"
		case sense != nil && m.kind == conditionMark:
			c := kit.Condition(sense.status)
			return c, known(c) && c != kit.Resolved
		case !s.grammar.states[s.word(m)] && !s.skips(m) && m.kind != negationMark:
			return "", false
		}
	}
	return "", false
}

// saysStrange says whether mark i is followed by "is", "has" or the like and,
// in its clause, by a word that nobody knows.
func (s *sheet) saysStrange(i int) bool {
	c := s.clauses[s.marks[i].clause]
	if i+1 >= c.to || !s.grammar.states[s.word(s.marks[i+1])] {
		return false
	}
	return slices.ContainsFunc(s.marks[i+1:c.to], func(m mark) bool {
		return m.kind == wordMark && s.tokens[m.at].word == 0 && s.tokens[m.at].base == 0
	})
}

// answer completes the report that waits for a word: "engine 4", "the small
// one", "bent". A message with lines of its own is a new report.
func (s *sheet) answer(out *Reading) {
	waiting := s.context.Memory.Pending
	if waiting == nil || len(out.Lines) > 0 || out.Intent != None && out.Intent != Ask && out.Intent != Report || s.onlyAsks() {
		return
	}
	lines, rest := s.completed(waiting.Lines)
	if len(lines) == 0 {
		return
	}
	out.Lines, out.AskBack, out.Pending = lines, nil, nil
	out.Intent, out.Also = waiting.Intent, nil
	for _, p := range rest {
		if out.Pending == nil {
			out.Pending = &Pending{Intent: waiting.Intent}
		}
		out.Pending.Lines = append(out.Pending.Lines, p)
		if p.Unit == "" {
			out.ask(AskUnit, p.Units)
		}
		if len(p.Items) != 1 {
			out.ask(AskItem, p.Items)
		}
	}
}

// completed fills waiting lines with what this message names. Lines that the
// message does not touch are given back as rest.
func (s *sheet) completed(waiting []PartialLine) (lines []Line, rest []PartialLine) {
	said := s.answers()
	for _, p := range waiting {
		if p.Unit == "" {
			p.Unit = said.unit
		}
		if near := intersect(p.Items, said.items); len(p.Items) != 1 && len(near) == 1 {
			p.Items = near
		}
		if p.Condition == "" {
			p.Condition = said.condition
		}
		if p.Unit == "" || len(p.Items) != 1 || p.Condition == "" {
			rest = append(rest, p)
			continue
		}
		lines = append(lines, Line{Unit: p.Unit, Item: p.Items[0], Condition: p.Condition, Count: max(1, p.Count)})
	}
	return lines, rest
}
