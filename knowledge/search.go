package knowledge

import (
	"cmp"
	"math"
	"slices"
	"strings"
)

// Verdict is what a search comes to.
type Verdict string

// The verdicts.
const (
	Answered Verdict = "answered" // the first hit answers
	Offered  Verdict = "offered"  // two or three hits are too close to choose between
	Declined Verdict = "declined" // no card is about this
)

// Found is the outcome of a search.
type Found struct {
	Question string
	Verdict  Verdict
	Hits     []Hit        // best first; also filled when declined, for the lead's list
	Beyond   string       // the topic that a declined question has words of, if any
	Read     []Correction // words read as others
	Doubt    Doubt        // what spoke for or against answering
}

// Hit is a card that may answer.
type Hit struct {
	ID       string
	Score    float64 // logarithm of how likely the card is, to compare hits of one search
	Evidence Evidence
}

// rerankDepth is how many candidates are looked at closely.
const rerankDepth = 40

// Search returns the k best cards for a question and what to do with them.
func (x *Index) Search(question string, k int) Found {
	q := x.read(question)
	found := Found{Question: question, Verdict: Declined, Read: q.read}
	if q.weight == 0 {
		return found
	}
	found.Doubt = Doubt{Beyond: x.beyondOdds(q), Unknown: q.unknownShare()}
	var topic string
	for _, c := range x.near(q) {
		e := &x.entries[c]
		if !e.beyond {
			found.Hits = append(found.Hits, x.judge(q, c))
		} else if share := q.topicShare(e.asks); share > found.Doubt.Topic {
			topic, found.Doubt.Topic = e.id, share
		}
	}
	slices.SortFunc(found.Hits, func(a, b Hit) int {
		return cmp.Or(cmp.Compare(b.Score, a.Score), strings.Compare(a.ID, b.ID))
	})
	found.Verdict = x.decide(found)
	if found.Verdict == Declined {
		found.Beyond = topic
	}
	found.Hits = found.Hits[:min(len(found.Hits), max(k, 0))]
	return found
}

// near returns the entries worth a close look: those that share words with the
// question, and those that a question put like this is likely about.
func (x *Index) near(q *query) []int32 {
	const likely = 0.01
	near := x.candidates(q, rerankDepth)
	if x.learned.classes < len(x.entries) {
		return near
	}
	for e, p := range q.likely {
		if p >= likely && !slices.Contains(near, int32(e)) {
			near = append(near, int32(e))
		}
	}
	return near
}

// leastLikely keeps logarithms of what was learned within reason.
const leastLikely = 1e-5

// beyondOdds is the logarithm of the odds, as learned, that the question is
// about a topic beyond the cards. Topics are the last entries.
func (x *Index) beyondOdds(q *query) float64 {
	var beyond float64
	for e := len(x.entries) - 1; e >= 0 && x.entries[e].beyond; e-- {
		beyond += float64(q.likely[x.classes[e]])
	}
	beyond = min(1-leastLikely, max(leastLikely, beyond))
	return math.Log(beyond / (1 - beyond))
}

func (q *query) unknownShare() float64 {
	var unknown float64
	for _, word := range q.words {
		if len(word.meanings) == 0 {
			unknown += word.weight
		}
	}
	return unknown / q.weight
}

// decide tells whether the hits, best first, are to be trusted.
func (x *Index) decide(found Found) Verdict {
	hits := found.Hits
	switch {
	case len(hits) == 0, x.ranking.Trust.odds(found.Doubt, hits[0].Evidence) < 0:
		return Declined
	case len(hits) > 1 && hits[0].Score-hits[1].Score < x.ranking.OfferWithin:
		return Offered
	}
	return Answered
}

// judge looks at one card closely.
func (x *Index) judge(q *query, number int32) Hit {
	e := &x.entries[number]
	evidence := Evidence{
		Fields:  x.fieldShare(q, number),
		Ask:     x.bestAsk(q, e.asks),
		Learned: math.Log(max(leastLikely, float64(q.likely[x.classes[number]]))),
	}
	if k, ok := kindNumber[e.kind]; ok {
		evidence.Kind = q.kinds[k]
	}
	return Hit{ID: e.id, Score: x.ranking.Order.score(evidence), Evidence: evidence}
}

// fieldShare is how much of the question's weight the card's fields have.
func (x *Index) fieldShare(q *query, number int32) float64 {
	var sum float64
	for _, word := range q.words {
		var best float64
		for _, m := range word.meanings {
			var impact float64
			for _, t := range m.terms {
				impact += x.impact(t, number)
			}
			best = max(best, m.weight*impact/float64(len(m.terms)))
		}
		sum += best
	}
	return sum / q.weight
}

// bestAsk is how like the question the most alike ask is, 0 to 1. Of an ask the
// part that the question shares bounds the likeness, so most of them are passed
// over with one look at each term.
func (x *Index) bestAsk(q *query, asks [][]termID) float64 {
	var best, enough float64 // enough is the shared part below which best cannot be met
	matched := make([]float64, len(q.words))
	s := x.ranking.AskSide
	for _, ask := range asks {
		var whole, shared float64
		for _, t := range ask {
			whole += x.idf[t]
			if q.asked[t] {
				shared += x.idf[t]
			}
		}
		if shared == 0 || shared <= enough*whole {
			continue
		}
		like := math.Pow(x.met(q, ask, matched)/q.weight, 1-s) * math.Pow(shared/whole, s)
		if like > best {
			best, enough = like, math.Pow(like, 1/s)
		}
	}
	return best
}

// met is how much of the question's weight an ask meets. matched is scratch, one
// for each word of the question.
func (x *Index) met(q *query, ask []termID, matched []float64) float64 {
	clear(matched)
	for _, t := range ask {
		if !q.asked[t] {
			continue
		}
		for _, use := range q.uses[t] {
			matched[use.word] += use.weight * x.idf[t]
		}
	}
	var met float64
	for i, m := range matched {
		met += min(m, q.words[i].weight)
	}
	return met
}

// topicShare is how much of the question's weight a topic's words have. A saying
// of several words ("figure eight") counts only as a whole.
func (q *query) topicShare(sayings [][]termID) float64 {
	met := make([]bool, len(q.words))
	for _, terms := range sayings {
		if !q.hasAll(terms) {
			continue
		}
		for _, t := range terms {
			for _, use := range q.uses[t] {
				met[use.word] = true
			}
		}
	}
	var sum float64
	for i, word := range q.words {
		if met[i] {
			sum += word.weight
		}
	}
	return sum / q.weight
}

// hasAll tells whether the question has each of the terms, and there are some.
func (q *query) hasAll(terms []termID) bool {
	return len(terms) > 0 && !slices.ContainsFunc(terms, func(t termID) bool { return len(q.uses[t]) == 0 })
}
