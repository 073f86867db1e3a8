package measure

import (
	"math"
	"slices"
)

// DCG is discounted cumulative gain with linear gains: the sum of
// gain/log2(place+1), places counted from 1.
func DCG(gains []float64) float64 {
	var sum float64
	for i, gain := range gains {
		sum += gain / math.Log2(float64(i)+2)
	}
	return sum
}

// NDCG is the DCG of the first depth gains as a share of the best possible one.
// all holds the gains of everything judged, found or not: leaving out what was
// not found would flatter the search. It is 0 when nothing has a gain.
func NDCG(gains, all []float64, depth int) float64 {
	ideal := slices.Clone(all)
	slices.Sort(ideal)
	slices.Reverse(ideal)
	best := DCG(ideal[:min(depth, len(ideal))])
	if best == 0 {
		return 0
	}
	return DCG(gains[:min(depth, len(gains))]) / best
}
