package budget

import (
	"math/rand/v2"

	"gonum.org/v1/gonum/mathext"
)

// MixedDoor is a kind of door in the mix that a model is averaged over.
type MixedDoor struct {
	Calls float64 // recorded at such doors, and what is assumed beside them; more than 0
	Worth WorthOf // what an item saves there
}

// MixModel averages over a mix of doors. That recorded calls are a sample makes
// the mix uncertain: each of its draws has shares of a Dirichlet distribution whose
// counts are the calls, so that more records make narrower ranges (Rubin, Annals of
// Statistics 9:130, 1981, the Bayesian bootstrap; from memory). It says nothing of
// whether the model is right, nor of calls that nobody records. The same seed gives
// the same draws. Each door is asked once for an item. The functions are for one
// goroutine.
func MixModel(doors []MixedDoor, draws int, seed uint64) Model {
	x := mix{doors: doors, known: map[string][]saved{}}
	calls := make([]float64, len(doors))
	for i, d := range doors {
		calls[i] = max(0, d.Calls)
	}
	m := Model{Worth: x.average(calls)}
	random := rand.New(rand.NewPCG(seed, 0))
	for range draws {
		m.Draws = append(m.Draws, x.average(dirichlet(random, calls)))
	}
	return m
}

// saved is what an item saves at one door.
type saved struct{ minutes, marks float64 }

// mix is doors with what they said so far, by item.
type mix struct {
	doors []MixedDoor
	known map[string][]saved
}

func (x mix) ask(item string) []saved {
	if _, asked := x.known[item]; !asked {
		for _, d := range x.doors {
			minutes, marks := d.Worth(item)
			x.known[item] = append(x.known[item], saved{minutes, marks})
		}
	}
	return x.known[item]
}

// average weighs the doors; weights need not add up to one.
func (x mix) average(weights []float64) WorthOf {
	return func(item string) (minutes, marks float64) {
		total := 0.0
		for i, at := range x.ask(item) {
			minutes += weights[i] * at.minutes
			marks += weights[i] * at.marks
			total += weights[i]
		}
		if total == 0 {
			return 0, 0
		}
		return minutes / total, marks / total
	}
}

// dirichlet draws weights, which do not add up to one: a Gamma variate each, by
// inverting its distribution.
func dirichlet(random *rand.Rand, counts []float64) []float64 {
	weights := make([]float64, len(counts))
	for i, n := range counts {
		if n > 0 {
			weights[i] = mathext.GammaIncRegInv(n, random.Float64())
		}
	}
	return weights
}
