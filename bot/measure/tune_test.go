package measure_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"kitbell/bot/measure"
	"kitbell/knowledge"
)

// leftOut is a library in which every card misses one of its asks, with those
// asks as questions: a test of what the cards do with words they have not seen.
type leftOut struct {
	cards     *knowledge.Library
	questions []measure.Question
}

// leaveOut makes a library for every step-th ask of the cards.
func leaveOut(cards *knowledge.Library, step int) []leftOut {
	const upTo = 24
	var all []leftOut
	for place := 0; place < upTo; place += step {
		var fewer []*knowledge.Card
		var questions []measure.Question
		for _, c := range cards.All() {
			copied := *c
			if place < len(c.Asks) {
				copied.Asks = slices.Delete(slices.Clone(c.Asks), place, place+1)
				questions = append(questions, measure.Question{Text: c.Asks[place], Accept: []string{c.ID}, Useful: c.Related})
			}
			fewer = append(fewer, &copied)
		}
		all = append(all, leftOut{knowledge.NewLibrary(fewer), questions})
	}
	return all
}

// scoreLeftOut is the mean over libraries; declining is not judged.
func scoreLeftOut(t *testing.T, all []leftOut, ranking knowledge.Ranking) (first, three, ndcg float64) {
	t.Helper()
	for _, l := range all {
		s := measure.Questions(l.questions, bestCards(t, l.cards, ranking))
		first += s.First / float64(len(all))
		three += s.WithinThree / float64(len(all))
		ndcg += s.NDCG / float64(len(all))
	}
	return first, three, ndcg
}

func bestCards(t *testing.T, cards *knowledge.Library, ranking knowledge.Ranking) measure.Asker {
	t.Helper()
	idx, err := knowledge.NewIndexRanked(cards, ranking)
	if err != nil {
		t.Fatal(err)
	}
	return func(question string) []string {
		var ids []string
		for _, hit := range idx.Search(question, 10).Hits {
			ids = append(ids, hit.ID)
		}
		return ids
	}
}

// An ask is often answered by a neighbour as well, and many are a few words
// out of their setting, so these scores are lower than those of whole
// questions. They are good for comparing, because nobody can tune words on them.
func TestAsksLeftOut(t *testing.T) {
	cards, _ := knowledge.Load(knowledge.Cards())
	ranking, err := knowledge.DefaultRanking()
	if err != nil {
		t.Fatal(err)
	}
	first, three, ndcg := scoreLeftOut(t, leaveOut(cards, 8), ranking)
	t.Logf("asks left out: right first %.1f %%, within three %.1f %%, nDCG@10 %.3f", 100*first, 100*three, ndcg)
	if first < 0.42 || three < 0.68 {
		t.Errorf("the cards know fewer of their own asks: first %.3f, three %.3f", first, three)
	}
}

// TestRankingSearch tries random changes of the ranking's weights with -tune and
// prints each that is better on the asks left out and on own.tsv.
func TestRankingSearch(t *testing.T) {
	if !*tune {
		t.Skip("takes minutes; run with -tune")
	}
	cards, _ := knowledge.Load(knowledge.Cards())
	best, err := knowledge.DefaultRanking()
	if err != nil {
		t.Fatal(err)
	}
	all := leaveOut(cards, 3)
	answerable := slices.DeleteFunc(readQuestions(t, ownQuestions), func(q measure.Question) bool { return !q.Answerable() })
	worth := func(r knowledge.Ranking) float64 {
		first, _, ndcg := scoreLeftOut(t, all, r)
		own := measure.Questions(answerable, bestCards(t, cards, r))
		return first + ndcg + 0.4*(own.First+own.NDCG)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	highest := worth(best)
	for range 150 {
		changed := change(best, rng)
		if w := worth(changed); w > highest {
			best, highest = changed, w
			t.Logf("%.4f %+v", highest, best)
		}
	}
}

// change moves about a third of the weights by up to a quarter of their range.
func change(r knowledge.Ranking, rng *rand.Rand) knowledge.Ranking {
	move := func(v *float64, low, high float64) {
		if rng.Float64() < 0.35 {
			*v = min(high, max(low, *v+(rng.Float64()-0.5)*(high-low)/2))
		}
	}
	move(&r.K1, 0.5, 5)
	move(&r.Name.Weight, 0, 1)
	move(&r.Name.B, 0, 1)
	move(&r.All.B, 0, 1)
	move(&r.BestAsk, 0, 1)
	move(&r.AskSide, 0, 0.8)
	move(&r.Kind, 0, 0.2)
	move(&r.Thesaurus, 0.2, 1)
	move(&r.Plain, 0.05, 1)
	r.All.Weight = 1 - r.Name.Weight
	return r
}
