package main

import (
	"fmt"
	"io"

	"kitbell/bot/measure"
	"kitbell/knowledge"
)

// tune tries boosts for every set-up with fields and prints the best by nDCG@10.
func tune(cards []*knowledge.Card, questions []measure.Question, out io.Writer) error {
	for _, s := range setups() {
		if s.boosts == nil {
			continue
		}
		built, err := s.build(cards)
		if err != nil {
			return err
		}
		best, bestBoosts := 0.0, map[string]float64{}
		for boosts := range grid {
			searcher := librarySearcher{built.(librarySearcher).index, s}
			searcher.setup.boosts = boosts
			scores := measure.Questions(questions, func(question string) []string {
				ids, _, _ := searcher.search(question) // a failed search scores nothing
				return ids
			})
			if scores.NDCG > best {
				best, bestBoosts = scores.NDCG, boosts
			}
		}
		fmt.Fprintf(out, "%-22s nDCG@10 %.3f with %v\n", s.name, best, bestBoosts)
		if err := built.close(); err != nil {
			return fmt.Errorf("close index: %w", err)
		}
	}
	return nil
}

// grid gives the boosts that tune tries; only their ratios count, so the body's
// stays 1.
func grid(yield func(map[string]float64) bool) {
	sizes := []float64{0.5, 1, 2, 4}
	for _, title := range sizes {
		for _, aliases := range sizes {
			for _, asks := range sizes {
				if !yield(map[string]float64{"title": title, "aliases": aliases, "asks": asks, "body": 1}) {
					return
				}
			}
		}
	}
}
