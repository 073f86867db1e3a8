package knowledge

import (
	"cmp"
	"slices"
)

// candidates returns the numbers of the entries that score highest when the
// words' impacts are simply added, best first.
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
	s := x.takeScores()
	defer x.giveBack(s)
	for i, t := range terms {
		if least := s.nth(depth); least >= remaining {
			x.addToKept(s, terms[i:], remaining, depth)
			break
		}
		p := x.postings[t.id]
		for j, e := range p.entries {
			s.add(e, t.weight*float64(p.impacts[j]))
		}
		remaining -= t.highest
	}
	return s.best(depth)
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

// addToKept adds the terms that are left, strongest first, to the entries that
// have a score already, and forgets those that fall behind for good.
func (x *Index) addToKept(s *scores, terms []strongTerm, remaining float64, depth int) {
	for _, t := range terms {
		s.keep(s.nth(depth) - remaining)
		p := x.postings[t.id]
		if len(s.touched)*lookUpCost < len(p.entries) {
			for _, e := range s.touched {
				s.of[e] += t.weight * x.impact(t.id, e)
			}
		} else {
			for j, e := range p.entries {
				if s.of[e] > 0 {
					s.of[e] += t.weight * float64(p.impacts[j])
				}
			}
		}
		remaining -= t.highest
	}
}

// lookUpCost is about how many entries of a list can be read in the time that
// looking one up in it takes.
const lookUpCost = 16

// scores is the running sum of each entry, 0 for those not in touched. It is
// as long as the index and used again for the next question.
type scores struct {
	of      []float64
	touched []int32
}

func (x *Index) takeScores() *scores {
	if s, ok := x.pool.Get().(*scores); ok {
		return s
	}
	return &scores{of: make([]float64, len(x.entries))}
}

func (x *Index) giveBack(s *scores) {
	for _, e := range s.touched {
		s.of[e] = 0
	}
	s.touched = s.touched[:0]
	x.pool.Put(s)
}

func (s *scores) add(entry int32, amount float64) {
	if amount <= 0 {
		return
	}
	if s.of[entry] == 0 {
		s.touched = append(s.touched, entry)
	}
	s.of[entry] += amount
}

// nth returns the n-th highest score, -1 when there are fewer.
func (s *scores) nth(n int) float64 {
	if len(s.touched) < n {
		return -1
	}
	top := make([]float64, 0, n) // ascending
	for _, e := range s.touched {
		score := s.of[e]
		if len(top) == n {
			if score <= top[0] {
				continue
			}
			top = slices.Delete(top, 0, 1)
		}
		at, _ := slices.BinarySearch(top, score)
		top = slices.Insert(top, at, score)
	}
	return top[0]
}

// keep forgets the entries that score less than least.
func (s *scores) keep(least float64) {
	kept := s.touched[:0]
	for _, e := range s.touched {
		if s.of[e] >= least {
			kept = append(kept, e)
		} else {
			s.of[e] = 0
		}
	}
	s.touched = kept
}

// best returns the entries with the highest scores, best first.
func (s *scores) best(depth int) []int32 {
	if len(s.touched) > depth {
		s.keep(s.nth(depth))
	}
	best := slices.Clone(s.touched)
	slices.SortFunc(best, func(a, b int32) int {
		return cmp.Or(cmp.Compare(s.of[b], s.of[a]), cmp.Compare(a, b))
	})
	return best[:min(len(best), depth)]
}
