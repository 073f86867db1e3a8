package door

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
)

// A Planner plans doors from assumptions, techniques and, after Learn, records.
// It is never changed once made and may be used from many goroutines.
type Planner struct {
	assumptions Assumptions
	techniques  []Technique
	force       *Technique
	rules       Rules
	learned     map[string]Chances // counts that records add, by way
	records     map[string]int     // real records, by technique
}

// NewPlanner checks that the assumptions are complete and that the techniques
// belong together: ids are unique, preparations exist, and exactly one technique
// is the last resort.
func NewPlanner(assumptions Assumptions, techniques []Technique) (*Planner, error) {
	rules, err := LoadRules()
	if err == nil {
		err = assumptions.check()
	}
	if err != nil {
		return nil, fmt.Errorf("make planner: %w", err)
	}
	p := &Planner{assumptions: assumptions, techniques: slices.Clone(techniques), rules: rules}
	slices.SortFunc(p.techniques, func(a, b Technique) int { return cmp.Compare(a.ID, b.ID) })
	kinds := map[string]Kind{}
	var errs []error
	for i := range p.techniques {
		t := &p.techniques[i]
		if _, twice := kinds[t.ID]; twice {
			errs = append(errs, fmt.Errorf("technique %s stands twice", t.ID))
		}
		kinds[t.ID] = t.Kind
		if t.Last {
			errs = append(errs, p.setForce(t))
		}
	}
	for _, t := range p.techniques {
		errs = append(errs, checkPreparations(t, kinds))
	}
	if p.force == nil {
		errs = append(errs, errors.New("no technique is `last`: a plan needs one that always opens"))
	}
	if err := errors.Join(errs...); err != nil {
		return nil, fmt.Errorf("make planner: %w", err)
	}
	return p, nil
}

func (p *Planner) setForce(t *Technique) error {
	if p.force != nil {
		return fmt.Errorf("%s and %s are both `last`", p.force.ID, t.ID)
	}
	p.force = t
	return nil
}

func checkPreparations(t Technique, kinds map[string]Kind) error {
	named := sortedKeys(t.With)
	for _, rule := range t.RulesOut {
		named = append(named, rule.Unless...)
	}
	for _, id := range named {
		if kinds[id] != Prepare {
			return fmt.Errorf("%s names %q, which is no preparation", t.ID, id)
		}
	}
	return nil
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }

// Rules are the rules the planner goes by.
func (p *Planner) Rules() Rules { return p.rules }

// Assumptions are the figures the planner goes by.
func (p *Planner) Assumptions() Assumptions { return p.assumptions }

// A Request is one door with what this crew has to open it.
type Request struct {
	Facts   Facts
	Tools   Tools             // of the kit and the rig
	People  int               // at the door; 0 is not known and limits nothing
	Minutes float64           // already spent at this door
	Unsure  []Fact            // looked at already, and could not be told: not asked about again
	Barred  map[string]string // techniques that may not be used, by id, with a sentence why
}

// A Step is one line of a plan.
type Step struct {
	Kind       Kind     `json:"kind"`
	Technique  string   `json:"technique"`
	Title      string   `json:"title"`
	With       string   `json:"with,omitempty"` // the preparation it rests on
	Tools      []string `json:"tools"`
	InsteadOf  []string `json:"instead_of,omitempty"` // preferred tools these stand in for
	People     int      `json:"people"`
	Minutes    float64  `json:"minutes"` // for all tries
	Chance     float64  `json:"chance"`  // that it opens, given that all before it failed
	ChanceLow  float64  `json:"chance_low"`
	ChanceHigh float64  `json:"chance_high"` // with ChanceLow a 95 % interval
	Records    int      `json:"records"`     // the department's own that count here; 0: assumed
	Mark       int      `json:"mark"`        // 0 none to 4 door or frame lost
	Tries      int      `json:"tries"`
	Move       string   `json:"move"`
	Caution    string   `json:"caution"`
}

// Way names the step in [Facts].Failed and in records.
func (s Step) Way() string {
	if s.With == "" {
		return s.Technique
	}
	return s.Technique + "/" + s.With
}

// A Plan is what to do at a door, in order.
type Plan struct {
	Steps          []Step          `json:"steps"`
	Look           *Look           `json:"look"` // nil when nothing is worth looking at first
	RuledOut       []RuledOut      `json:"ruled_out"`
	Cost           float64         `json:"cost"`                // expected minutes, marks' worth included
	Bound          float64         `json:"bound"`               // no plan costs less; equals Cost when exact
	Assumed        []Fact          `json:"assumed,omitempty"`   // facts nobody stated that rules took for granted
	ForceNow       bool            `json:"force_now,omitempty"` // past the time at a door: the officer is asked
	Contradictions []Contradiction `json:"contradictions,omitempty"`
}

// Plan orders what this crew can do at this door. Rules come first: an open door
// is kept open, a finished call is left secure, and life or fire puts forcing
// first. The rest is least expected cost. The error names a fact with a value
// that is none.
func (p *Planner) Plan(request Request) (Plan, error) {
	if err := request.Facts.Validate(); err != nil {
		return Plan{}, fmt.Errorf("plan door: %w", err)
	}
	s := p.scene(request)
	plan := p.plan(s)
	plan.Steps = append(plan.Steps, p.fixed(After, s)...)
	if plan.RuledOut == nil {
		plan.RuledOut = []RuledOut{} // a list in JSON, not null
	}
	plan.Assumed = assumedFacts(s)
	plan.Contradictions = p.rules.Contradictions(s.stated)
	plan.ForceNow = s.locked() && request.Minutes > 0 && request.Minutes >= p.assumptions.LimitMinutes
	return plan, nil
}

func (p *Planner) plan(s scene) Plan {
	switch {
	case !s.locked():
		return Plan{}
	case s.facts.Urgency == UrgencyLife:
		force := p.forceStep(s)
		cost := p.price(force.Minutes, force.Mark, UrgencyLife)
		return Plan{Steps: []Step{force}, Cost: cost, Bound: cost}
	}
	m := p.model(s)
	solution := m.problem.Solve()
	plan := Plan{Steps: p.fixed(Before, s), Cost: solution.Cost, Bound: solution.Bound, RuledOut: m.ruledOut}
	plan.Steps = append(plan.Steps, m.steps(solution.Order)...)
	plan.Steps = append(plan.Steps, p.forceStep(s))
	plan.Look = p.look(s, solution.Cost)
	return plan
}

// locked is false when the door stands open or the call is over. A door that
// opens an inch on a second lock does not stand open.
func (s scene) locked() bool {
	second := slices.Contains([]Lock{LockSwingBar, LockRoomLatch, LockChain}, s.facts.Lock)
	return s.facts.Finished != Yes && (s.facts.Ajar != Yes || second)
}

// assumedFacts lists what nobody stated and rules still took for granted.
func assumedFacts(s scene) []Fact {
	assumed := slices.Clone(s.filled)
	for _, fact := range []Fact{FactLeaves, FactUrgency} {
		if s.stated.Value(fact) == "" && !slices.Contains(assumed, fact) {
			assumed = append(assumed, fact)
		}
	}
	return assumed
}

// price is the cost of minutes and a mark, in minutes.
func (p *Planner) price(minutes float64, mark int, urgency Urgency) float64 {
	return minutes + p.assumptions.Marks[mark]*p.assumptions.Urgency[urgency]
}

// fixed lists the steps that always stand before or after, in order of their id,
// without those already done.
func (p *Planner) fixed(kind Kind, s scene) []Step {
	var steps []Step
	for i := range p.techniques {
		t := &p.techniques[i]
		if t.Kind != kind || whyNot(t.RulesOut, s.facts) != "" || slices.Contains(s.facts.Failed, t.ID) {
			continue
		}
		step := stepOf(&way{technique: t, minutes: t.Minutes, mark: t.Mark})
		for _, alternatives := range t.Tools {
			for _, tool := range alternatives {
				if s.Tools.usable(tool.ID) {
					step.Tools = append(step.Tools, tool.ID)
				}
			}
		}
		steps = append(steps, step)
	}
	return steps
}

func (p *Planner) forceStep(s scene) Step {
	w := &way{technique: p.force, minutes: p.force.Minutes, mark: p.force.Mark}
	for _, alternatives := range p.force.Tools {
		w.tools = append(w.tools, alternatives[0].ID)
	}
	step := stepOf(w)
	step.Chance, step.ChanceLow, step.ChanceHigh = 1, 1, 1
	step.Records = p.records[p.force.ID]
	return step
}

// stepOf copies what a way says about itself.
func stepOf(w *way) Step {
	t := w.technique
	step := Step{
		Kind: t.Kind, Technique: t.ID, Title: t.Title, Tools: slices.Clone(w.tools), InsteadOf: w.insteadOf,
		People: t.People, Minutes: w.minutes, Mark: w.mark, Tries: t.Tries, Move: t.Move, Caution: t.Caution,
	}
	if step.Tools == nil {
		step.Tools = []string{}
	}
	if w.preparation != nil {
		step.With = w.preparation.technique.ID
	}
	return step
}
