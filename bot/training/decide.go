package training

import (
	"cmp"
	"errors"
	"hash/fnv"
	"slices"
	"strings"

	"kitbell/bot/door"
)

// Decide is a decide drill: a described door, and what could be tried first. It
// says nothing of place or people, as door.Facts know neither.
type Decide struct {
	Facts   door.Facts `json:"facts"`   // to be described and drawn
	Options []Option   `json:"options"` // in an order that gives nothing away
}

// Option is one thing to try first, with what choosing it says.
type Option struct {
	Way    string `json:"way"`              // as in door.Step.Way
	Title  string `json:"title,omitempty"`  // of its card, where the plan has it
	Result Result `json:"result"`           // got it: the plan's first; struggled: later in the plan; did not know: ruled out
	Before string `json:"before,omitempty"` // struggled: the way that the plan tries first
	Worked bool   `json:"worked,omitempty"` // a real door: this is what opened it
	Why    string `json:"why,omitempty"`    // did not know: the rule, as the plan words it
}

// What keeps a door from becoming a decide drill.
var (
	ErrNothingToDecide = errors.New("at that door there is nothing to choose between")
	ErrNotReal         = errors.New("only a real call makes a door for everybody, not a practice")
	ErrNotOpened       = errors.New("only a door that opened makes a drill: there is nothing to show else")
	ErrUnknownWay      = errors.New("that way stands on no card that all crews have")
	ErrNoDoor          = errors.New("nothing is known about that door")
)

// mostOptions is how many buttons a crew is shown.
const mostOptions = 4

// NewDecide makes a drill of a door and its plan. The plan's first attempt is
// right; the others are attempts that come later and techniques that a rule keeps
// out of this door, by turns. Techniques that only lack a tool are left out. seed
// (a key of the drill) fixes the order. ErrNothingToDecide when there are not two.
func NewDecide(facts door.Facts, plan door.Plan, seed string) (Decide, error) {
	return decideWith(facts, plan, seed, "")
}

// Decide is NewDecide for a real door: what opened it is among the options, and
// choosing it is got it, whatever the plan would have tried first.
func (d SharedDoor) Decide(plan door.Plan) (Decide, error) {
	return decideWith(d.Door.Facts, plan, d.Key, d.Door.Way)
}

func decideWith(facts door.Facts, plan door.Plan, seed, worked string) (Decide, error) {
	right, others := planned(plan)
	if right == nil {
		return Decide{}, ErrNothingToDecide
	}
	bySeed := func(a, b Option) int {
		return cmp.Or(cmp.Compare(digest(seed+a.Way), digest(seed+b.Way)), cmp.Compare(a.Way, b.Way))
	}
	out := ruledOut(plan, worked)
	slices.SortFunc(out, bySeed)
	options := []Option{*right}
	if worked != "" && worked != right.Way {
		at := slices.IndexFunc(others, func(o Option) bool { return o.Way == worked })
		option := Option{Way: worked}
		if at >= 0 {
			option = others[at]
			others = slices.Delete(others, at, at+1)
		}
		options = append(options, option)
	}
	options = append(options, alternate(out, others, mostOptions-len(options))...)
	if len(options) < 2 {
		return Decide{}, ErrNothingToDecide
	}
	for i := range options {
		if options[i].Way == worked {
			options[i].Worked, options[i].Result, options[i].Before = true, GotIt, ""
		}
	}
	slices.SortFunc(options, bySeed)
	return Decide{Facts: plainFacts(facts), Options: options}, nil
}

// planned are the plan's first attempt and those after it; nil without one.
func planned(plan door.Plan) (right *Option, later []Option) {
	for _, s := range plan.Steps {
		option := Option{Way: s.Way(), Title: s.Title}
		switch {
		case s.Kind != door.Attempt:
		case right == nil:
			option.Result = GotIt
			right = &option
		default:
			option.Result, option.Before = Struggled, right.Way
			later = append(later, option)
		}
	}
	return right, later
}

// ruledOut are the techniques that a rule keeps out of the door. What opened it
// all the same is no wrong answer.
func ruledOut(plan door.Plan, worked string) []Option {
	var out []Option
	for _, r := range plan.RuledOut {
		technique, _, _ := strings.Cut(worked, "/")
		if len(r.Missing) == 0 && r.Technique != technique {
			out = append(out, Option{Way: r.Technique, Result: DidNotKnow, Why: r.Why})
		}
	}
	return out
}

// alternate takes from two lists by turns, n in all.
func alternate(a, b []Option, n int) []Option {
	var all []Option
	for i := 0; i < max(len(a), len(b)) && len(all) < n; i++ {
		if i < len(a) {
			all = append(all, a[i])
		}
		if i < len(b) && len(all) < n {
			all = append(all, b[i])
		}
	}
	return all
}

func digest(text string) uint64 {
	h := fnv.New64a()
	_, _ = h.Write([]byte(text)) // never fails
	return h.Sum64()
}

// Choose gives the option of a way; false when it was none.
func (d Decide) Choose(way string) (Option, bool) {
	i := slices.IndexFunc(d.Options, func(o Option) bool { return o.Way == way })
	if i < 0 {
		return Option{}, false
	}
	return d.Options[i], true
}

// Opened is the option that opened a real door; false for a door of the mix.
func (d Decide) Opened() (Option, bool) {
	i := slices.IndexFunc(d.Options, func(o Option) bool { return o.Worked })
	if i < 0 {
		return Option{}, false
	}
	return d.Options[i], true
}

// First is the way that the plan tries first. Where a real door opened by it, that
// is the only option that is got it.
func (d Decide) First() (way string) {
	for _, o := range d.Options {
		switch {
		case o.Before != "":
			return o.Before
		case o.Result == GotIt && (way == "" || !o.Worked):
			way = o.Way
		}
	}
	return way
}

// DoorsFor lists the doors of a department's mix at which a technique is what the
// plan tries first: the ones to make its decide drills of. plan is called once for
// each door; its error ends the list.
func DoorsFor(technique string, mix []door.MixedDoor, plan func(door.Facts) (door.Plan, error)) ([]door.Facts, error) {
	var doors []door.Facts
	for _, d := range mix {
		p, err := plan(d.Facts)
		if err != nil {
			return nil, err
		}
		i := slices.IndexFunc(p.Steps, func(s door.Step) bool { return s.Kind == door.Attempt })
		if i >= 0 && p.Steps[i].Technique == technique {
			doors = append(doors, plainFacts(d.Facts))
		}
	}
	return doors, nil
}

// plainFacts is a door as it was when the crew came to it: without what had been
// tried, and without the call being over.
func plainFacts(f door.Facts) door.Facts {
	f.Failed, f.Finished, f.Spent = nil, door.Unknown, door.Unknown
	return f
}
