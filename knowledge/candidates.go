package knowledge

import (
	"cmp"
	"slices"
)

// candidates returns the numbers of the entries that score highest when the
// words' impacts are simply added, in no order.
//
// Terms are taken from the strongest down (MaxScore: Turtle and Flood, Query
// evaluation, 1995). Once those left cannot lift a new entry into the best
// depth, no entry is added any more, and the long lists of common words are
// only looked into for the entries already there.
func (x *Index) candidates(q *query, depth int) []int32 {
	terms := x.strongest(q)
	var remaining float64
	for _, t := range terms {
		remaining += t.highest
	}
	scores := map[int32]float64{}
	for i, t := range terms {
		if x.enough(scores, remaining, depth) {
			x.addToKnown(scores, terms[i:])
			break
		}
		p := x.postings[t.id]
		for j, e := range p.entries {
			scores[e] += t.weight * float64(p.impacts[j])
		}
		remaining -= t.highest
	}
	return best(scores, depth)
}

// strongTerm is a term of the question with the most it can add.
type strongTerm struct {
	id      termID
	weight  float64
	highest float64
}

func (x *Index) strongest(q *query) []strongTerm {
	terms := make([]strongTerm, 0, len(q.uses))
	for id, uses := range q.uses {
		var weight float64
		for _, use := range uses {
			weight = max(weight, use.weight)
		}
		terms = append(terms, strongTerm{id, weight, weight * float64(x.postings[id].highest)})
	}
	slices.SortFunc(terms, func(a, b strongTerm) int {
		return cmp.Or(cmp.Compare(b.highest, a.highest), cmp.Compare(a.id, b.id))
	})
	return terms
}

// enough tells whether an entry not seen yet can no longer be among the best
// depth, because what remains is less than the last of them has.
func (x *Index) enough(scores map[int32]float64, remaining float64, depth int) bool {
	if len(scores) < depth {
		return false
	}
	return nth(scores, depth) >= remaining
}

func (x *Index) addToKnown(scores map[int32]float64, terms []strongTerm) {
	for _, t := range terms {
		for e := range scores {
			scores[e] += t.weight * x.impact(t.id, e)
		}
	}
}

func nth(scores map[int32]float64, n int) float64 {
	values := make([]float64, 0, len(scores))
	for _, s := range scores {
		values = append(values, s)
	}
	slices.Sort(values)
	return values[len(values)-n]
}

func best(scores map[int32]float64, depth int) []int32 {
	entries := make([]int32, 0, len(scores))
	for e := range scores {
		entries = append(entries, e)
	}
	slices.SortFunc(entries, func(a, b int32) int {
		return cmp.Or(cmp.Compare(scores[b], scores[a]), cmp.Compare(a, b))
	})
	return entries[:min(len(entries), depth)]
}
