package understand

import (
	"fmt"
	"math"
	"strings"
	"unicode"

	"github.com/kljensen/snowball/english"
)

// classifier tells what a message is for by its words and pairs of words, as a
// naive Bayes count over the messages in words/intents.yaml. It is asked when no
// rule of the grammar is sure.
type classifier struct {
	intents []Intent
	scores  map[string][]float32 // feature → log of its share, by intent
	unseen  []float32            // of a feature that an intent never had
}

// smoothing is what every feature is taken to have been seen more often than it
// was, so that a new word rules nothing out.
const smoothing = 0.25

func (r *Reader) loadClassifier() error {
	var file map[Intent]string
	if err := readWords("intents.yaml", &file); err != nil {
		return err
	}
	c := classifier{intents: Intents(), scores: map[string][]float32{}}
	totals := make([]float32, len(c.intents))
	for i, intent := range c.intents {
		if file[intent] == "" {
			return fmt.Errorf("intents.yaml: no messages for %s", intent)
		}
		for text := range strings.Lines(file[intent]) {
			for _, f := range r.sheet(strings.TrimSpace(text), Context{}).features() {
				if c.scores[f] == nil {
					c.scores[f] = make([]float32, len(c.intents))
				}
				c.scores[f][i]++
				totals[i]++
			}
		}
	}
	c.weigh(totals)
	r.classifier = c
	return nil
}

// weigh turns counts into logarithms of shares.
func (c *classifier) weigh(totals []float32) {
	c.unseen = make([]float32, len(c.intents))
	all := make([]float32, len(c.intents)) // logarithms of the totals
	for i, n := range totals {
		all[i] = float32(math.Log(float64(n) + smoothing*float64(len(c.scores))))
		c.unseen[i] = float32(math.Log(smoothing)) - all[i]
	}
	never := float32(math.Log(smoothing)) // what most features are to most intents
	for _, counts := range c.scores {
		for i, n := range counts {
			logCount := never
			if n > 0 {
				logCount = float32(math.Log(float64(n) + smoothing))
			}
			counts[i] = logCount - all[i]
		}
	}
}

// vote is how likely a message is each intent, in the order of Intents; the
// likelihoods add up to 1. known is how many of its features were ever seen.
func (c *classifier) vote(features []string) (likely []float64, known int) {
	likely = make([]float64, len(c.intents))
	for _, f := range features {
		scores, ok := c.scores[f]
		if !ok {
			continue
		}
		known++
		for i := range likely {
			likely[i] += float64(scores[i])
		}
	}
	best, sum := math.Inf(-1), 0.0
	for _, x := range likely {
		best = max(best, x)
	}
	for i := range likely {
		likely[i] = math.Exp(likely[i] - best)
		sum += likely[i]
	}
	for i := range likely {
		likely[i] /= sum
	}
	return likely, known
}

// guess is the likeliest intent and how sure that is, 0 to 1.
func (s *sheet) guess() (Intent, float64) {
	likely, known := s.classifier.vote(s.features())
	if known == 0 {
		return None, 0
	}
	best := 0
	for i, x := range likely {
		if x > likely[best] {
			best = i
		}
	}
	return s.classifier.intents[best], likely[best]
}

// features are the words of a message and their pairs, items, rigs, numbers and
// conditions standing for their kind. Only the beginning of a long message
// counts.
func (s *sheet) features() []string {
	var all []string
	last := "^"
	add := func(f string) {
		all = append(all, f, last+" "+f)
		last = f
	}
	for _, m := range s.marks[:min(len(s.marks), longestVote)] {
		switch m.kind {
		case dateMark:
			add("<day>")
		case unitMark:
			add("<unit>")
		case itemMark, sizeMark:
			add("<item>")
		case offKitMark:
			add("<other>")
		case conditionMark:
			all = append(all, "<is "+string(m.sense(conditionSense).status)+">")
			s.eachWord(m, add)
		case borderMark:
			if s.tokens[m.at].kind == askToken {
				add("?")
			}
		default:
			s.eachWord(m, add)
		}
	}
	return append(all, last+" $")
}

// longestVote is how many marks of a message the classifier looks at.
const longestVote = 60

// eachWord gives the stems of a mark's words.
func (s *sheet) eachWord(m mark, add func(string)) {
	for i := m.at; i < m.end; i++ {
		t := s.tokens[i]
		switch {
		case s.words.skip[t.word] && t.word != 0:
		case s.words.days[t.word] != "":
			add("<day>")
		case s.platoonAt(i) != "":
			add("<platoon>")
		case t.value >= 0:
			add("<number>")
		default:
			add(s.stem(t))
		}
	}
}

// stem is a token's word without its ending.
func (s *sheet) stem(t token) string {
	if t.word != 0 {
		return s.words.stems[t.word]
	}
	word := plain(s.text[t.from:t.to])
	if len(word) > longestCorrected || strings.ContainsFunc(word, unicode.IsDigit) {
		return "<odd>"
	}
	return english.Stem(word, true)
}
