package knowledge

import (
	"maps"
	"math"
	"slices"
	"sync"
)

// The fields of a card as the index sees them: its title and aliases, and
// everything. The asks and the body count in the second only.
const (
	nameField = iota
	allField
	fieldCount
)

// source is a card's words, or a topic's, before they are indexed.
type source struct {
	entry
	names, asks [][]string
	lines       [][]string // of the body; a topic's questions
}

// indexBuilder is what is needed only while an index is made.
type indexBuilder struct {
	*Index
	counts  map[termID][]termCount
	lengths [fieldCount][]float64 // by entry
}

// termCount is how often an entry has a term in each field.
type termCount struct {
	entry int32
	tf    fieldTF
}

type fieldTF [fieldCount]uint16

func newIndexBuilder(lex *lexicon, ranking Ranking) *indexBuilder {
	return &indexBuilder{
		Index:  &Index{ranking: ranking, lexicon: lex, words: newVocabulary(lex), terms: map[string]termID{}, kinds: newKindModel()},
		counts: map[termID][]termCount{},
	}
}

func (b *indexBuilder) build(cards []*Card, topics []Topic) *Index {
	sources := make([]source, 0, len(cards)+len(topics))
	for _, c := range cards {
		sources = append(sources, cardSource(c))
	}
	for _, t := range topics {
		sources = append(sources, topicSource(t))
	}
	// The vocabulary must be whole before the first term is made of it.
	for _, s := range sources {
		b.learn(s)
	}
	var learning sync.WaitGroup
	learning.Go(func() { b.teach(sources) })
	b.speller = newSpeller(b.knownWords(sources))
	for _, s := range sources {
		b.add(s)
	}
	b.weigh()
	learning.Wait()
	return b.Index
}

func cardSource(c *Card) source {
	lines := [][]string{splitWords(c.Intro)}
	for _, s := range c.Sections {
		for _, item := range s.Items {
			lines = append(lines, splitWords(item.Text))
		}
	}
	return source{
		entry: entry{id: c.ID, kind: c.Kind},
		names: append([][]string{splitWords(c.Title)}, splitAll(c.Aliases)...),
		asks:  splitAll(c.Asks),
		lines: lines,
	}
}

func topicSource(t Topic) source {
	return source{entry: entry{id: t.Title, beyond: true}, names: [][]string{splitWords(t.Title)}, asks: splitAll(t.Words), lines: splitAll(t.Asks)}
}

func splitAll(texts []string) [][]string {
	all := make([][]string, 0, len(texts))
	for _, text := range texts {
		all = append(all, splitWords(text))
	}
	return all
}

func (b *indexBuilder) learn(s source) {
	if s.beyond {
		return
	}
	for _, words := range slices.Concat(s.names, s.asks, s.lines) {
		b.words.learn(words)
	}
	for _, words := range s.asks {
		b.kinds.learn(s.kind, b.words.stemAll(words))
	}
}

// knownWords are the words that need no correcting with how common they are: the
// cards', the topics', which are never meant when a card's word is as near, and
// those the lexicon understands.
func (b *indexBuilder) knownWords(sources []source) map[string]int {
	known := maps.Clone(b.words.counts)
	for _, s := range sources {
		for _, words := range slices.Concat(s.asks, s.lines) {
			for _, word := range words {
				known[word] += 0
			}
		}
	}
	for word := range b.lexicon.sayingWords {
		known[word]++
	}
	for word := range b.lexicon.plain {
		known[word] += plainCount
	}
	return known
}

// plainCount is how often a word of everyday talk is taken to occur when
// spelling is corrected: as often as the commonest words of the cards.
const plainCount = 200

func (b *indexBuilder) add(s source) {
	e := s.entry
	counts := map[termID]*fieldTF{}
	for _, words := range s.names {
		terms := b.number(words)
		count(counts, terms, nameField, allField)
		e.asks = append(e.asks, distinct(terms))
	}
	for _, words := range s.asks {
		terms := b.number(words)
		count(counts, terms, allField)
		e.asks = append(e.asks, distinct(terms))
	}
	if !e.beyond {
		count(counts, b.number(slices.Concat(s.lines...)), allField)
	}
	b.entries = append(b.entries, e)
	b.addCounts(int32(len(b.entries)-1), counts)
}

func count(counts map[termID]*fieldTF, terms []termID, fields ...int) {
	for _, t := range terms {
		tf := counts[t]
		if tf == nil {
			tf = new(fieldTF)
			counts[t] = tf
		}
		for _, f := range fields {
			tf[f] = min(tf[f], math.MaxUint16-1) + 1
		}
	}
}

func (b *indexBuilder) addCounts(number int32, counts map[termID]*fieldTF) {
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

// weigh turns counts into idf and impacts.
func (b *indexBuilder) weigh() {
	n := len(b.entries)
	b.rarest = math.Log1p(Odds(n, 0))
	b.postings = make([]postings, len(b.terms))
	b.idf = make([]float64, len(b.terms))
	scorer, plain := b.newImpactScorer(), b.plainTerms()
	for t := range b.idf {
		counts := b.counts[termID(t)]
		b.idf[t] = math.Log1p(Odds(n, len(counts)))
		if plain[termID(t)] {
			b.idf[t] *= b.ranking.Plain
		}
		b.postings[t] = scorer.postings(counts, b.idf[t])
	}
}

func (b *indexBuilder) plainTerms() map[termID]bool {
	plain := map[termID]bool{}
	for word := range b.lexicon.plain {
		if t, ok := b.terms[stem(word)]; ok {
			plain[t] = true
		}
	}
	return plain
}

// impactScorer scores a term in an entry: at most its idf, when it fills every
// field.
type impactScorer struct {
	k1       float64
	entries  []entry
	fields   [fieldCount]FieldRanking
	lengths  [fieldCount][]float64
	averages [fieldCount]float64
}

func (b *indexBuilder) newImpactScorer() impactScorer {
	s := impactScorer{
		k1: b.ranking.K1, entries: b.entries,
		fields: [fieldCount]FieldRanking{b.ranking.Name, b.ranking.All}, lengths: b.lengths,
	}
	for f := range s.averages {
		s.averages[f] = mean(b.lengths[f])
	}
	return s
}

func (s impactScorer) postings(counts []termCount, idf float64) postings {
	p := postings{entries: make([]int32, 0, len(counts)), impacts: make([]float32, 0, len(counts))}
	for _, c := range counts {
		impact := float32(idf * s.share(c))
		p.entries = append(p.entries, c.entry)
		p.impacts = append(p.impacts, impact)
		p.highest = max(p.highest, impact)
	}
	return p
}

// share is the fields' saturation, weighted, as a share of the most it can be.
// A topic's words are a list, not a text: how often and among how many does not
// matter.
func (s impactScorer) share(c termCount) float64 {
	if s.entries[c.entry].beyond {
		return 1
	}
	var sum float64
	for f, field := range s.fields {
		sum += field.Weight * Saturation(float64(c.tf[f]), s.lengths[f][c.entry], s.averages[f], s.k1, field.B)
	}
	return sum / (s.k1 + 1)
}

func mean(values []float64) float64 {
	var sum float64
	for _, v := range values {
		sum += v
	}
	return sum / max(1, float64(len(values)))
}

// mostClasses is how many entries are learned one by one: more would take too
// long. Beyond that all cards are one class, against which the topics stand out.
const mostClasses = 1000

// mostLessons bounds the time to learn, for libraries of many thousand cards.
const mostLessons = 30_000

// teach lets the index learn to tell its entries apart by their texts.
func (b *indexBuilder) teach(sources []source) {
	b.classes = make([]int32, len(sources))
	classes := int32(0)
	for i, s := range sources {
		if s.beyond || len(sources) <= mostClasses || i == 0 {
			classes++
		}
		b.classes[i] = classes - 1
	}
	var lessons []lesson
	every := 1 + len(sources)/mostClasses
	for i, s := range sources {
		if !s.beyond && i%every != 0 {
			continue
		}
		texts := slices.Concat(s.names, s.asks)
		if s.beyond { // a card's body takes long to learn and adds nothing
			texts = slices.Concat(texts, s.lines)
		}
		for _, words := range texts {
			if len(lessons) < mostLessons || s.beyond {
				lessons = append(lessons, lesson{b.classes[i], b.lexicon.text(b.words.stemAll(words))})
			}
		}
	}
	b.learned = learn(lessons, int(classes))
}
