package measure_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"regexp"
	"slices"
	"testing"

	"kitbell/bot/measure"
	"kitbell/knowledge"
)

// leftOut is an index that has not seen some of the cards' asks and of the
// topics' questions, with those as questions: what the cards do with words they
// have not seen.
type leftOut struct {
	index     *knowledge.Index
	questions []measure.Question
}

// leaveOut leaves out a fifth of the asks, another each time.
func leaveOut(t *testing.T, times int) []leftOut {
	t.Helper()
	const parts = 5
	cards, _ := knowledge.Load(knowledge.Cards())
	topics, err := knowledge.Topics()
	if err != nil {
		t.Fatal(err)
	}
	ranking, err := knowledge.DefaultRanking()
	if err != nil {
		t.Fatal(err)
	}
	var all []leftOut
	for part := range times {
		rng := rand.New(rand.NewPCG(5, 5))
		var l leftOut
		keep := func(asks, accept, useful []string) (kept []string) {
			for _, ask := range asks {
				if rng.IntN(parts) == part {
					l.questions = append(l.questions, measure.Question{Text: ask, Accept: accept, Useful: useful})
				} else {
					kept = append(kept, ask)
				}
			}
			return kept
		}
		var fewer []*knowledge.Card
		for _, c := range cards.All() {
			copied := *c
			copied.Asks = keep(c.Asks, []string{c.ID}, c.Related)
			fewer = append(fewer, &copied)
		}
		var others []knowledge.Topic
		for _, topic := range topics {
			topic.Asks = keep(topic.Asks, nil, nil)
			others = append(others, topic)
		}
		if l.index, err = knowledge.NewIndexOf(knowledge.NewLibrary(fewer), others, ranking); err != nil {
			t.Fatal(err)
		}
		all = append(all, l)
	}
	return all
}

// asker asks an index; a declined question gets no card.
func asker(idx *knowledge.Index) measure.Asker {
	return func(question string) []string {
		found := idx.Search(question, 10)
		if found.Verdict == knowledge.Declined {
			return nil
		}
		var ids []string
		for _, hit := range found.Hits {
			ids = append(ids, hit.ID)
		}
		return ids
	}
}

// An ask is often answered by a neighbour as well, and many are a few words
// out of their setting, so these scores are lower than those of whole
// questions. They are good for comparing, because nobody can tune words on them.
func TestAsksLeftOut(t *testing.T) {
	l := leaveOut(t, 1)[0]
	s := measure.Questions(l.questions, asker(l.index))
	t.Logf("asks left out\n%s", figures(t, s))
	if s.First < 0.38 || s.WithinThree < 0.58 || s.Declined < 0.80 || s.Refused > 0.16 {
		t.Errorf("the cards know fewer of their own asks: %+v", s)
	}
}

// observed is a question with what the index found, to fit weights to.
type observed struct {
	right      []bool      // by hit
	evidence   [][]float64 // by hit: the measures of knowledge.Order
	trust      []float64   // the measures of knowledge.Trust, 1 first
	answerable bool
	own        bool // from own.tsv, whole questions rather than scraps
}

func observe(idx *knowledge.Index, questions []measure.Question, own bool) []observed {
	var all []observed
	for _, q := range questions {
		found := idx.Search(q.Text, 40)
		if len(found.Hits) == 0 {
			continue
		}
		o := observed{answerable: q.Answerable(), own: own}
		for _, hit := range found.Hits {
			e := hit.Evidence
			o.right = append(o.right, slices.Contains(q.Accept, hit.ID))
			o.evidence = append(o.evidence, []float64{e.Fields, e.Ask, e.Kind, e.Learned})
		}
		d, best := found.Doubt, found.Hits[0].Evidence
		o.trust = []float64{1, d.Beyond, d.Topic, d.Unknown, best.Fields, best.Ask}
		all = append(all, o)
	}
	return all
}

// TestFit fits how cards are ordered and when a question is declined. With
// -tune it writes the weights into the ranking's file; else it is skipped.
func TestFit(t *testing.T) {
	if !*tune {
		t.Skip("takes a minute; run with -tune")
	}
	var all []observed
	for _, l := range leaveOut(t, 3) {
		all = append(all, observe(l.index, l.questions, false)...)
	}
	all = append(all, observe(ownIndex(t), readQuestions(t, ownQuestions), true)...)
	order := fitOrder(all)
	trust := fitTrust(all)
	trust[0] += shift(all, trust)
	write(t, "order", order, "fields", "ask", "kind", "learned")
	write(t, "trust", trust, "bias", "beyond", "topic", "unknown", "fields", "ask")
}

// fitOrder finds the weights that make the right cards likeliest (conditional
// logit).
func fitOrder(all []observed) []float64 {
	return climb(4, 150, func(w, gradient []float64) {
		for _, o := range all {
			if !slices.Contains(o.right, true) {
				continue
			}
			likely, right := shares(o, w)
			for i, e := range o.evidence {
				pull := -likely[i]
				if o.right[i] {
					pull += likely[i] / right
				}
				for k := range w {
					gradient[k] += pull * e[k] / float64(len(all))
				}
			}
		}
	})
}

// shares returns how likely each hit is and all right ones together.
func shares(o observed, w []float64) (likely []float64, right float64) {
	highest := math.Inf(-1)
	for _, e := range o.evidence {
		likely = append(likely, dot(w, e))
		highest = max(highest, likely[len(likely)-1])
	}
	var sum float64
	for i := range likely {
		likely[i] = math.Exp(likely[i] - highest)
		sum += likely[i]
	}
	for i := range likely {
		if likely[i] /= sum; o.right[i] {
			right += likely[i]
		}
	}
	return likely, right
}

// fitTrust finds the weights that tell answerable questions from the others
// (logistic regression), both kinds counting alike.
func fitTrust(all []observed) []float64 {
	answerable := 0
	for _, o := range all {
		if o.answerable {
			answerable++
		}
	}
	return climb(6, 400, func(w, gradient []float64) {
		for _, o := range all {
			pull := -0.5 / float64(len(all)-answerable)
			if o.answerable {
				pull = 0.5 / float64(answerable)
			}
			odds := dot(w, o.trust)
			if !o.answerable {
				odds = -odds
			}
			for k := range w {
				gradient[k] += pull * o.trust[k] / (1 + math.Exp(odds))
			}
		}
	})
}

// shift returns what to add to the bias so that an eighth of the asks left out
// is declined: scraps of a few words as they are, that takes about 3 % of whole
// questions.
func shift(all []observed, trust []float64) float64 {
	var odds []float64
	for _, o := range all {
		if !o.own && o.answerable {
			odds = append(odds, dot(trust, o.trust))
		}
	}
	slices.Sort(odds)
	return -odds[len(odds)/8]
}

func dot(a, b []float64) float64 {
	var sum float64
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}

// climb follows the gradient uphill from 0 (Adam: Kingma and Ba, 2015).
func climb(weights, steps int, slope func(w, gradient []float64)) []float64 {
	const rate, keepMean, keepSquare = 0.3, 0.9, 0.99
	w, mean, square := make([]float64, weights), make([]float64, weights), make([]float64, weights)
	for step := 1; step <= steps; step++ {
		gradient := make([]float64, weights)
		slope(w, gradient)
		for k, g := range gradient {
			mean[k] = keepMean*mean[k] + (1-keepMean)*g
			square[k] = keepSquare*square[k] + (1-keepSquare)*g*g
			m, s := mean[k]/(1-math.Pow(keepMean, float64(step))), square[k]/(1-math.Pow(keepSquare, float64(step)))
			w[k] += rate * m / (math.Sqrt(s) + 1e-9)
		}
	}
	return w
}

// write replaces a line of the ranking's file.
func write(t *testing.T, key string, weights []float64, names ...string) {
	t.Helper()
	line := key + ": {"
	for i, name := range names {
		if i > 0 {
			line += ", "
		}
		line += fmt.Sprintf("%s: %.2f", name, weights[i])
	}
	line += "}"
	t.Log(line)
	text, err := os.ReadFile(rankingFile)
	if err != nil {
		t.Fatal(err)
	}
	old := regexp.MustCompile(`(?m)^` + key + `: .*$`)
	if !old.Match(text) {
		t.Fatalf("%s has no line for %s", rankingFile, key)
	}
	if err := os.WriteFile(rankingFile, old.ReplaceAll(text, []byte(line)), 0o644); err != nil {
		t.Fatal(err)
	}
}
