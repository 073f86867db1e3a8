package door_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"kitbell/bot/door"
)

// enumeration tries every order of every subset of attempts by following the
// crew from try to try: the chance of each next attempt comes from the belief
// that is left, and a preparation is paid when it is first needed.
type enumeration struct {
	problem door.Problem
	beliefs [][]float64 // one for each depth, so that nothing is allocated on the way
}

func enumerate(p door.Problem) float64 {
	e := enumeration{problem: p}
	for range len(p.Attempts) + 1 {
		e.beliefs = append(e.beliefs, make([]float64, len(p.Weights)))
	}
	total := 0.0
	for _, weight := range p.Weights {
		total += weight
	}
	for i, weight := range p.Weights {
		e.beliefs[0][i] = weight / total
	}
	return e.from(0, 0, 0)
}

func (e *enumeration) from(depth int, tried, paid uint) float64 {
	best := e.problem.Force
	for i := range e.problem.Attempts {
		if tried&(1<<i) == 0 {
			best = math.Min(best, e.first(i, depth, tried, paid))
		}
	}
	return best
}

// first is the cost of attempt i next and the best from there.
func (e *enumeration) first(i, depth int, tried, paid uint) float64 {
	attempt := &e.problem.Attempts[i]
	cost := attempt.Cost
	for k, price := range e.problem.Preparations {
		if attempt.Needs&^paid&(1<<k) != 0 {
			cost += price
		}
	}
	belief, after := e.beliefs[depth], e.beliefs[depth+1]
	chance := 0.0
	for state, b := range belief {
		chance += b * attempt.Chance[state]
	}
	if chance >= 1 {
		return cost
	}
	for state, b := range belief {
		after[state] = b * (1 - attempt.Chance[state]) / (1 - chance)
	}
	return cost + (1-chance)*e.from(depth+1, tried|1<<i, paid|attempt.Needs)
}

func randomProblem(r *rand.Rand, attempts, preparations, states int) door.Problem {
	p := door.Problem{Force: 5 + 120*r.Float64()}
	for range states {
		p.Weights = append(p.Weights, r.Float64()+0.01)
	}
	for range preparations {
		p.Preparations = append(p.Preparations, 5*r.Float64())
	}
	for range attempts {
		attempt := door.SumAttempt{Cost: 0.5 + 20*r.Float64(), Needs: uint(r.IntN(1 << preparations))}
		for range states {
			chance := 0.0
			if r.IntN(3) > 0 {
				chance = 0.95 * r.Float64()
			}
			attempt.Chance = append(attempt.Chance, chance)
		}
		p.Attempts = append(p.Attempts, attempt)
	}
	return p
}

func TestPlanCostsWhatFullEnumerationFinds(t *testing.T) {
	instances := 10_000
	if testing.Short() {
		instances = 500
	}
	r := rand.New(rand.NewPCG(4, 1))
	for i := range instances {
		attempts := 1 + r.IntN(6)
		if i%20 == 0 {
			attempts = 7 // the costly ones, one in twenty
		}
		p := randomProblem(r, attempts, r.IntN(3), 1+r.IntN(4))
		got, want := p.Solve().Cost, enumerate(p)
		if math.Abs(got-want) > 1e-9 {
			t.Fatalf("instance %d: cost %.12f, enumeration %.12f: %+v", i, got, want, p)
		}
	}
}

// cost follows an order through to forcing, independent of how it was found.
func cost(p door.Problem, order []int) float64 {
	left, total, paid, sum := slices.Clone(p.Weights), 0.0, uint(0), 0.0
	for _, weight := range left {
		sum += weight
	}
	reach := func() float64 {
		alive := 0.0
		for _, weight := range left {
			alive += weight
		}
		return alive / sum
	}
	for _, i := range order {
		price := p.Attempts[i].Cost
		for k, preparation := range p.Preparations {
			if p.Attempts[i].Needs&^paid&(1<<k) != 0 {
				price += preparation
			}
		}
		total += reach() * price
		paid |= p.Attempts[i].Needs
		for state, chance := range p.Attempts[i].Chance {
			left[state] *= 1 - chance
		}
	}
	return total + reach()*p.Force
}

func TestOrderCostsWhatThePlanSays(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 2))
	for range 500 {
		p := randomProblem(r, 10, 3, 7)
		solution := p.Solve()
		if got := cost(p, solution.Order); math.Abs(got-solution.Cost) > 1e-9 {
			t.Fatalf("the order costs %.12f, the plan says %.12f", got, solution.Cost)
		}
	}
}

func oneHold(force float64, costAndChance ...[2]float64) door.Problem {
	p := door.Problem{Weights: []float64{1}, Force: force}
	for _, pair := range costAndChance {
		p.Attempts = append(p.Attempts, door.SumAttempt{Cost: pair[0], Chance: []float64{pair[1]}})
	}
	return p
}

func TestPublishedSearchOrders(t *testing.T) {
	// Independent attempts until the first success go by chance over cost (Mitten,
	// J Ind Eng 11, 1960, from memory; figures by arithmetic): chances .5, .9,
	// costs 2, 6: in this order 2 + .5*6 = 5.0, in the other 6.2.
	independent := oneHold(1e-9, [2]float64{2, 0.5}, [2]float64{6, 0.9})
	if got := cost(independent, []int{0, 1}); math.Abs(got-5.0) > 1e-6 {
		t.Errorf("first order costs %g, want 5.0", got)
	}
	if got := cost(independent, []int{1, 0}); math.Abs(got-6.2) > 1e-6 {
		t.Errorf("second order costs %g, want 6.2", got)
	}
	independent.Force = 1000
	if got := independent.Solve().Order; !slices.Equal(got, []int{0, 1}) {
		t.Errorf("order %v, want 0 1", got)
	}

	// One target in one of two boxes: open by chance over cost (question and answer
	// with proof, secondary text): chances .8, .2, costs 3, 2: 3.4 against 4.4.
	boxes := door.Problem{
		Weights: []float64{0.8, 0.2}, Force: 1000,
		Attempts: []door.SumAttempt{{Cost: 3, Chance: []float64{1, 0}}, {Cost: 2, Chance: []float64{0, 1}}},
	}
	solution := boxes.Solve()
	if !slices.Equal(solution.Order, []int{0, 1}) || math.Abs(solution.Cost-3.4) > 1e-12 {
		t.Errorf("order %v at %g, want 0 1 at 3.4", solution.Order, solution.Cost)
	}
	if got := cost(boxes, []int{1, 0}); math.Abs(got-4.4) > 1e-12 {
		t.Errorf("other order costs %g, want 4.4", got)
	}
}

// problems draws sums of up to 6 attempts with the number of states given.
func problems(states int) *rapid.Generator[door.Problem] {
	return rapid.Custom(func(t *rapid.T) door.Problem {
		seed := rapid.Uint64().Draw(t, "seed")
		attempts := rapid.IntRange(1, 6).Draw(t, "attempts")
		r := rand.New(rand.NewPCG(seed, 0))
		return randomProblem(r, attempts, r.IntN(2), states)
	})
}

func TestOneHoldFollowsChanceOverCost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := problems(1).Draw(t, "problem")
		p.Preparations = nil
		for i := range p.Attempts {
			p.Attempts[i].Needs = 0
		}
		order := p.Solve().Order
		index := func(i int) float64 { return p.Attempts[i].Chance[0] / p.Attempts[i].Cost }
		for i := 1; i < len(order); i++ {
			if index(order[i]) > index(order[i-1])+1e-12 {
				t.Fatalf("order %v is not by chance over cost", order)
			}
		}
	})
}

func TestBetterChanceNeverComesLaterWithOneHold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := problems(1).Draw(t, "problem")
		p.Preparations = nil
		for i := range p.Attempts {
			p.Attempts[i].Needs = 0
		}
		before := p.Solve().Order
		better := rapid.IntRange(0, len(p.Attempts)-1).Draw(t, "better")
		p.Attempts[better].Chance[0] += (1 - p.Attempts[better].Chance[0]) * rapid.Float64Range(0, 1).Draw(t, "by")
		after := p.Solve().Order
		if was := slices.Index(before, better); was >= 0 {
			if now := slices.Index(after, better); now < 0 || now > was {
				t.Fatalf("attempt %d went from place %d to %d", better, was, now)
			}
		}
	})
}

func TestBetterChanceOrMoreAttemptsNeverCostMore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := problems(5).Draw(t, "problem")
		before := p.Solve().Cost
		fewer := p
		fewer.Attempts = p.Attempts[1:]
		if without := fewer.Solve().Cost; without < before-1e-9 {
			t.Fatalf("one attempt more costs %g, without it %g", before, without)
		}
		attempt := rapid.IntRange(0, len(p.Attempts)-1).Draw(t, "attempt")
		state := rapid.IntRange(0, len(p.Weights)-1).Draw(t, "state")
		p.Attempts[attempt].Chance[state] += (1 - p.Attempts[attempt].Chance[state]) * rapid.Float64Range(0, 1).Draw(t, "by")
		if after := p.Solve().Cost; after > before+1e-9 {
			t.Fatalf("a better chance raised the cost from %g to %g", before, after)
		}
	})
}

func TestPastMaxExactTheBoundHolds(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 3))
	p := randomProblem(r, door.MaxExact+4, 1, 4)
	solution := p.Solve()
	if solution.Bound > solution.Cost {
		t.Errorf("bound %g is above the cost %g", solution.Bound, solution.Cost)
	}
	if got := cost(p, solution.Order); math.Abs(got-solution.Cost) > 1e-9 {
		t.Errorf("the order costs %g, the plan says %g", got, solution.Cost)
	}
	if len(solution.Order) > door.MaxExact {
		t.Errorf("%d attempts in the plan, at most %d", len(solution.Order), door.MaxExact)
	}
	p.Attempts = p.Attempts[:6]
	if exact := p.Solve(); exact.Bound != exact.Cost {
		t.Errorf("an exact plan's bound is %g, not its cost %g", exact.Bound, exact.Cost)
	}
}

func TestClairvoyantBoundIsBelowEnumeration(t *testing.T) {
	// The bound must hold for the best plan of all attempts. One hold and no
	// preparation make the best plan known: the one by chance over cost.
	r := rand.New(rand.NewPCG(4, 5))
	for range 5 {
		p := randomProblem(r, door.MaxExact+2, 0, 1)
		best := cost(p, byChanceOverCost(p))
		if solution := p.Solve(); solution.Bound > best+1e-9 || solution.Cost < best-1e-9 {
			t.Fatalf("bound %g, best %g, cost %g", solution.Bound, best, solution.Cost)
		}
	}
}

// byChanceOverCost is the best order with one hold, ended where forcing is as
// cheap.
func byChanceOverCost(p door.Problem) []int {
	var order []int
	for i, attempt := range p.Attempts {
		if attempt.Chance[0]*p.Force > attempt.Cost {
			order = append(order, i)
		}
	}
	slices.SortFunc(order, func(a, b int) int {
		return int(math.Copysign(1, p.Attempts[a].Cost/p.Attempts[a].Chance[0]-p.Attempts[b].Cost/p.Attempts[b].Chance[0]))
	})
	return order
}

func TestNothingToTryMeansForce(t *testing.T) {
	for name, p := range map[string]door.Problem{
		"no attempts": {Weights: []float64{1}, Force: 7},
		"no belief":   {Weights: []float64{0}, Force: 7, Attempts: []door.SumAttempt{{Cost: 1, Chance: []float64{1}}}},
	} {
		t.Run(name, func(t *testing.T) {
			if got := p.Solve(); len(got.Order) != 0 || got.Cost != 7 {
				t.Errorf("order %v at %g, want only force at 7", got.Order, got.Cost)
			}
		})
	}
}

func BenchmarkSolve12(b *testing.B) { benchmarkSolve(b, 12) }
func BenchmarkSolve16(b *testing.B) { benchmarkSolve(b, 16) }
func BenchmarkSolve18(b *testing.B) { benchmarkSolve(b, 18) }

func benchmarkSolve(b *testing.B, attempts int) {
	p := randomProblem(rand.New(rand.NewPCG(4, 4)), attempts, 3, 7)
	for b.Loop() {
		p.Solve()
	}
}
