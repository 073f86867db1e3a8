package knowledge

import "strings"

// query is a question as the index reads it.
type query struct {
	words  []queryWord
	weight float64            // of all words: the most a card could score
	uses   map[termID][]usage // where a term counts
	asked  []bool             // by term: whether it counts anywhere
	read   []Correction
	kinds  [kindCount]float64
	likely []float32 // by class, what the question is about
}

// queryWord is one word or saying of a question with what it may mean. A card
// is credited with the meaning it fits best.
type queryWord struct {
	weight   float64
	meanings []meaning
}

// meaning is one or more terms that must be met together for full credit.
type meaning struct {
	terms  []termID
	weight float64
}

// usage says that a term is part of a meaning of a word.
type usage struct {
	word   int
	weight float64 // of the meaning, shared among its terms
}

// Correction is a word that was read as another.
type Correction struct{ Typed, Read string }

// maxWords is how much of a question is read: nobody asks in more, and a
// pasted page must not hold up the others.
const maxWords = 60

// wordReading is a kept word after spelling: what it may be, and how far that
// can be trusted.
type wordReading struct {
	word  string
	also  []correction // other words it may be
	trust float64
}

func (x *Index) read(question string) *query {
	q := &query{uses: map[termID][]usage{}, asked: make([]bool, len(x.idf))}
	readings := x.readWords(question, q)
	inSaying := x.addSayings(readings, q)
	for i := range readings {
		x.addWord(readings, i, inSaying[i], q)
	}
	for i, word := range q.words {
		q.weight += word.weight
		for _, m := range word.meanings {
			for _, t := range m.terms {
				q.asked[t] = true
				q.uses[t] = append(q.uses[t], usage{i, m.weight / float64(len(m.terms))})
			}
		}
	}
	return q
}

// maxQuestion is how many bytes of a question are looked at.
const maxQuestion = 2000

// readWords splits the question, joins and divides words as the cards write
// them, and corrects spelling.
func (x *Index) readWords(question string, q *query) []wordReading {
	words := splitWords(strings.ToValidUTF8(question[:min(len(question), maxQuestion)], ""))
	words = words[:min(len(words), maxWords)]
	var stems []string
	var readings []wordReading
	for i := 0; i < len(words); i++ {
		word := words[i]
		switch joined := x.words.joined(words, i); {
		case joined != "":
			stems = append(stems, x.words.stem(words[i]), x.words.stem(words[i+1]))
			readings = append(readings, wordReading{word: joined, trust: 1})
			i++
		case x.lexicon.stop[word]:
			stems = append(stems, x.words.stem(word))
		case x.knows(word):
			readings = append(readings, wordReading{word: word, trust: 1})
			stems = append(stems, x.words.stem(word))
		default:
			guesses := x.guess(word, q)
			readings = append(readings, guesses...)
			for _, g := range guesses {
				stems = append(stems, x.words.stem(g.word))
			}
		}
	}
	q.kinds = x.kinds.guess(stems)
	q.likely = x.learned.guess(x.lexicon.text(stems))
	return readings
}

func (x *Index) knows(word string) bool {
	_, indexed := x.terms[x.words.stem(word)]
	return indexed || x.speller.knows(word)
}

// guess reads a word that is not known.
func (x *Index) guess(word string, q *query) []wordReading {
	found := x.speller.correct(word)
	left, right, splits := x.words.split(word)
	if splits && (len(found) == 0 || found[0].trust < splitTrust) {
		q.read = append(q.read, Correction{word, left + " " + right})
		return []wordReading{{word: left, trust: splitTrust}, {word: right, trust: splitTrust}}
	}
	if len(found) == 0 {
		return []wordReading{{word: word}}
	}
	q.read = append(q.read, Correction{word, found[0].word})
	return []wordReading{{word: found[0].word, also: found[1:], trust: found[0].trust}}
}

// splitTrust is how far a split word is trusted: as much as one slip in seven letters.
const splitTrust = 0.86

// addSayings finds what the thesaurus knows, longest sayings first, and tells
// which words are explained by one. Single words are left to addWord.
func (x *Index) addSayings(readings []wordReading, q *query) []bool {
	explained := make([]bool, len(readings))
	for i := range readings {
		for n := min(x.lexicon.longest, len(readings)-i); n >= 2; n-- {
			phrases := x.saying(readings[i : i+n])
			if phrases == nil {
				continue
			}
			q.add(x.meanings(phrases), 0)
			for j := i; j < i+n; j++ {
				explained[j] = true
			}
			break
		}
	}
	return explained
}

func (x *Index) saying(readings []wordReading) []phrase {
	stems := make([]string, len(readings))
	for i, r := range readings {
		stems[i] = x.words.stem(r.word)
	}
	return x.lexicon.thesaurus[strings.Join(stems, " ")]
}

// weightedMeaning pairs a meaning with the most it can add.
type weightedMeaning struct {
	meaning
	most float64
}

func (x *Index) meanings(phrases []phrase) []weightedMeaning {
	var all []weightedMeaning
	for _, p := range phrases {
		if m, ok := x.meaning(p, x.ranking.Thesaurus); ok {
			all = append(all, m)
		}
	}
	return all
}

// meaning looks a phrase up; it is no meaning when a word of it is in no card.
func (x *Index) meaning(p phrase, weight float64) (weightedMeaning, bool) {
	m := weightedMeaning{meaning: meaning{weight: weight}}
	for _, s := range p {
		t, ok := x.terms[s]
		if !ok {
			return m, false
		}
		m.terms = append(m.terms, t)
		m.most += x.idf[t] / float64(len(p))
	}
	return m, len(p) > 0
}

func (x *Index) addWord(readings []wordReading, i int, explained bool, q *query) {
	r := readings[i]
	meanings := x.meanings(x.saying(readings[i : i+1]))
	if m, ok := x.meaning(phrase{x.words.stem(r.word)}, r.trust); ok {
		meanings = append(meanings, m)
	}
	for _, other := range r.also {
		if m, ok := x.meaning(phrase{x.words.stem(other.word)}, other.trust*other.trust); ok {
			meanings = append(meanings, m)
		}
	}
	if len(meanings) > 0 {
		q.add(meanings, 0)
		return
	}
	if explained {
		return
	}
	weight := x.ranking.Unknown * x.rarest
	if x.lexicon.plain[r.word] {
		weight *= x.ranking.Plain
	}
	q.add(nil, weight)
}

func (q *query) add(meanings []weightedMeaning, weight float64) {
	word := queryWord{weight: weight}
	for _, m := range meanings {
		word.meanings = append(word.meanings, m.meaning)
		word.weight = max(word.weight, m.most)
	}
	q.words = append(q.words, word)
}
