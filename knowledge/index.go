package knowledge

import (
	"fmt"
	"slices"
	"sync"
)

// Index finds cards. It is never changed after it is built and may be used
// from any goroutine.
type Index struct {
	ranking  Ranking
	lexicon  *lexicon
	words    *vocabulary
	speller  *speller
	terms    map[string]termID // stem → its number
	postings []postings        // by term
	idf      []float64         // by term; plain words are lowered
	rarest   float64           // the idf of a word that no card has
	entries  []entry
	kinds    *kindModel
	learned  *learned
	classes  []int32   // of each entry, for learned
	pool     sync.Pool // of *scores, used again for the next question
}

type termID = int32

// entry is what the index keeps of a card, or of a topic beyond the cards.
type entry struct {
	id     string
	beyond bool
	kind   Kind
	asks   [][]termID // title, aliases and asks: terms of each, none twice
}

// postings are the entries that have a term, with what the term would add to
// each one's score, all fields together. Scores do not depend on the rest of
// the question, so they are worked out once.
type postings struct {
	entries []int32
	impacts []float32
	highest float32
}

// NewIndex builds the index of the library's cards and of the topics beyond
// them, with the ranking the program ships.
func NewIndex(l *Library) (*Index, error) {
	ranking, err := DefaultRanking()
	if err != nil {
		return nil, err
	}
	topics, err := Topics()
	if err != nil {
		return nil, err
	}
	return NewIndexOf(l, topics, ranking)
}

// NewIndexOf builds an index with topics and a ranking of one's own.
func NewIndexOf(l *Library, topics []Topic, ranking Ranking) (*Index, error) {
	lex, err := loadLexicon()
	if err != nil {
		return nil, fmt.Errorf("build index: %w", err)
	}
	return newIndexBuilder(lex, ranking).build(l.All(), topics), nil
}

// impact is what term t adds to an entry's score.
func (x *Index) impact(t termID, entry int32) float64 {
	p := x.postings[t]
	if i, ok := slices.BinarySearch(p.entries, entry); ok {
		return float64(p.impacts[i])
	}
	return 0
}
