package knowledge

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"

	"github.com/goccy/go-yaml"
)

// partReader tells which part of a card a question wants, by its words and
// pairs of words, as a naive Bayes count over the ways of asking in
// data/parts.yaml.
type partReader struct {
	parts  []Part
	scores map[string][]float64 // feature → log of its share, by part
	words  map[string]bool      // stems of the ways of asking; any other word is a subject
}

// subject stands for what a question is about: its words say which card, not
// which part.
const subject = "X"

// parts reads the ways of asking once; nobody changes them.
var parts = sync.OnceValue(func() *partReader {
	r, err := loadParts()
	if err != nil {
		panic(err) // a file of the program's own, which a test reads
	}
	return r
})

func loadParts() (*partReader, error) {
	text, err := dataFiles.ReadFile("data/parts.yaml")
	if err != nil {
		return nil, fmt.Errorf("read parts: %w", err)
	}
	var ways map[Part]string
	if err := yaml.Unmarshal(text, &ways); err != nil {
		return nil, fmt.Errorf("read parts: %w", err)
	}
	r := &partReader{
		parts:  []Part{Overview, HowTo, WhenNot, Figure, Whether, Trouble, Upkeep},
		scores: map[string][]float64{}, words: map[string]bool{},
	}
	for _, part := range r.parts {
		for _, word := range rawWords(ways[part]) {
			if word != strings.ToLower(subject) {
				r.words[stem(word)] = true
			}
		}
	}
	totals := make([]float64, len(r.parts))
	for i, part := range r.parts {
		for way := range strings.Lines(ways[part]) {
			for _, f := range r.features(way, map[string]bool{strings.ToLower(subject): true}) {
				if r.scores[f] == nil {
					r.scores[f] = make([]float64, len(r.parts))
				}
				r.scores[f][i]++
				totals[i]++
			}
		}
	}
	r.weigh(totals)
	return r, nil
}

// weigh turns counts into logarithms of smoothed shares.
func (r *partReader) weigh(totals []float64) {
	const smoothing = 0.3
	for _, counts := range r.scores {
		for i, n := range counts {
			counts[i] = math.Log((n + smoothing) / (totals[i] + smoothing*float64(len(r.scores))))
		}
	}
}

// features are the stems of a text and their pairs, each run of names and of
// words that no way of asking has being one subject.
func (r *partReader) features(text string, names map[string]bool) []string {
	var all []string
	last := "^"
	for _, word := range rawWords(text) {
		s := stem(word)
		if names[word] || names[s] || !r.words[s] {
			s = subject
		}
		if s == subject && last == subject {
			continue
		}
		all = append(all, s, last+" "+s)
		last = s
	}
	return append(all, last+" $")
}

// likely adds up how well each part goes with features: logarithms, to compare.
func (r *partReader) likely(features []string) []float64 {
	sums := make([]float64, len(r.parts))
	for _, f := range features {
		for i, score := range r.scores[f] {
			sums[i] += score
		}
	}
	return sums
}

// bareSubject is how many features a name alone has: itself and both its ends.
const bareSubject = 3

// rank lists the parts, the likeliest for a question first. names are the stems
// of what the card is called.
func (r *partReader) rank(question string, names map[string]bool) []Part {
	features := r.features(question, names)
	if features[0] == subject && len(features) == bareSubject {
		return []Part{Overview}
	}
	likely := r.likely(features)
	order := make([]int, len(r.parts))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(likely[b], likely[a]) })
	ranked := make([]Part, len(order))
	for i, n := range order {
		ranked[i] = r.parts[n]
	}
	return ranked
}

// partNeeds are the sections of which a card must have one to give a part.
// Overview needs none.
func partNeeds(p Part) []string {
	return map[Part][]string{
		HowTo: {Steps, WhatOpensIt}, WhenNot: {DontWhen, StopWhen}, Whether: {UseItWhen, DontWhen},
		Trouble: {StopWhen}, Upkeep: {CheckIt}, Figure: {Numbers},
	}[p]
}

// wantedPart reads off a question which part of the card it wants, of those
// that the card has.
func wantedPart(c *Card, question string) Part {
	for _, p := range parts().rank(question, namesOf(c)) {
		if gives(c, p) {
			return p
		}
	}
	return Overview
}

func gives(c *Card, p Part) bool {
	if p == Overview || p == Figure && len(toldNumbers(c)) > 0 {
		return true
	}
	return slices.ContainsFunc(partNeeds(p), func(title string) bool { return len(c.Section(title).Items) > 0 })
}

// plainly is how far a part must be ahead of the overview to be asked for beyond
// doubt, as a logarithm.
const plainly = 2

// AsksPart says which part of a card a text plainly asks for by itself: "how many
// tries", and not a bare name. Overview is none.
func AsksPart(text string) Part {
	r := parts()
	sums := r.likely(r.features(text, nil))
	best := 0 // the first part is the overview
	for i, sum := range sums {
		if sum > sums[best] {
			best = i
		}
	}
	if sums[best]-sums[0] < plainly {
		return Overview
	}
	return r.parts[best]
}
