package door

import "slices"

// model is one door as a sum, with the words to read its solution back.
type model struct {
	planner      *Planner
	ways         []*way
	worlds       []world
	preparations []*way
	paid         []string // preparations that an attempt which failed already rested on
	problem      Problem
	ruledOut     []RuledOut
}

func (p *Planner) model(s scene) model {
	m := model{planner: p}
	m.ways, m.ruledOut = p.ways(s)
	failed := p.failedWays(s)
	all := slices.Concat(m.ways, failed)
	m.worlds = p.worlds(s, all)
	m.sharpen(all, len(m.ways))
	for _, w := range failed {
		if w.preparation != nil {
			m.paid = append(m.paid, w.preparation.technique.ID)
		}
	}
	m.build(s)
	return m
}

// failedWays are the ways already tried without success, whether or not they
// could be used now.
func (p *Planner) failedWays(s scene) []*way {
	var failed []*way
	for _, key := range s.facts.Failed {
		id, preparation := splitWay(key)
		t := p.technique(id)
		if t == nil || t.Kind != Attempt || t.Last {
			continue
		}
		w := &way{technique: t, chances: p.chances(key, t.Chance), needs: [][]Condition{t.Needs}, rules: p.allRules(t)}
		if preparation != "" {
			before := p.technique(preparation)
			if before == nil {
				continue
			}
			w = w.prepared(&way{technique: before, rules: before.RulesOut}, p.chances(key, t.With[preparation]))
		}
		failed = append(failed, w)
	}
	return failed
}

// allRules are a technique's own rules and those of its preferred tools.
func (p *Planner) allRules(t *Technique) []Rule {
	rules := slices.Clone(t.RulesOut)
	for _, alternatives := range t.Tools {
		rules = append(rules, p.rules.forTool(alternatives[0].ID)...)
	}
	return rules
}

func (p *Planner) technique(id string) *Technique {
	for i := range p.techniques {
		if p.techniques[i].ID == id {
			return &p.techniques[i]
		}
	}
	return nil
}

// sharpen makes worlds in which the failed ways should have worked less likely.
func (m *model) sharpen(all []*way, firstFailed int) {
	for i := range m.worlds {
		for k := firstFailed; k < len(all); k++ {
			m.worlds[i].weight *= 1 - m.worlds[i].chance(k, all)
		}
	}
}

// build writes the sum, without ways that cannot open any world.
func (m *model) build(s scene) {
	p, urgency := m.planner, s.facts.Urgency
	m.problem = Problem{Force: p.price(p.force.Minutes, p.force.Mark, urgency)}
	for _, w := range m.worlds {
		m.problem.Weights = append(m.problem.Weights, w.weight)
	}
	var kept []*way
	for k, w := range m.ways {
		attempt := SumAttempt{Cost: p.price(w.minutes, w.mark, urgency), Chance: make([]float64, len(m.worlds))}
		for i := range m.worlds {
			attempt.Chance[i] = m.worlds[i].chance(k, m.ways)
		}
		if dot(attempt.Chance, m.problem.Weights) == 0 {
			continue
		}
		if w.preparation != nil {
			attempt.Needs = 1 << m.preparation(w.preparation, urgency)
		}
		kept = append(kept, w)
		m.problem.Attempts = append(m.problem.Attempts, attempt)
	}
	m.ways = kept
}

// preparation is the number of a preparation in the sum.
func (m *model) preparation(w *way, urgency Urgency) int {
	if i := slices.Index(m.preparations, w); i >= 0 {
		return i
	}
	cost := m.planner.price(w.minutes, w.mark, urgency)
	if slices.Contains(m.paid, w.technique.ID) {
		cost = 0
	}
	m.preparations = append(m.preparations, w)
	m.problem.Preparations = append(m.problem.Preparations, cost)
	return len(m.preparations) - 1
}

// steps reads the order back: each attempt with its chance once all before it
// failed, and each preparation before the first attempt that rests on it.
func (m *model) steps(order []int) []Step {
	belief := slices.Clone(m.problem.Weights)
	shown := slices.Clone(m.paid)
	var steps []Step
	for _, i := range order {
		w := m.ways[i]
		if w.preparation != nil && !slices.Contains(shown, w.preparation.technique.ID) {
			shown = append(shown, w.preparation.technique.ID)
			steps = append(steps, stepOf(w.preparation))
		}
		steps = append(steps, m.attempt(i, belief))
		for state, chance := range m.problem.Attempts[i].Chance {
			belief[state] *= 1 - chance
		}
	}
	return steps
}

// attempt is a step with its chance and the 95 % interval of that chance: the
// spread of the counts, the belief about the hold taken as it stands.
func (m *model) attempt(i int, belief []float64) Step {
	w := m.ways[i]
	step := stepOf(w)
	step.Records = m.planner.records[w.technique.ID]
	total := sum(belief)
	reach := map[Hold]float64{}
	for state, chance := range m.problem.Attempts[i].Chance {
		if mean := w.chances[m.worlds[state].hold].Mean(); mean > 0 {
			reach[m.worlds[state].hold] += belief[state] / total * chance / mean
		}
	}
	variance := 0.0
	for _, hold := range AllHolds() {
		counts := w.chances[hold]
		step.Chance += reach[hold] * counts.Mean()
		variance += reach[hold] * reach[hold] * counts.Variance()
	}
	step.ChanceLow, step.ChanceHigh = spreadOf(step.Chance, variance)
	return step
}
