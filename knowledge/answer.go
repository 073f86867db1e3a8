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
	Links    []Link   // a department's own pictures and videos
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
	Whether    Part = "whether"    // when it is right and when not: "is it ok", "can I"
	Trouble    Part = "trouble"    // when to stop and switch: "it won't move"
	Upkeep     Part = "upkeep"     // how to check it
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
	if one, other := compared(cards, found.Question); one != nil {
		return Compare(one, other), true
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

// AnswerFrom makes the answer of one card, picking the part that the question
// asks for.
func AnswerFrom(c *Card, question string) Answer {
	a := Answer{Cards: []string{c.ID}, Title: c.Title, Text: c.Intro, Part: wantedPart(c, question)}
	a.Cautions = c.Section(Cautions).Texts()
	a.Sources, a.Links = slices.Clone(c.Sources), c.Links
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
	case Whether:
		a.addClosest(c, question)
		a.addGroups(c, UseItWhen, DontWhen)
		if len(c.Section(DontWhen).Texts()) == 0 {
			a.Steps = c.Section(Steps).Texts() // what must not be done stands there
		}
	case Trouble:
		a.addGroups(c, StopWhen, DontWhen)
	case Upkeep:
		a.addGroups(c, CheckIt)
	default:
		a.addClosest(c, question)
		a.addGroups(c, TellItBy, WhatOpensIt, UseItWhen)
	}
	return a
}

// addClosest puts the lines first that share most words with the question
// besides the card's own name, when there are any.
func (a *Answer) addClosest(c *Card, question string) {
	asked := askedStems(question, minPart+1) // shorter ones are often chance
	for _, name := range append([]string{c.Title}, c.Aliases...) {
		for _, word := range splitWords(name) {
			delete(asked, stem(word))
		}
	}
	var best Group
	most := 0
	for _, s := range c.Sections {
		if s.Title == Cautions || s.Title == Numbers {
			continue // the first are always shown, the others answer "how much"
		}
		lines, n := mostAlike(s.Texts(), asked, nil)
		if n > most {
			best, most = Group{c.Shown(s.Title), lines}, n
		}
	}
	const enough = 2 // one word in common is often chance
	if most >= enough {
		a.Groups = append(a.Groups, best)
	}
}

// askedStems are the stems of a question's words of at least so many letters.
func askedStems(question string, letters int) map[string]bool {
	asked := map[string]bool{}
	for _, word := range splitWords(question) {
		if len(word) >= letters {
			asked[stem(word)] = true
		}
	}
	return asked
}

// mostAlike returns the lines that have most of the asked stems, with how many;
// a line with one of the wanted words is taken to have one more.
func mostAlike(lines []string, asked map[string]bool, wanted []string) (best []string, most int) {
	for _, line := range lines {
		shared := map[string]bool{}
		words := splitWords(line)
		for _, word := range words {
			if s := stem(word); asked[s] {
				shared[s] = true
			}
		}
		n := len(shared)
		if slices.ContainsFunc(words, func(word string) bool { return slices.Contains(wanted, word) }) {
			n++
		}
		if n > most {
			best, most = nil, n
		}
		if n == most {
			best = append(best, line)
		}
	}
	return best, most
}

func (a *Answer) addGroups(c *Card, titles ...string) {
	for _, title := range titles {
		if bullets := c.Section(title).Texts(); len(bullets) > 0 {
			a.Groups = append(a.Groups, Group{c.Shown(title), bullets})
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
// question and have the unit it asks for: from its Numbers, unless a line of
// another section fits better.
func figures(c *Card, question string) []string {
	asked, units := askedStems(question, minPart), wantedUnits(question)
	listed, inNumbers := mostAlike(c.Section(Numbers).Texts(), asked, units)
	told, elsewhere := mostAlike(toldNumbers(c), asked, units)
	if len(listed) == 0 || elsewhere > inNumbers {
		return told
	}
	return listed
}

// wantedUnits are the units that the question's way of asking is about.
func wantedUnits(question string) []string {
	words := " " + strings.Join(rawWords(question), " ") + " "
	for _, way := range unitsAsked {
		if hasAny(words, way.sayings) {
			return way.units
		}
	}
	return nil
}

var unitsAsked = []struct{ sayings, units []string }{
	{[]string{"what angle", "degrees", "how cold"}, []string{"degree"}},
	{[]string{"how long", "how many seconds", "how many minutes", "how much time"}, []string{"second", "minute", "hour", "seconds", "minutes"}},
	{[]string{"how often"}, []string{"day", "week", "month", "year", "weekly", "monthly"}},
	{[]string{"how far", "how wide", "how deep", "how big", "how thick", "how high", "how tall", "what size", "how much gap", "how much space"}, []string{"inch", "foot", "mm"}},
	{[]string{"how much push", "how much force", "how hard", "how heavy", "how strong"}, []string{"pound", "newton"}},
	{[]string{"how many tries", "how many goes", "how many attempts", "how many times", "how many passes"}, []string{"tries", "goes", "passes", "pulls", "taps", "blows", "attempts", "times"}},
}

// toldNumbers are the lines with a number outside the card's Numbers.
func toldNumbers(c *Card) []string {
	var lines []string
	for _, s := range c.Sections {
		for _, text := range s.Texts() {
			if s.Title != Numbers && hasNumber(text) {
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

func hasAny(words string, sayings []string) bool {
	return slices.ContainsFunc(sayings, func(saying string) bool { return strings.Contains(words, " "+saying+" ") })
}
