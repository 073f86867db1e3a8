package main

import (
	"kitbell/knowledge"
)

// depth is how many cards a search gives: what nDCG@10 looks at.
const depth = 10

// engine is one way to search, to be built over cards.
type engine struct {
	name  string
	setup string // what was chosen, for the reader of the table
	build func(cards []*knowledge.Card) (searcher, error)
}

// searcher finds cards. It is used from one goroutine.
type searcher interface {
	// search gives card ids, best first, and how sure the engine is that the
	// best one answers: any number that grows with certainty. Without ids it
	// declined.
	search(question string) (ids []string, sure float64, err error)
	// close gives back what the searcher holds.
	close() error
}

func ownEngine() engine {
	return engine{"kitbell", "the ranking that the program ships", func(cards []*knowledge.Card) (searcher, error) {
		index, err := knowledge.NewIndex(knowledge.NewLibrary(cards))
		return ownSearcher{index}, err
	}}
}

type ownSearcher struct{ index *knowledge.Index }

// search gives the hits of a declined question too: whether to decline is
// compared apart, by the share, for which a topic beyond the cards counts as 0.
func (s ownSearcher) search(question string) ([]string, float64, error) {
	found := s.index.Search(question, depth)
	ids := make([]string, len(found.Hits))
	for i, hit := range found.Hits {
		ids[i] = hit.ID
	}
	if len(ids) == 0 || found.Beyond != "" {
		return ids, 0, nil
	}
	return ids, found.Hits[0].Evidence.Fields, nil
}

func (ownSearcher) close() error { return nil }
