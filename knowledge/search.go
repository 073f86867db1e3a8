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
	Beyond   string       // the topic beyond the cards that the question is about, if one won
	Read     []Correction // words read as others
}

// Hit is a card that may answer.
type Hit struct {
	ID    string
	Score float64 // in the index's own measure, to compare hits of one search
	Share float64 // score as a share of the most the question could score, 0 to 1
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
	var topic Hit
	for _, c := range x.candidates(q, rerankDepth) {
		e := &x.entries[c]
		hit := x.judge(q, c)
		switch {
		case !e.beyond:
			found.Hits = append(found.Hits, hit)
		case hit.Share > topic.Share:
			topic = hit
		}
	}
	slices.SortFunc(found.Hits, func(a, b Hit) int {
		return cmp.Or(cmp.Compare(b.Share, a.Share), strings.Compare(a.ID, b.ID))
	})
	if x.wins(topic, found.Hits) {
		found.Beyond = topic.ID
	} else {
		found.Verdict = x.decide(found.Hits)
	}
	found.Hits = found.Hits[:min(len(found.Hits), max(k, 0))]
	return found
}

// wins tells whether a topic beyond the cards fits better than every card.
func (x *Index) wins(topic Hit, hits []Hit) bool {
	return topic.Share > 0 && (len(hits) == 0 || topic.Share > hits[0].Share)
}

// decide judges hits, best first, against the ranking's thresholds.
func (x *Index) decide(hits []Hit) Verdict {
	switch {
	case len(hits) == 0, hits[0].Share < x.ranking.Answer:
		return Declined
	case len(hits) > 1 && hits[0].Share-hits[1].Share < x.ranking.OfferWithin:
		return Offered
	}
	return Answered
}

// judge scores one candidate closely.
func (x *Index) judge(q *query, number int32) Hit {
	e := &x.entries[number]
	if e.beyond {
		share := x.topicShare(q, e.asks)
		return Hit{ID: e.id, Score: share * q.weight, Share: share}
	}
	fields := x.fieldShare(q, number)
	ask := x.bestAsk(q, e.asks)
	share := (1-x.ranking.BestAsk)*fields + x.ranking.BestAsk*ask
	if k, ok := kindNumber[e.kind]; ok {
		share += x.ranking.Kind * (q.kinds[k] - 1.0/kindCount)
	}
	if x.namesOther(q, e) {
		share -= x.ranking.NotAbout
	}
	share = max(0, share)
	return Hit{ID: e.id, Score: share * q.weight, Share: share}
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

// bestAsk is how like the question the most alike ask is, 0 to 1.
func (x *Index) bestAsk(q *query, asks [][]termID) float64 {
	var best float64
	matched := make([]float64, len(q.words))
	for _, ask := range asks {
		clear(matched)
		var whole, shared, met float64
		for _, t := range ask {
			whole += x.idf[t]
			uses := q.uses[t]
			if len(uses) == 0 {
				continue
			}
			shared += x.idf[t]
			for _, use := range uses {
				matched[use.word] += use.weight * x.idf[t]
			}
		}
		if shared == 0 {
			continue
		}
		for i, m := range matched {
			met += min(m, q.words[i].weight)
		}
		s := x.ranking.AskSide
		best = max(best, math.Pow(met/q.weight, 1-s)*math.Pow(shared/whole, s))
	}
	return best
}

// topicShare is how much of the question's weight a topic's words have. A saying
// of several words ("figure eight") counts only as a whole.
func (x *Index) topicShare(q *query, sayings [][]termID) float64 {
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
	return x.ranking.Beyond * sum / q.weight
}

// namesOther tells whether the question names, in full, something the card is
// not about.
func (x *Index) namesOther(q *query, e *entry) bool {
	return slices.ContainsFunc(e.notAbout, func(terms []termID) bool { return q.hasAll(terms) })
}

// hasAll tells whether the question has each of the terms, and there are some.
func (q *query) hasAll(terms []termID) bool {
	return len(terms) > 0 && !slices.ContainsFunc(terms, func(t termID) bool { return len(q.uses[t]) == 0 })
}
