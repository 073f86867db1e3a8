package door

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
)

// MaxExact is how many attempts are planned exactly. Past it the best MaxExact
// attempts are planned exactly and the rest left out; see [Solution.Bound].
const MaxExact = 18

// A Problem is a plan's sum without its words: what hides behind the door, what
// can be tried and what each costs, in minutes.
type Problem struct {
	Weights      []float64    // of each hidden state; need not add up to 1
	Attempts     []SumAttempt // each at most once
	Preparations []float64    // cost of each, paid once
	Force        float64      // cost of the way that always opens and ends the plan
}

// A SumAttempt is one attempt in a [Problem].
type SumAttempt struct {
	Cost   float64
	Chance []float64 // that it opens, by hidden state
	Needs  uint      // bit i set: preparation i must have been paid
}

// A Solution is the order of attempts of least expected cost; forcing follows
// the last one.
type Solution struct {
	Order []int
	Cost  float64 // expected minutes, marks' worth included
	// Bound is a lower bound of the least cost there is. It equals Cost when the
	// plan is exact. Past MaxExact it is the cost of somebody who knows the hidden
	// state and pays for no preparation, so Cost-Bound is the most that can be lost.
	Bound float64
}

// Solve finds the least expected cost by dynamic programming over the subsets
// of attempts that have failed.
//
// With W(S) the weight of the states in which all of S fail, the chance of
// attempt a after S is 1 - W(S+a)/W(S). Multiplying expected cost by W(S) turns
// the recursion into
//
//	U(S) = min( force*W(S), min over a of cost(a|S)*W(S) + U(S+a) )
//
// which needs no division, and which preparations are paid follows from S.
func (p Problem) Solve() Solution {
	total := sum(p.Weights)
	if total <= 0 {
		return Solution{Cost: p.Force, Bound: p.Force}
	}
	chosen := p.promising()
	table := p.table(chosen)
	solution := Solution{Cost: table.cost[0] / total}
	for set := 0; table.next[set] >= 0; set |= 1 << table.next[set] {
		solution.Order = append(solution.Order, chosen[table.next[set]])
	}
	solution.Bound = solution.Cost
	if len(chosen) < len(p.Attempts) {
		solution.Bound = min(solution.Cost, p.clairvoyant()/total)
	}
	return solution
}

// subsets holds, for each set of failed attempts, the weighted least cost from
// there and the attempt to make next, -1 for force.
type subsets struct {
	cost []float64
	next []int8
}

func (p Problem) table(chosen []int) subsets {
	size := 1 << len(chosen)
	weight := p.survivors(chosen)
	paid, prices := p.preparations(chosen)
	table := subsets{make([]float64, size), make([]int8, size)}
	for set := size - 1; set >= 0; set-- {
		w := weight[set]
		best, next := p.Force*w, -1
		for left := (size - 1) &^ set; left != 0; left &= left - 1 {
			i := bits.TrailingZeros(uint(left))
			a := &p.Attempts[chosen[i]]
			price := a.Cost + prices[a.Needs&^paid[set]]
			if cost := price*w + table.cost[set|1<<i]; cost < best {
				best, next = cost, i
			}
		}
		table.cost[set], table.next[set] = best, int8(next)
	}
	return table
}

// survivors gives, for every set of attempts, the weight of the states in which
// all of them fail. It walks the sets as a tree, so that each step multiplies
// one attempt in.
func (p Problem) survivors(chosen []int) []float64 {
	n := len(chosen)
	weight := make([]float64, 1<<n)
	levels := make([][]float64, n+1)
	for i := range levels {
		levels[i] = make([]float64, len(p.Weights))
	}
	copy(levels[n], p.Weights)
	var walk func(level, set int, state []float64)
	walk = func(level, set int, state []float64) {
		if level == 0 {
			weight[set] = sum(state)
			return
		}
		level--
		walk(level, set, state)
		below := levels[level]
		for h, chance := range p.Attempts[chosen[level]].Chance {
			below[h] = state[h] * (1 - chance)
		}
		walk(level, set|1<<level, below)
	}
	walk(n, 0, levels[n])
	return weight
}

// preparations gives, for every set of attempts, the preparations paid by then,
// and for every set of preparations its price.
func (p Problem) preparations(chosen []int) (paid []uint, prices []float64) {
	prices = make([]float64, 1<<len(p.Preparations))
	for set := 1; set < len(prices); set++ {
		low := bits.TrailingZeros(uint(set))
		prices[set] = prices[set&(set-1)] + p.Preparations[low]
	}
	paid = make([]uint, 1<<len(chosen))
	for set := 1; set < len(paid); set++ {
		low := bits.TrailingZeros(uint(set))
		paid[set] = paid[set&(set-1)] | p.Attempts[chosen[low]].Needs
	}
	return paid, prices
}

// promising picks the attempts to plan with: all of them, or the MaxExact with
// the best chance for their cost at the start.
func (p Problem) promising() []int {
	chosen := make([]int, len(p.Attempts))
	for i := range chosen {
		chosen[i] = i
	}
	if len(chosen) <= MaxExact {
		return chosen
	}
	index := func(i int) float64 {
		a := p.Attempts[i]
		cost := a.Cost
		for k, price := range p.Preparations {
			if a.Needs&(1<<k) != 0 {
				cost += price
			}
		}
		return dot(p.Weights, a.Chance) / cost
	}
	slices.SortStableFunc(chosen, func(a, b int) int { return cmp.Compare(index(b), index(a)) })
	chosen = chosen[:MaxExact]
	slices.Sort(chosen)
	return chosen
}

// clairvoyant is the weighted cost for somebody who knows the hidden state:
// there the best order is by chance over cost, stopping where forcing is
// cheaper.
func (p Problem) clairvoyant() float64 {
	total := 0.0
	for state, weight := range p.Weights {
		order := slices.Clone(p.Attempts)
		slices.SortFunc(order, func(a, b SumAttempt) int {
			return cmp.Compare(a.Chance[state]*b.Cost, b.Chance[state]*a.Cost)
		})
		cost := p.Force
		for _, a := range order { // worst first: build the plan from its end
			cost = math.Min(cost, a.Cost+(1-a.Chance[state])*cost)
		}
		total += weight * cost
	}
	return total
}

func sum(values []float64) float64 {
	total := 0.0
	for _, value := range values {
		total += value
	}
	return total
}

func dot(a, b []float64) float64 {
	total := 0.0
	for i := range a {
		total += a[i] * b[i]
	}
	return total
}
