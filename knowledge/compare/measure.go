package main

import (
	"fmt"
	"runtime"
	"slices"
	"time"

	"kitbell/bot/measure"
	"kitbell/knowledge"
)

// rounds is how often all questions are asked for the times; the first round
// also gives the scores.
const rounds = 3

// row is how one engine did on one set of questions.
type row struct {
	engine   engine
	scores   measure.QuestionScores // nobody declines: each engine gives its best cards
	apart    float64                // see apart
	declined float64                // see declinedAt
	built    time.Duration
	heap     float64 // megabytes that the index holds after a collection
}

// wronglyDeclined is the share of answerable questions that an engine may
// decline in the comparison of declining.
const wronglyDeclined = 0.03

// compare builds an engine over the cards and asks it the questions.
func compare(e engine, cards []*knowledge.Card, questions []measure.Question) (row, error) {
	r := row{engine: e}
	before := heapInUse()
	start := time.Now()
	s, err := e.build(cards)
	if err != nil {
		return r, fmt.Errorf("build %s: %w", e.name, err)
	}
	defer s.close()
	r.built = time.Since(start)
	r.heap = float64(heapInUse()-before) / 1e6
	var failed error
	var inside, outside []float64
	var times []time.Duration
	asked := 0
	ask := func(question string) []string {
		start := time.Now()
		ids, sure, err := s.search(question)
		times = append(times, time.Since(start))
		if err != nil {
			failed = err
		}
		if asked < len(questions) {
			if questions[asked].Answerable() {
				inside = append(inside, sure)
			} else {
				outside = append(outside, sure)
			}
		}
		asked++
		return ids
	}
	r.scores = measure.Questions(questions, ask)
	for range rounds - 1 {
		measure.Questions(questions, ask)
	}
	runtime.KeepAlive(s)
	r.apart, r.declined = apart(inside, outside), declinedAt(wronglyDeclined, inside, outside)
	slices.Sort(times)
	r.scores.Median, r.scores.Slowest = times[len(times)/2], times[len(times)*99/100]
	return r, failed
}

// heapInUse is what lives on the heap, in bytes. The second collection frees
// what the first one's finalizers let go.
func heapInUse() int64 {
	runtime.GC()
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int64(m.HeapAlloc)
}

// apart is the chance that a question which some card answers is surer than one
// which none does: the area under the ROC curve, ties counted half.
func apart(inside, outside []float64) float64 {
	if len(inside) == 0 || len(outside) == 0 {
		return 0
	}
	var sum float64
	for _, in := range inside {
		for _, out := range outside {
			switch {
			case in > out:
				sum++
			case in == out:
				sum += 0.5
			}
		}
	}
	return sum / float64(len(inside)*len(outside))
}

// declinedAt is the share of outside questions that are declined when the
// threshold is put so that at most the share wrong of the inside ones is. The
// threshold is looked up in the same set, for every engine alike.
func declinedAt(wrong float64, inside, outside []float64) float64 {
	if len(inside) == 0 || len(outside) == 0 {
		return 0
	}
	sorted := slices.Sorted(slices.Values(inside))
	threshold := sorted[int(wrong*float64(len(sorted)))]
	declined := 0
	for _, sure := range outside {
		if sure < threshold {
			declined++
		}
	}
	return float64(declined) / float64(len(outside))
}
