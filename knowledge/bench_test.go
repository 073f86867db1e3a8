package knowledge_test

import (
	"fmt"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"kitbell/knowledge"
)

func BenchmarkSearchOwnCards(b *testing.B) {
	l, _ := knowledge.Load(knowledge.Cards())
	idx, err := knowledge.NewIndex(l)
	if err != nil {
		b.Fatal(err)
	}
	var questions []string
	for _, c := range l.All() {
		questions = append(questions, c.Asks[0])
	}
	reportSearches(b, idx, questions)
}

// BenchmarkGrowth prints build time, memory and search time for libraries of
// made-up cards. 100,000 cards take about a minute to make.
func BenchmarkGrowth(b *testing.B) {
	for _, n := range []int{100, 1_000, 10_000, 100_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			cards := madeUpCards(n)
			var before, after runtime.MemStats
			runtime.GC()
			runtime.ReadMemStats(&before)
			start := time.Now()
			idx, err := knowledge.NewIndex(knowledge.NewLibrary(cards))
			if err != nil {
				b.Fatal(err)
			}
			built := time.Since(start)
			runtime.GC()
			runtime.ReadMemStats(&after)
			reportSearches(b, idx, madeUpQuestions(cards, 400))
			b.ReportMetric(built.Seconds(), "s/build")
			b.ReportMetric(float64(after.HeapAlloc-min(before.HeapAlloc, after.HeapAlloc))/1e6, "MB")
		})
	}
}

func reportSearches(b *testing.B, idx *knowledge.Index, questions []string) {
	for b.Loop() {
		times := make([]time.Duration, 0, len(questions))
		for _, q := range questions {
			start := time.Now()
			idx.Search(q, 3)
			times = append(times, time.Since(start))
		}
		slices.Sort(times)
		b.ReportMetric(float64(times[len(times)/2].Microseconds()), "µs/median")
		b.ReportMetric(float64(times[len(times)*99/100].Microseconds()), "µs/p99")
	}
}

// madeUpCards makes n cards of about 150 words. Half their words are the common
// ones of the real cards, half are drawn from a vocabulary that grows with the
// number of cards, both with Zipf's frequencies.
func madeUpCards(n int) []*knowledge.Card {
	rng := rand.New(rand.NewPCG(7, uint64(n)))
	common := commonWords()
	commonZipf := rand.NewZipf(rng, 1.1, 4, uint64(len(common)-1))
	rareZipf := rand.NewZipf(rng, 1.05, 20, uint64(400+n/2))
	text := func(words int) string {
		var b strings.Builder
		for i := range words {
			if i%2 == 0 {
				b.WriteString(common[commonZipf.Uint64()])
			} else {
				b.WriteString(madeUpWord(rareZipf.Uint64()))
			}
			b.WriteByte(' ')
		}
		return b.String()
	}
	cards := make([]*knowledge.Card, n)
	for i := range cards {
		c := &knowledge.Card{ID: fmt.Sprintf("card-%06d", i), Title: text(3), Kind: knowledge.Tool, Intro: text(20)}
		for range 6 {
			c.Asks = append(c.Asks, text(8))
		}
		c.Sections = []knowledge.Section{{Title: knowledge.Steps, Items: []knowledge.Item{{Text: text(80)}}}}
		cards[i] = c
	}
	return cards
}

func commonWords() []string {
	l, _ := knowledge.Load(knowledge.Cards())
	counts := map[string]int{}
	for _, c := range l.All() {
		for _, ask := range c.Asks {
			for _, word := range strings.Fields(ask) {
				counts[word]++
			}
		}
	}
	words := make([]string, 0, len(counts))
	for word := range counts {
		words = append(words, word)
	}
	slices.SortFunc(words, func(a, b string) int {
		if counts[a] != counts[b] {
			return counts[b] - counts[a]
		}
		return strings.Compare(a, b)
	})
	return words
}

// madeUpWord spells a number in syllables, so that words look like words to
// the stemmer and the speller.
func madeUpWord(n uint64) string {
	const consonants, vowels = "bdfgklmnprstvz", "aeiou"
	word := "z"
	for range 4 {
		word += string(vowels[n%5]) + string(consonants[n/5%14])
		n /= 70
	}
	return word
}

// madeUpQuestions takes questions out of cards, one word in eight misspelt.
func madeUpQuestions(cards []*knowledge.Card, n int) []string {
	rng := rand.New(rand.NewPCG(3, 9))
	questions := make([]string, n)
	for i := range questions {
		c := cards[rng.IntN(len(cards))]
		words := strings.Fields("how do I " + c.Asks[rng.IntN(len(c.Asks))])
		for j, word := range words {
			if len(word) > 5 && rng.IntN(8) == 0 {
				words[j] = word[:2] + word[3:]
			}
		}
		questions[i] = strings.Join(words, " ")
	}
	return questions
}
