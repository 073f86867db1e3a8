package knowledge

import (
	"math"
	"math/rand/v2"
)

// learned tells what a question is about by how it is put: softmax regression
// over the stems of its words, the little ones too, and over pairs of
// neighbours. It learns from the cards' and topics' own texts whenever an index
// is built, so that a department's cards take part like the others. Adding up
// shared words, as BM25 does, cannot see that "pin" hardly tells one card of
// latches from the next; learning to tell them apart does.
type learned struct {
	words   map[string]int32   // stem → feature
	pairs   map[[2]int32]int32 // neighbouring words → feature
	idf     []float32          // by feature
	classes int
	weights []float32 // by feature, then class
}

// lesson is a text with what it is about.
type lesson struct {
	class int32
	text
}

// text is a question or a line of a card as learned reads it.
type text struct {
	stems    []string
	meanings []string // what the thesaurus knows of its words, in no order
}

// feature is a word or a pair in a text with its weight there.
type feature struct {
	id    int32
	value float32
}

// How the regression is run. The values hardly matter to what is found in the
// end (testing on asks left out), so they are the quickest that do.
const (
	lessonRounds = 2
	lessonRate   = 3.0
	negligible   = 0.02 // a smaller error moves no weight
)

// edge stands before the first word and behind the last.
const edge = int32(-1)

func learn(lessons []lesson, classes int) *learned {
	l := &learned{words: map[string]int32{}, pairs: map[[2]int32]int32{}, classes: classes}
	texts := make([][]int32, len(lessons))
	for i, n := range lessons {
		texts[i] = l.number(n.text, l.add)
		for _, f := range texts[i] {
			l.idf[f]++
		}
	}
	l.dropRarePairs(texts)
	for f, df := range l.idf {
		l.idf[f] = float32(math.Log(float64(1+len(texts))/float64(1+df)) + 1)
	}
	weighed := make([][]feature, len(texts))
	for i, text := range texts {
		weighed[i] = l.weigh(text)
	}
	l.practise(lessons, weighed)
	return l
}

// add makes a new feature.
func (l *learned) add() int32 {
	l.idf = append(l.idf, 0)
	return int32(len(l.idf) - 1)
}

// number returns the features of a text; unknown ones come from add, or are
// left out when that is nil.
func (l *learned) number(t text, add func() int32) []int32 {
	features := make([]int32, 0, 2*len(t.stems)+1+len(t.meanings))
	before := edge
	for _, s := range t.stems {
		word := lookUp(l.words, s, add)
		features = appendKnown(features, word)
		features = appendKnown(features, lookUp(l.pairs, [2]int32{before, word}, add))
		before = word
	}
	features = appendKnown(features, lookUp(l.pairs, [2]int32{before, edge}, add))
	for _, m := range t.meanings {
		features = appendKnown(features, lookUp(l.words, m, add))
	}
	return features
}

// unknown is the number of a word that no lesson had.
const unknown = int32(-2)

func lookUp[K comparable](known map[K]int32, key K, add func() int32) int32 {
	id, ok := known[key]
	switch {
	case ok:
		return id
	case add == nil:
		return unknown
	}
	id = add()
	known[key] = id
	return id
}

func appendKnown(features []int32, f int32) []int32 {
	if f == unknown {
		return features
	}
	return append(features, f)
}

// dropRarePairs forgets the pairs that were met once: they are most of the
// features and tell the least.
func (l *learned) dropRarePairs(texts [][]int32) {
	renumbered := make([]int32, len(l.idf))
	for pair, f := range l.pairs {
		if l.idf[f] < 2 {
			renumbered[f] = unknown
			delete(l.pairs, pair)
		}
	}
	kept := l.idf[:0]
	for f, df := range l.idf {
		if renumbered[f] != unknown {
			renumbered[f] = int32(len(kept))
			kept = append(kept, df)
		}
	}
	l.idf = kept
	for word, f := range l.words {
		l.words[word] = renumbered[f]
	}
	// A pair's key holds words, whose numbers change with the others.
	pairs := make(map[[2]int32]int32, len(l.pairs))
	for pair, f := range l.pairs {
		for i, word := range pair {
			if word != edge {
				pair[i] = renumbered[word]
			}
		}
		pairs[pair] = renumbered[f]
	}
	l.pairs = pairs
	for i, text := range texts {
		left := text[:0]
		for _, f := range text {
			left = appendKnown(left, renumbered[f])
		}
		texts[i] = left
	}
}

// weigh gives features the weight of their rarity, all together length 1.
func (l *learned) weigh(ids []int32) []feature {
	features := make([]feature, len(ids))
	var squares float32
	for i, f := range ids {
		features[i] = feature{f, l.idf[f]}
		squares += l.idf[f] * l.idf[f]
	}
	norm := float32(1 / math.Sqrt(float64(squares)))
	for i := range features {
		features[i].value *= norm
	}
	return features
}

// practise goes through the lessons in a random order that is the same each time,
// with ever smaller steps.
func (l *learned) practise(lessons []lesson, texts [][]feature) {
	l.weights = make([]float32, len(l.idf)*l.classes)
	rng := rand.New(rand.NewPCG(1, 1))
	guess, wrong := make([]float32, l.classes), make([]int32, 0, l.classes)
	rate, step := float32(lessonRate), float32(lessonRate)/float32(lessonRounds*len(lessons))
	for range lessonRounds {
		for _, i := range rng.Perm(len(lessons)) {
			l.logits(texts[i], guess)
			softmax(guess)
			guess[lessons[i].class]--
			wrong = wrong[:0]
			for class, err := range guess {
				if err < -negligible || err > negligible {
					wrong = append(wrong, int32(class))
				}
			}
			for _, f := range texts[i] {
				row := l.row(f.id)
				for _, class := range wrong {
					row[class] -= rate * guess[class] * f.value
				}
			}
			rate -= step
		}
	}
}

func (l *learned) row(f int32) []float32 {
	return l.weights[int(f)*l.classes : (int(f)+1)*l.classes]
}

func (l *learned) logits(features []feature, out []float32) {
	clear(out)
	for _, f := range features {
		for class, w := range l.row(f.id)[:len(out)] {
			out[class] += f.value * w
		}
	}
}

// guess returns how likely each class is.
func (l *learned) guess(t text) []float32 {
	likely := make([]float32, l.classes)
	if features := l.number(t, nil); len(features) > 0 {
		l.logits(l.weigh(features), likely)
	}
	softmax(likely)
	return likely
}

// softmax turns logarithms into shares of 1. Those of less than e^-6 of the
// highest are as good as 0 and are not worked out.
func softmax(logs []float32) {
	highest := logs[0]
	for _, l := range logs {
		highest = max(highest, l)
	}
	var sum float32
	for i, l := range logs {
		logs[i] = 0
		if l > highest-6 {
			logs[i] = float32(math.Exp(float64(l - highest)))
		}
		sum += logs[i]
	}
	for i := range logs {
		logs[i] /= sum
	}
}
