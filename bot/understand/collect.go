package understand

import (
	"slices"
	"strings"

	"kitbell/bot/kit"
)

// readMentions fills what the message names, whatever it says about it.
func (s *sheet) readMentions(out *Reading) {
	for i, m := range s.marks {
		switch m.kind {
		case unitMark:
			s.addUnit(out, m.unit)
			if m.unit.id == "" && m.unit.station == "" && !m.unit.open && out.UnknownUnit == "" && !s.possessive(m) {
				out.UnknownUnit = strings.TrimSuffix(strings.TrimSuffix(s.raw(m), "'s"), "’s")
			}
		case itemMark:
			if items := s.mentionAt(i, nil).items; len(items) == 1 {
				addOnce(&out.Items, items[0])
			}
		case offKitMark:
			if out.OffKit == "" {
				out.OffKit = s.raw(m)
			}
		}
	}
	s.readSmallThings(out)
}

// possessive says whether a rig was named by its number alone: "4's kit".
func (s *sheet) possessive(m mark) bool { return s.tokens[m.at].kind == numberToken }

func (s *sheet) addUnit(out *Reading, ref unitRef) {
	if ref.station != "" && out.Station == "" {
		out.Station = ref.station
	}
	if ref.id == "" {
		return
	}
	addOnce(&out.Units, ref.id)
	out.UnitNamed = true
}

func addOnce(list *[]string, id string) {
	if !slices.Contains(*list, id) {
		*list = append(*list, id)
	}
}

// finding is one incomplete or complete line before units are put to it.
type finding struct {
	mention   *mention
	condition kit.Condition
	count     int
}

// collect turns mentions into lines, and what is open into questions.
func (s *sheet) collect(out *Reading, a *assembler) {
	scopes := s.scopes()
	first := s.firstContent()
	seen := map[Line]bool{}
	for _, f := range s.findings(a) {
		for _, ref := range s.unitsFor(f.mention, scopes, first) {
			s.addFinding(out, f, ref, seen)
		}
	}
	if len(out.Lines) == 0 && out.Pending == nil {
		s.cleared(out, a, scopes, first)
	}
	s.recall(out, a)
}

// findings lists what is said of each item, one matter at a time.
func (s *sheet) findings(a *assembler) []finding {
	var all []finding
	for _, m := range a.mentions {
		m.narrow()
		if m.dismissed || s.notInKits(m) {
			continue
		}
		for _, each := range m.spread() {
			all = append(all, s.matters(each)...)
		}
	}
	return all
}

// notInKits says whether an item is on no kit list: the irons ride elsewhere.
func (s *sheet) notInKits(m *mention) bool {
	return len(m.items) == 1 && len(s.kitQty) > 0 && s.kitQty[m.items[0]] == 0
}

// matters turns the sayings about one mention into lines: several when each has
// a number of its own ("2 split, 1 missing"), the gravest otherwise.
func (s *sheet) matters(m *mention) []finding {
	qty := 1
	if len(m.items) == 1 {
		qty = max(1, s.kitQty[m.items[0]])
	}
	var all []finding
	numbered := 0
	for _, say := range telling(m.says) {
		if say.status == spent {
			say.status = s.spentMeans(m)
		}
		c, n, ok := say.line(m, qty)
		if !ok {
			continue
		}
		if say.amount.given || m.amount.given && len(all) == 0 {
			numbered++
		}
		all = append(all, finding{m, c, n})
	}
	if numbered == len(all) && numbered > 1 {
		return all
	}
	return gravest(all)
}

// telling leaves out what is only said in want of better ("needs a wash",
// "everything but the can, which is low") when there is better.
func telling(says []saying) []saying {
	if without := onlyWithout(says); without != nil {
		return without
	}
	counted := slices.ContainsFunc(says, func(say saying) bool { return say.status == left })
	weak := func(say saying) bool {
		if say.status == status(kit.Low) && counted {
			return true // "low on wedges, like 1 left"
		}
		return say.status == needs || say.status == except || say.status == spent
	}
	if !slices.ContainsFunc(says, func(say saying) bool { return !weak(say) }) {
		return says
	}
	return slices.DeleteFunc(slices.Clone(says), weak)
}

// onlyWithout is the exception alone when all else is said of the rest:
// "everything but the fork is here".
func onlyWithout(says []saying) []saying {
	var without []saying
	for _, say := range says {
		switch say.status {
		case except:
			without = []saying{say}
		case fine, found:
		default:
			return nil
		}
	}
	return without
}

// spentMeans: what is used up is missing once it is done; a tool is broken.
func (s *sheet) spentMeans(m *mention) status {
	if len(m.items) == 1 && s.consumable[m.items[0]] {
		return status(kit.Missing)
	}
	return status(kit.Damaged)
}

// gravest keeps the one line that says most. Found is last: a bent hook that
// was found is bent; but a missing one that was found is there.
func gravest(all []finding) []finding {
	if len(all) < 2 {
		return all
	}
	best := all[0]
	for i, f := range all[1:] {
		switch {
		case f.condition == kit.Resolved && best.condition == kit.Missing,
			f.condition == kit.Missing && best.condition == kit.Resolved && i+1 < len(all)-1:
			best.condition = kit.Resolved
		case weight(f.condition) > weight(best.condition):
			best = f
		}
	}
	return []finding{best}
}

func weight(c kit.Condition) int {
	order := []kit.Condition{kit.Resolved, kit.Extra, kit.Low, kit.Dirty, kit.Worn, kit.Missing, kit.Expired, kit.Wrong, kit.Damaged}
	return slices.Index(order, c)
}

// addFinding files one line, or keeps it as pending with what it lacks.
func (s *sheet) addFinding(out *Reading, f finding, ref unitRef, seen map[Line]bool) {
	if ref.id != "" && len(f.mention.items) == 1 {
		line := Line{Unit: ref.id, Item: f.mention.items[0], Condition: f.condition, Count: f.count}
		if !seen[line] {
			seen[line] = true
			out.Lines = append(out.Lines, line)
		}
		return
	}
	if out.Pending == nil {
		out.Pending = &Pending{Intent: Resolved}
	}
	if f.condition != kit.Resolved {
		out.Pending.Intent = Report
	}
	out.Pending.Lines = append(out.Pending.Lines, PartialLine{
		Unit: ref.id, Units: ref.candidates, Items: f.mention.items, Condition: f.condition, Count: f.count,
	})
	if ref.id == "" {
		out.ask(AskUnit, ref.candidates)
	}
	if len(f.mention.items) != 1 {
		out.ask(AskItem, f.mention.items)
	}
}

// ask notes a question once, with every candidate.
func (r *Reading) ask(about string, candidates []string) {
	for i := range r.AskBack {
		if r.AskBack[i].About == about {
			for _, c := range candidates {
				addOnce(&r.AskBack[i].Candidates, c)
			}
			return
		}
	}
	r.AskBack = append(r.AskBack, Question{About: about, Candidates: slices.Clone(candidates)})
}

// cleared closes what a message only denies: "the air wedge isn't leaking".
func (s *sheet) cleared(out *Reading, a *assembler, scopes []scope, first int) {
	for _, m := range a.mentions {
		if len(m.items) != 1 || !m.denied && !(m.allFine() && a.takesBack()) {
			continue
		}
		for _, ref := range s.unitsFor(m, scopes, first) {
			s.addFinding(out, finding{m, kit.Resolved, 1}, ref, map[Line]bool{})
		}
	}
}

// allFine says whether something, and only good, is said of an item.
func (m *mention) allFine() bool {
	return len(m.says) > 0 && !slices.ContainsFunc(m.says, func(say saying) bool { return say.status != fine })
}

// takesBack says whether the message takes something back that it does not
// name: "scratch my last".
func (a *assembler) takesBack() bool {
	return slices.ContainsFunc(a.orphans, func(say saying) bool { return say.status == found })
}

// recall reads "found it", "ignore my last": what is said of nothing in this
// message is said of the lines before.
func (s *sheet) recall(out *Reading, a *assembler) {
	for _, say := range a.orphans {
		if len(out.Lines) > 0 || say.status != found {
			continue
		}
		for _, line := range s.context.Memory.Last {
			line.Condition = kit.Resolved
			out.Lines = append(out.Lines, line)
		}
		if len(s.context.Memory.Last) > 0 {
			out.foundIt = true
		} else if s.short() && (s.points() || len(s.tokens) <= 2) {
			s.wonder(out, Resolved, kit.Resolved)
		}
		return
	}
	s.nameless(out, a)
}

// nameless asks which thing "it's broken" is said of.
func (s *sheet) nameless(out *Reading, a *assembler) {
	if len(out.Lines) > 0 || out.Pending != nil || out.DoorSaid || out.OffKit != "" || s.hits(Undo) || !s.short() || s.context.Memory.Door != nil {
		return
	}
	for _, say := range a.orphans {
		if c := kit.Condition(say.status); known(c) && c != kit.Resolved && s.points() {
			s.wonder(out, Report, c)
			return
		}
	}
}

// points says whether the message speaks of something by a mere "it".
func (s *sheet) points() bool {
	return slices.ContainsFunc(s.tokens, func(t token) bool { return s.grammar.its[t.word] })
}

// shortRemark is the length up to which a message may speak of a thing that it
// does not name.
const shortRemark = 6

// short says whether the message is one short remark.
func (s *sheet) short() bool { return len(s.tokens) <= shortRemark && !s.onlyAsks() }

// wonder leaves open which thing a remark is about.
func (s *sheet) wonder(out *Reading, i Intent, c kit.Condition) {
	out.Pending = &Pending{Intent: i, Lines: []PartialLine{{Unit: s.context.Unit, Condition: c, Count: 1}}}
	out.ask(AskItem, nil)
}
