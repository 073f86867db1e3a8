package budget

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"math/bits"
	"slices"

	"kitbell/bot"
)

// MostCandidates is how many things the best set is looked for among.
const MostCandidates = 20

// Candidate is something that may be bought.
type Candidate struct {
	Key   string
	Title string
	Cents int64
}

// Candidates are the lines of a request that are in its totals.
func Candidates(lines []Line) []Candidate {
	var all []Candidate
	for _, l := range lines {
		if l.Excluded == "" {
			all = append(all, Candidate{l.Key, l.Title, l.Sums.Total})
		}
	}
	return all
}

// Set is some of the candidates: bit i is the candidate at i.
type Set uint32

// Has says whether the candidate at i is in the set.
func (s Set) Has(i int) bool { return s&(1<<i) != 0 }

// With is the set with the candidate at i.
func (s Set) With(i int) Set { return s | 1<<i }

// Len is how many candidates are in the set.
func (s Set) Len() int { return bits.OnesCount32(uint32(s)) }

// Choice is the best set under an amount.
type Choice struct {
	Set    Set
	Keys   []string // of the candidates in it, in their order
	Cents  int64
	Worth  float64
	Looked int // sets whose worth was asked for
}

// What worths no best set can be found for.
var (
	ErrFalls = errors.New("the worth falls when something is added")
	ErrWorth = errors.New("a worth is a number")
)

// BestSet finds the set of candidates of the most worth that costs no more than
// amount, in cents; of sets of equal worth the cheapest. It is exact for any worth
// that never falls when something is added, whether or not things stand in for
// each other: a branch ends where even all that could still be bought would not be
// worth more than the best so far. A worth that falls is ErrFalls, where that is
// seen.
//
// worth is called once for a set, from this goroutine, and only for sets that
// matter. More than MostCandidates, and a candidate without a price, are a
// *bot.UserError. A cancelled ctx ends the search with its error.
func BestSet(ctx context.Context, candidates []Candidate, amount int64, worth func(Set) float64) (Choice, error) {
	known := map[Set]float64{}
	asked := func(s Set) float64 {
		w, ok := known[s]
		if !ok {
			w = worth(s)
			known[s] = w
		}
		return w
	}
	s := search{ctx: ctx, candidates: candidates, amount: amount, worth: asked, monotone: true}
	s.bound = func(at int, chosen Set, spent int64) float64 {
		for _, i := range s.order[at:] {
			if spent+candidates[i].Cents <= amount {
				chosen = chosen.With(i)
			}
		}
		return asked(chosen)
	}
	choice, err := s.run(func(i int) float64 { return asked(Set(0).With(i)) })
	choice.Looked = len(known)
	return choice, err
}

// Part is one share of a worth that adds up over doors: what some candidates are
// worth at one kind of door.
type Part struct {
	Uses  Set // candidates that can change it
	Worth func(Set) float64
}

// SumOfParts is the worth of all parts together, for BestSet. Each part is asked
// once for each set of the candidates that it uses, which is far less often than
// BestSet asks for sets. For one goroutine.
func SumOfParts(parts []Part) func(Set) float64 {
	known := make([]map[Set]float64, len(parts))
	for i := range known {
		known[i] = map[Set]float64{}
	}
	return func(s Set) float64 {
		total := 0.0
		for i, p := range parts {
			of := s & p.Uses
			worth, asked := known[i][of]
			if !asked {
				worth = p.Worth(of)
				known[i][of] = worth
			}
			total += worth
		}
		return total
	}
}

// BestSum is BestSet for worths that just add up, one for each candidate; it needs
// far fewer steps. A candidate that is worth nothing, or less, is never chosen.
func BestSum(ctx context.Context, candidates []Candidate, amount int64, worths []float64) (Choice, error) {
	if len(worths) != len(candidates) {
		return Choice{}, fmt.Errorf("choose among %d candidates: %d worths given", len(candidates), len(worths))
	}
	looked := 0
	s := search{ctx: ctx, candidates: candidates, amount: amount}
	s.worth = func(set Set) float64 {
		looked++
		total := 0.0
		for i, w := range worths {
			if set.Has(i) {
				total += w
			}
		}
		return total
	}
	s.bound = func(at int, chosen Set, spent int64) float64 {
		return s.worth(chosen) + s.fill(at, amount-spent, worths)
	}
	choice, err := s.run(func(i int) float64 { return worths[i] })
	choice.Looked = looked
	return choice, err
}

// fill is the most that money could add if things could be bought in parts: those
// of most worth for their price first.
func (s *search) fill(at int, left int64, worths []float64) float64 {
	total := 0.0
	for _, i := range s.order[at:] {
		if worths[i] <= 0 {
			continue
		}
		if price := s.candidates[i].Cents; price > left {
			return total + worths[i]*float64(left)/float64(price)
		}
		total += worths[i]
		left -= s.candidates[i].Cents
	}
	return total
}

// search is a branch and bound over sets of candidates.
type search struct {
	ctx        context.Context
	candidates []Candidate
	amount     int64
	worth      func(Set) float64
	bound      func(at int, chosen Set, spent int64) float64 // the most that chosen can become with candidates from at in the order
	monotone   bool                                          // a bound is some set's worth, so a set above it shows a worth that falls
	order      []int
	best       Choice
	err        error
}

// run looks at the candidates in the order of their worth for their price.
func (s *search) run(alone func(i int) float64) (Choice, error) {
	if err := check(s.candidates); err != nil {
		return Choice{}, err
	}
	if s.amount < 0 {
		return Choice{}, bot.SayBudgetAmount.With()
	}
	ratio := make([]float64, len(s.candidates))
	for i, c := range s.candidates {
		if c.Cents <= s.amount { // what is dearer than all the money is in no set
			ratio[i] = alone(i) / float64(c.Cents)
			s.order = append(s.order, i)
		}
	}
	slices.SortStableFunc(s.order, func(a, b int) int { return cmp.Compare(ratio[b], ratio[a]) })
	s.best.Worth = s.worth(0)
	s.look(0, 0, 0)
	for i, c := range s.candidates {
		if s.best.Set.Has(i) {
			s.best.Keys = append(s.best.Keys, c.Key)
		}
	}
	return s.best, s.err
}

func check(candidates []Candidate) error {
	if len(candidates) > MostCandidates {
		return bot.SayBudgetMany.With(MostCandidates, len(candidates))
	}
	for _, c := range candidates {
		if c.Cents <= 0 {
			return bot.SayBudgetNoPrice.With(c.Title)
		}
	}
	return nil
}

// look tries what can be made of a set with the candidates from at on.
func (s *search) look(at int, chosen Set, spent int64) {
	if s.err == nil {
		s.err = s.ctx.Err()
	}
	if s.err != nil {
		return
	}
	now, most := s.worth(chosen), s.bound(at, chosen, spent)
	switch {
	case math.IsNaN(now) || math.IsNaN(most):
		s.err = ErrWorth
		return
	case s.monotone && now > most+slack(most):
		s.err = ErrFalls
		return
	}
	if now > s.best.Worth || now == s.best.Worth && spent < s.best.Cents {
		s.best = Choice{Set: chosen, Cents: spent, Worth: now}
	}
	if now >= most || most < s.best.Worth || most == s.best.Worth && spent >= s.best.Cents || at == len(s.order) {
		return
	}
	next := s.order[at]
	if price := s.candidates[next].Cents; spent+price <= s.amount {
		s.look(at+1, chosen.With(next), spent+price)
	}
	s.look(at+1, chosen, spent)
}

// slack is how far two sums of one worth may be apart by rounding.
func slack(worth float64) float64 { return 1e-9 * max(1, math.Abs(worth)) }
