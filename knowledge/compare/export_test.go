package main

import (
	"io"

	"kitbell/knowledge"
)

// For the tests, which see the package from outside.

func Run(files []string, out io.Writer) error { return run(files, false, out) }

func Apart(inside, outside []float64) float64 { return apart(inside, outside) }

func DeclinedAt(wrong float64, inside, outside []float64) float64 {
	return declinedAt(wrong, inside, outside)
}

// FirstHits gives each engine's first card for a question.
func FirstHits(cards []*knowledge.Card, question string) (map[string]string, error) {
	hits := make(map[string]string)
	engines := []engine{ownEngine()}
	for _, s := range setups() {
		engines = append(engines, s.engine())
	}
	for _, e := range engines {
		s, err := e.build(cards)
		if err != nil {
			return nil, err
		}
		ids, _, err := s.search(question)
		if err != nil {
			return nil, err
		}
		if len(ids) > 0 {
			hits[e.name] = ids[0]
		}
		if err := s.close(); err != nil {
			return nil, err
		}
	}
	return hits, nil
}
