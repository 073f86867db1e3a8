package knowledge

import (
	"fmt"
	"slices"
	"strings"
)

// Answer is the part of a card that answers a question, or of two cards side
// by side. It says nothing about how it is shown.
type Answer struct {
	Cards    []string // ids: one, or two when they are compared
	Part     Part
	Title    string
	Text     string   // what comes first: one or two sentences
	Steps    []string // to be numbered
	Groups   []Group  // titled bullets
	Cautions []string // always shown
	Sources  []string // always shown
}

// Group is bullets under a title.
type Group struct {
	Title   string
	Bullets []string
}

// Part is what a question wants of a card.
type Part string

// The parts.
const (
	Overview   Part = "overview"   // what it is, when it is right, how it is told
	HowTo      Part = "how to"     // the steps
	WhenNot    Part = "when not"   // when to leave it
	Figure     Part = "figure"     // a number with its source
	Comparison Part = "comparison" // two cards side by side
)

// NewAnswer makes the answer to what was found, from its best hit, or from the
// two best when the question compares. ok is false when nothing was found that
// the library has.
func NewAnswer(l *Library, found Found) (a Answer, ok bool) {
	cards := hitCards(l, found)
	if found.Verdict == Declined || len(cards) == 0 {
		return Answer{}, false
	}
	if len(cards) > 1 && asksToCompare(found.Question) && bothNamed(found) {
		return Compare(cards[0], cards[1]), true
	}
	return AnswerFrom(cards[0], found.Question), true
}

func hitCards(l *Library, found Found) []*Card {
	var cards []*Card
	for _, hit := range found.Hits {
		if c, ok := l.Card(hit.ID); ok {
			cards = append(cards, c)
		}
	}
	return cards
}

// bothNamed tells whether the second hit is nearly as good as the first: two
// things compared are both in the question.
func bothNamed(found Found) bool {
	const nearly = 0.6
	return found.Hits[1].Evidence.Fields >= nearly*found.Hits[0].Evidence.Fields
}

// AnswerFrom makes the answer of one card, picking the part that the question
// asks for.
func AnswerFrom(c *Card, question string) Answer {
	a := Answer{Cards: []string{c.ID}, Title: c.Title, Text: c.Intro, Part: wantedPart(c, question)}
	a.Cautions = c.Section(Cautions).Texts()
	a.Sources = slices.Clone(c.Sources)
	switch a.Part {
	case WhenNot:
		a.addGroups(c, DontWhen, StopWhen)
	case HowTo:
		a.Steps = c.Section(Steps).Texts()
		if len(a.Steps) == 0 {
			a.addGroups(c, WhatOpensIt)
		}
		a.addGroups(c, StopWhen)
	case Figure:
		a.Groups = []Group{{Numbers, figures(c, question)}}
	default:
		a.addGroups(c, TellItBy, WhatOpensIt, UseItWhen)
	}
	return a
}

func (a *Answer) addGroups(c *Card, titles ...string) {
	for _, title := range titles {
		if bullets := c.Section(title).Texts(); len(bullets) > 0 {
			a.Groups = append(a.Groups, Group{title, bullets})
		}
	}
}

// Compare sets two cards side by side: what each is and when it is right or wrong.
func Compare(first, second *Card) Answer {
	a := Answer{Cards: []string{first.ID, second.ID}, Part: Comparison}
	a.Title = fmt.Sprintf("%s or %s", first.Title, second.Title)
	for _, c := range []*Card{first, second} {
		bullets := []string{c.Intro}
		for _, title := range []string{UseItWhen, TellItBy} {
			bullets = append(bullets, c.Section(title).Texts()...)
		}
		for _, text := range c.Section(DontWhen).Texts() {
			bullets = append(bullets, "Not when: "+text)
		}
		a.Groups = append(a.Groups, Group{c.Title, bullets})
		a.Cautions = appendNew(a.Cautions, c.Section(Cautions).Texts())
		a.Sources = appendNew(a.Sources, c.Sources)
	}
	return a
}

func appendNew(list, more []string) []string {
	for _, text := range more {
		if !slices.Contains(list, text) {
			list = append(list, text)
		}
	}
	return list
}

// figures returns the card's lines with a number that are most like the
// question: those that share its words, or all of them when none does.
func figures(c *Card, question string) []string {
	asked := map[string]bool{}
	for _, word := range splitWords(question) {
		if len(word) >= minPart {
			asked[stem(word)] = true
		}
	}
	var lines []string
	most := 0
	for _, line := range numberLines(c) {
		n := 0
		for _, word := range splitWords(line) {
			if asked[stem(word)] {
				n++
			}
		}
		if n > most {
			lines, most = nil, n
		}
		if n == most {
			lines = append(lines, line)
		}
	}
	return lines
}

// numberLines are the lines of a card that have a number: those of its Numbers,
// or of the other sections when it has none.
func numberLines(c *Card) []string {
	if lines := c.Section(Numbers).Texts(); len(lines) > 0 {
		return lines
	}
	var lines []string
	for _, s := range c.Sections {
		for _, text := range s.Texts() {
			if hasNumber(text) {
				lines = append(lines, text)
			}
		}
	}
	return lines
}

func hasNumber(text string) bool {
	return slices.ContainsFunc(splitWords(text), func(word string) bool {
		return isMeasure(word) || isDigit(word[0])
	})
}

// wantedPart reads off a question which part of the card it wants. A card that
// lacks the part gives its overview.
func wantedPart(c *Card, question string) Part {
	words := " " + strings.Join(rawWords(question), " ") + " "
	switch {
	case hasAny(words, whenNotWords) && len(c.Section(DontWhen).Items)+len(c.Section(StopWhen).Items) > 0:
		return WhenNot
	case hasAny(words, figureWords) && len(numberLines(c)) > 0:
		return Figure
	case hasAny(words, howToWords) && len(c.Section(Steps).Items)+len(c.Section(WhatOpensIt).Items) > 0:
		return HowTo
	}
	return Overview
}

func asksToCompare(question string) bool {
	return hasAny(" "+strings.Join(rawWords(question), " ")+" ", compareWords)
}

func hasAny(words string, sayings []string) bool {
	return slices.ContainsFunc(sayings, func(saying string) bool { return strings.Contains(words, " "+saying+" ") })
}

// The words by which a question shows which part it wants.
var (
	whenNotWords = []string{"when not", "not use", "not to", "shouldnt", "should not", "should i not", "should we not", "must i not", "must we not",
		"dont use", "wrong", "no good", "bad idea", "avoid", "why not", "why cant", "cant i", "wont work", "not work", "fail", "fails", "stop using", "too weak", "when do i stop", "leave it alone"}
	figureWords = []string{"how much", "how many", "how far", "how wide", "how long", "how deep", "how big", "how thick", "how high", "how hard", "how cold",
		"how often", "how tall", "how heavy", "how strong", "what angle", "what size", "figures", "how loud", "biggest", "maximum", "minimum"}
	howToWords = []string{"how do", "how to", "how can", "how should", "how would", "how does", "how", "steps", "walk me through", "show me", "way to", "what do i do", "what do we do"}

	compareWords = []string{"or", "vs", "versus", "compared", "difference", "better than", "instead of", "against"}
)
