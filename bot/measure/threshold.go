package measure

import "slices"

// Threshold returns the score at or above which a question is best answered:
// the one that declines most of the others while declining at most the share
// refused of the answerable questions; among equals the middle of the gap.
// Without answerable scores it is 0.
func Threshold(answerable, others []float64, refused float64) float64 {
	if len(answerable) == 0 {
		return 0
	}
	answerable = slices.Sorted(slices.Values(answerable))
	lost := min(int(refused*float64(len(answerable))), len(answerable)-1)
	highest := answerable[lost]
	// The highest score of the others below that: nothing is won by going higher.
	below := 0.0
	for _, score := range others {
		if score < highest {
			below = max(below, score)
		}
	}
	if lost > 0 {
		below = max(below, answerable[lost-1])
	}
	return (below + highest) / 2
}
