package door

import (
	"slices"
	"strings"
)

// Tools is what a crew has at hand: a tool's id with "" when it can be used, or
// else with a sentence why not (broken, not rolled out to this crew). A tool
// that is not there is not carried. nil is an empty kit.
type Tools map[string]string

// NewTools makes Tools of ids that can all be used.
func NewTools(ids ...string) Tools {
	tools := Tools{}
	for _, id := range ids {
		tools[id] = ""
	}
	return tools
}

func (t Tools) usable(id string) bool {
	why, carried := t[id]
	return carried && why == ""
}

// RuledOut names a technique that is not in a plan, and why.
type RuledOut struct {
	Technique string   `json:"technique"`
	Why       string   `json:"why"`
	Missing   []string `json:"missing,omitempty"` // tools any of which would bring it back
}

// A way is a technique as this crew would use it at this door: with the tools it
// has, and after one preparation or none.
type way struct {
	technique   *Technique
	preparation *way
	chances     Chances
	tools       []string
	insteadOf   []string
	minutes     float64
	mark        int
	needs       [][]Condition // of each group one must fit
	rules       []Rule
}

// key names a way in [Facts].Failed and in records.
func (w *way) key() string {
	if w.preparation == nil {
		return w.technique.ID
	}
	return w.technique.ID + "/" + w.preparation.technique.ID
}

// splitWay undoes key.
func splitWay(key string) (technique, preparation string) {
	technique, preparation, _ = strings.Cut(key, "/")
	return technique, preparation
}

// permitted says whether rules and needs leave the way open at this door.
func (w *way) permitted(f Facts) Tri {
	result := Yes
	for _, group := range w.needs {
		switch anyFits(group, f) {
		case No:
			return No
		case Unknown:
			result = Unknown
		}
	}
	for _, rule := range w.rules {
		switch rule.When.Fits(f) {
		case Yes:
			return No
		case Unknown:
			result = Unknown
		}
	}
	return result
}

// facts lists what the way's conditions look at.
func (w *way) facts() []Fact {
	var found []Fact
	add := func(condition Condition) {
		for _, clause := range condition {
			if !slices.Contains(found, clause.Fact) {
				found = append(found, clause.Fact)
			}
		}
	}
	for _, group := range w.needs {
		for _, condition := range group {
			add(condition)
		}
	}
	for _, rule := range w.rules {
		add(rule.When)
	}
	return found
}

// scene is a request with its facts completed for the rules.
type scene struct {
	Request
	stated Facts // evidence
	facts  Facts // stated, assumed and implied: what rules look at
	filled []Fact
}

func (p *Planner) scene(request Request) scene {
	facts, filled := p.rules.imply(request.Facts)
	return scene{request, request.Facts, facts.Assumed(), filled}
}

// usable turns a technique into a way this crew can use here, or says what
// stands against it. An empty Why means that it does not fit this door, which
// is not worth a word.
func (p *Planner) usable(t *Technique, s scene) (*way, *RuledOut) {
	out := func(why string, missing ...string) (*way, *RuledOut) {
		return nil, &RuledOut{t.ID, why, missing}
	}
	if why := firstFit(t.RulesOut, s.facts); why != "" {
		return out(why)
	}
	w := &way{technique: t, minutes: t.Minutes, mark: t.Mark, rules: t.RulesOut, needs: [][]Condition{t.Needs, t.Seen}}
	permitted, why := p.permittedTools(t, s.facts)
	switch {
	case why != "":
		return out(why)
	case anyFits(t.Seen, s.facts) != Yes, anyFits(t.Needs, s.facts) == No:
		return out("")
	case s.Barred[t.ID] != "":
		return out(s.Barred[t.ID])
	case s.People > 0 && t.People > s.People:
		return out("It takes more hands than are here.")
	case s.facts.Spent == Yes && t.Kind != Before && t.Kind != After && !t.Last && t.Mark < spentMark:
		return out("The ways that leave the door whole have had their tries.")
	}
	if missing, why := p.chooseTools(w, permitted, s); why != "" {
		return out(why, missing...)
	}
	return w, nil
}

// spentMark is the least mark still in a plan once the gentle ways are spent:
// hardware lost.
const spentMark = 3

func firstFit(rules []Rule, f Facts) string {
	for _, rule := range rules {
		if len(rule.Unless) == 0 && rule.When.Fits(f) == Yes {
			return rule.Why
		}
	}
	return ""
}

// permittedTools leaves out alternatives that a rule forbids at this door. The
// sentence says why when nothing is left of one entry.
func (p *Planner) permittedTools(t *Technique, f Facts) ([][]Tool, string) {
	permitted := make([][]Tool, len(t.Tools))
	for i, alternatives := range t.Tools {
		why := ""
		for _, tool := range alternatives {
			if forbidden := firstFit(p.rules.forTool(tool.ID), f); forbidden != "" {
				why = forbidden
				continue
			}
			permitted[i] = append(permitted[i], tool)
		}
		if len(permitted[i]) == 0 && why != "" {
			return nil, why
		}
	}
	return permitted, ""
}

// chooseTools fills in the tools of a way: of each entry's alternatives that can
// be used the cheapest, the first of equals. The `last` technique needs no check
// of its tools: it is always there.
func (p *Planner) chooseTools(w *way, permitted [][]Tool, s scene) (missing []string, why string) {
	for _, alternatives := range permitted {
		best := -1
		for i, tool := range alternatives {
			if !s.Tools.usable(tool.ID) && !w.technique.Last {
				continue
			}
			if best < 0 || p.toolCost(w, tool, s) < p.toolCost(w, alternatives[best], s) {
				best = i
			}
		}
		if best < 0 {
			return toolIDs(alternatives), whyMissing(alternatives, s.Tools)
		}
		p.take(w, alternatives, best)
	}
	return nil, ""
}

func (p *Planner) take(w *way, alternatives []Tool, chosen int) {
	tool := alternatives[chosen]
	w.tools = append(w.tools, tool.ID)
	w.rules = slices.Concat(w.rules, p.rules.forTool(tool.ID))
	if chosen > 0 {
		w.insteadOf = append(w.insteadOf, alternatives[0].ID)
	}
	w.minutes, w.mark = tool.over(w.technique)
}

// over gives minutes and mark of a technique when this tool is used.
func (t Tool) over(technique *Technique) (minutes float64, mark int) {
	minutes, mark = technique.Minutes, technique.Mark
	if t.Minutes >= 0 {
		minutes = t.Minutes
	}
	if t.Mark >= 0 {
		mark = t.Mark
	}
	return minutes, mark
}

func (p *Planner) toolCost(w *way, tool Tool, s scene) float64 {
	minutes, mark := tool.over(w.technique)
	return p.price(minutes, mark, s.facts.Urgency)
}

func toolIDs(tools []Tool) []string {
	var ids []string
	for _, tool := range tools {
		ids = append(ids, tool.ID)
	}
	return ids
}

func whyMissing(alternatives []Tool, tools Tools) string {
	for _, tool := range alternatives {
		if why := tools[tool.ID]; why != "" {
			return why
		}
	}
	return "This kit has no " + strings.Join(toolIDs(alternatives), " or ") + "."
}

// prepared is the way after a preparation; its rules and needs are those of
// both, less the rules the preparation lifts.
func (w *way) prepared(preparation *way, chances Chances) *way {
	after := *w
	after.preparation = preparation
	after.chances = chances
	after.needs = slices.Concat(w.needs, preparation.needs)
	after.rules = slices.Concat(w.rulesAfter(preparation.technique.ID), preparation.rules)
	return &after
}

// rulesAfter leaves out the rules a preparation lifts.
func (w *way) rulesAfter(preparation string) []Rule {
	return slices.DeleteFunc(slices.Clone(w.rules), func(rule Rule) bool {
		return slices.Contains(rule.Unless, preparation)
	})
}

// ways lists every way of this crew at this door, and what is ruled out.
func (p *Planner) ways(s scene) (attempts []*way, ruledOut []RuledOut) {
	preparations := map[string]*way{}
	for i := range p.techniques {
		t := &p.techniques[i]
		if t.Kind != Prepare || slices.Contains(s.facts.Failed, t.ID) {
			continue
		}
		w, out := p.usable(t, s)
		if w != nil {
			preparations[t.ID] = w
		} else if out.Why != "" {
			ruledOut = append(ruledOut, *out)
		}
	}
	for i := range p.techniques {
		t := &p.techniques[i]
		if t.Kind != Attempt || t.Last {
			continue
		}
		found, out := p.attempts(t, preparations, s)
		attempts = append(attempts, found...)
		if out != nil && out.Why != "" {
			ruledOut = append(ruledOut, *out)
		}
	}
	return attempts, ruledOut
}

// attempts lists the ways of one technique that have not failed yet, plain and
// after each preparation.
func (p *Planner) attempts(t *Technique, preparations map[string]*way, s scene) ([]*way, *RuledOut) {
	base, out := p.usable(t, s)
	if base == nil {
		return nil, out
	}
	var found []*way
	for _, w := range p.variants(base, preparations) {
		if w.permitted(s.facts) != No && !slices.Contains(s.facts.Failed, w.key()) {
			found = append(found, w)
		}
	}
	if len(found) == 0 {
		return nil, &RuledOut{Technique: t.ID, Why: whyNot(base.rules, s.facts)}
	}
	return found, nil
}

func (p *Planner) variants(base *way, preparations map[string]*way) []*way {
	var found []*way
	t := base.technique
	if t.Chance != nil {
		plain := *base
		plain.chances = p.chances(t.ID, t.Chance)
		found = append(found, &plain)
	}
	for _, id := range sortedKeys(t.With) {
		if preparation := preparations[id]; preparation != nil {
			found = append(found, base.prepared(preparation, p.chances(t.ID+"/"+id, t.With[id])))
		}
	}
	return found
}

// whyNot is the sentence of the first rule that fits, those a preparation could
// lift included; "" when the way was only tried already.
func whyNot(rules []Rule, f Facts) string {
	for _, rule := range rules {
		if rule.When.Fits(f) == Yes {
			return rule.Why
		}
	}
	return ""
}
