package knowledge

import (
	"fmt"
	"math"
	"slices"
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
}

type termID = int32

// entry is what the index keeps of a card, or of a topic beyond the cards.
type entry struct {
	id       string
	beyond   bool
	kind     Kind
	asks     [][]termID // title, aliases and asks: terms of each, none twice
	notAbout [][]termID
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
	return NewIndexRanked(l, ranking)
}

// NewIndexRanked builds an index with a ranking of one's own.
func NewIndexRanked(l *Library, ranking Ranking) (*Index, error) {
	lex, err := loadLexicon()
	if err != nil {
		return nil, fmt.Errorf("build index: %w", err)
	}
	topics, err := loadBeyond()
	if err != nil {
		return nil, fmt.Errorf("build index: %w", err)
	}
	b := &indexBuilder{
		Index:  &Index{ranking: ranking, lexicon: lex, words: newVocabulary(lex), terms: map[string]termID{}, kinds: newKindModel()},
		counts: map[termID][]termCount{},
	}
	sources := b.gather(l.All(), topics)
	for _, s := range sources {
		b.add(s)
	}
	b.finish()
	return b.Index, nil
}

// The fields of a card as the index sees them.
const (
	nameField = iota
	allField
	fieldCount
)

// source is a card's words before they are indexed.
type source struct {
	id       string
	beyond   bool
	kind     Kind
	names    [][]string // title and aliases
	asks     [][]string
	body     []string
	notAbout [][]string
}

type indexBuilder struct {
	*Index
	counts  map[termID][]termCount
	lengths [fieldCount][]float64 // by entry
}

// termCount is how often an entry has a term in each field.
type termCount struct {
	entry int32
	tf    [fieldCount]uint16
}

// gather splits everything into words and learns the vocabulary, which must be
// whole before the first term is made.
func (b *indexBuilder) gather(cards []*Card, topics []topic) []source {
	sources := make([]source, 0, len(cards)+len(topics))
	for _, c := range cards {
		sources = append(sources, cardSource(c))
	}
	for _, t := range topics {
		sources = append(sources, source{id: t.Title, beyond: true, names: [][]string{splitWords(t.Title)}, asks: splitAll(t.Words)})
	}
	for _, s := range sources {
		for _, words := range slices.Concat(s.names, s.asks, [][]string{s.body}) {
			b.words.learn(words)
		}
		for _, words := range s.asks {
			b.kinds.learn(s.kind, words)
		}
	}
	b.speller = newSpeller(b.knownWords())
	return sources
}

func cardSource(c *Card) source {
	var body []string
	body = append(body, splitWords(c.Intro)...)
	for _, s := range c.Sections {
		for _, item := range s.Items {
			body = append(body, splitWords(item.Text)...)
		}
	}
	return source{
		id:       c.ID,
		kind:     c.Kind,
		names:    append([][]string{splitWords(c.Title)}, splitAll(c.Aliases)...),
		asks:     splitAll(c.Asks),
		body:     body,
		notAbout: splitAll(c.NotAbout),
	}
}

func splitAll(texts []string) [][]string {
	all := make([][]string, 0, len(texts))
	for _, text := range texts {
		all = append(all, splitWords(text))
	}
	return all
}

// knownWords are the words that need no correcting: the cards', and those the
// lexicon understands.
func (b *indexBuilder) knownWords() map[string]int {
	known := make(map[string]int, len(b.words.counts))
	for word, n := range b.words.counts {
		known[word] = n
	}
	for word := range b.lexicon.sayingWords {
		known[word]++
	}
	for word := range b.lexicon.plain {
		known[word]++
	}
	return known
}

func (b *indexBuilder) add(s source) {
	number := int32(len(b.entries))
	e := entry{id: s.id, beyond: s.beyond, kind: s.kind}
	counts := map[termID]*[fieldCount]uint16{}
	count := func(terms []termID, fields ...int) {
		for _, t := range terms {
			if counts[t] == nil {
				counts[t] = new([fieldCount]uint16)
			}
			for _, f := range fields {
				counts[t][f]++
			}
		}
	}
	for _, words := range s.names {
		terms := b.number(words)
		count(terms, nameField, allField)
		e.asks = append(e.asks, distinct(terms))
	}
	for _, words := range s.asks {
		terms := b.number(words)
		count(terms, allField)
		e.asks = append(e.asks, distinct(terms))
	}
	count(b.number(s.body), allField)
	for _, words := range s.notAbout {
		e.notAbout = append(e.notAbout, distinct(b.number(words)))
	}
	b.entries = append(b.entries, e)
	var lengths [fieldCount]float64
	for t, tf := range counts {
		b.counts[t] = append(b.counts[t], termCount{number, *tf})
		for f := range lengths {
			lengths[f] += float64(tf[f])
		}
	}
	for f := range lengths {
		b.lengths[f] = append(b.lengths[f], lengths[f])
	}
}

// number turns words into term numbers, giving new terms new ones.
func (b *indexBuilder) number(words []string) []termID {
	stems := b.words.terms(words)
	numbers := make([]termID, 0, len(stems))
	for _, s := range stems {
		id, ok := b.terms[s]
		if !ok {
			id = termID(len(b.terms))
			b.terms[s] = id
		}
		numbers = append(numbers, id)
	}
	return numbers
}

func distinct(terms []termID) []termID {
	terms = slices.Clone(terms)
	slices.Sort(terms)
	return slices.Compact(terms)
}

// finish turns counts into impacts.
func (b *indexBuilder) finish() {
	n := len(b.entries)
	b.rarest = math.Log1p(Odds(n, 0))
	b.postings = make([]postings, len(b.terms))
	b.idf = make([]float64, len(b.terms))
	plain := b.plainStems()
	var averages [fieldCount]float64
	for f := range averages {
		averages[f] = mean(b.lengths[f])
	}
	for t, counts := range b.counts {
		b.idf[t] = math.Log1p(Odds(n, len(counts)))
		if plain[t] {
			b.idf[t] *= b.ranking.Plain
		}
		b.postings[t] = b.impacts(counts, b.idf[t], averages)
	}
	b.counts = nil
}

func (b *indexBuilder) plainStems() map[termID]bool {
	plain := map[termID]bool{}
	for word := range b.lexicon.plain {
		if t, ok := b.terms[stem(word)]; ok {
			plain[t] = true
		}
	}
	return plain
}

// impacts scores a term in each entry that has it: at most its idf, when it
// fills every field.
func (b *indexBuilder) impacts(counts []termCount, idf float64, averages [fieldCount]float64) postings {
	fields := [fieldCount]FieldRanking{b.ranking.Name, b.ranking.All}
	p := postings{entries: make([]int32, 0, len(counts)), impacts: make([]float32, 0, len(counts))}
	for _, c := range counts {
		var sum float64
		for f, field := range fields {
			sum += field.Weight * Saturation(float64(c.tf[f]), b.lengths[f][c.entry], averages[f], b.ranking.K1, field.B)
		}
		impact := float32(idf * sum / (b.ranking.K1 + 1))
		p.entries = append(p.entries, c.entry)
		p.impacts = append(p.impacts, impact)
		p.highest = max(p.highest, impact)
	}
	return p
}

func mean(values []float64) float64 {
	var sum float64
	for _, v := range values {
		sum += v
	}
	return sum / max(1, float64(len(values)))
}

// impact is what term t adds to an entry's score.
func (x *Index) impact(t termID, entry int32) float64 {
	p := x.postings[t]
	if i, ok := slices.BinarySearch(p.entries, entry); ok {
		return float64(p.impacts[i])
	}
	return 0
}
