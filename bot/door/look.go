package door

import (
	"cmp"
	"slices"
)

// A Look is the one thing worth finding out before anything is tried.
type Look struct {
	Fact         Fact     `json:"fact"`
	SavesMinutes float64  `json:"saves_minutes"` // expected, the mark's worth counted in, the look's own time taken off
	Values       []string `json:"values"`        // what it may turn out to be, likeliest first
}

// look finds the unknown fact whose knowledge saves most; nil when nothing saves
// anything.
func (p *Planner) look(s scene, now float64) *Look {
	var best *Look
	for _, fact := range AllFacts() {
		cost, asked := p.assumptions.Looks[fact]
		known := s.stated.Value(fact) != "" || slices.Contains(s.Unsure, fact)
		if !asked || known || len(cost.Unless) > 0 && cost.Unless.Fits(s.facts) == Yes {
			continue
		}
		look := p.worthOfLooking(fact, cost, s, now)
		if look.SavesMinutes > leastSaving && (best == nil || look.SavesMinutes > best.SavesMinutes) {
			best = &look
		}
	}
	return best
}

// leastSaving keeps rounding from asking a question, in minutes.
const leastSaving = 1e-6

// worthOfLooking is the cost now less the average cost after each answer,
// weighted by how likely the answer is, times the chance that the look tells,
// less the look's own time.
func (p *Planner) worthOfLooking(fact Fact, cost LookCost, s scene, now float64) Look {
	look := Look{Fact: fact}
	total, after := 0.0, 0.0
	for _, answer := range p.answers(fact, s) {
		total += answer.weight
		after += answer.weight * answer.cost
		look.Values = append(look.Values, answer.value)
	}
	if total > 0 {
		look.SavesMinutes = cost.Tells*(now-after/total) - cost.Minutes
	}
	return look
}

// An answer is a value a look may give, how likely it is, and the plan's cost
// after it.
type answer struct {
	value        string
	weight, cost float64
}

// answers lists what a look may show, likeliest first.
func (p *Planner) answers(fact Fact, s scene) []answer {
	var found []answer
	for _, value := range Values(fact) {
		if !p.possible(fact, value, s.stated) {
			continue
		}
		request := s.Request
		request.Facts.assign(fact, value)
		m := p.model(p.scene(request))
		if weight := sum(m.problem.Weights); weight > 0 {
			found = append(found, answer{value, weight, m.problem.Solve().Cost})
		}
	}
	slices.SortStableFunc(found, func(a, b answer) int { return cmp.Compare(b.weight, a.weight) })
	return found
}

// possible leaves out kinds of door that are not in the mix: how likely they
// are is not known.
func (p *Planner) possible(fact Fact, value string, stated Facts) bool {
	if fact != FactSwing && fact != FactLock {
		return true
	}
	stated.assign(fact, value)
	return slices.ContainsFunc(p.assumptions.Doors, func(door MixedDoor) bool {
		return (stated.Value(FactSwing) == "" || stated.Swing == door.Facts.Swing) &&
			(stated.Value(FactLock) == "" || stated.Lock == door.Facts.Lock)
	})
}
