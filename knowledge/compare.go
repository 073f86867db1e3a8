package knowledge

import (
	"slices"
	"strings"
)

// dividers are the sayings that set two things side by side, the longer first:
// what stands on either side of one names the things.
var dividers = [][]string{
	{"as", "opposed", "to"}, {"compared", "to"}, {"compared", "with"}, {"better", "than"}, {"instead", "of"}, {"rather", "than"}, {"different", "from"},
	{"versus"}, {"vs"}, {"or"}, {"against"},
}

// betweens begin a comparison whose things an "and" divides.
var betweens = [][]string{{"difference", "between"}, {"choose", "between"}, {"compare"}}

// compared gives the two cards that a question sets side by side: the best that
// was found and another of its kind, one named on each side of the divider. nil when it does not compare two cards
// that were found: "push or pull, how do I tell" asks about one.
func compared(cards []*Card, question string) (one, other *Card) {
	left, right, ok := sides(rawWords(question))
	if !ok {
		return nil, nil
	}
	first, best := cards[0], 0
	for _, c := range cards[1:] {
		if c.Kind != first.Kind {
			continue
		}
		if n := fit(left, right, first, c); n > best {
			best, one, other = n, first, c
		}
		if n := fit(left, right, c, first); n > best {
			best, one, other = n, c, first
		}
	}
	return one, other
}

// sides cuts a question at what divides two things. A bare "a or b" counts; so
// does "difference between a and b".
func sides(words []string) (left, right []string, ok bool) {
	for _, begin := range betweens {
		if i := indexOf(words, begin); i >= 0 {
			rest := words[i+len(begin):]
			if and := slices.Index(rest, "and"); and > 0 {
				return rest[:and], rest[and+1:], true
			}
		}
	}
	for _, d := range dividers {
		if i := indexOf(words, d); i > 0 && i+len(d) < len(words) {
			return words[:i], words[i+len(d):], true
		}
	}
	return nil, nil, false
}

func indexOf(words, part []string) int {
	for i := 0; i+len(part) <= len(words); i++ {
		if slices.Equal(words[i:i+len(part)], part) {
			return i
		}
	}
	return -1
}

// fit says how many words of two sides name two cards, 0 unless each side has a
// word that tells its card from the other.
func fit(left, right []string, a, b *Card) int {
	ours, theirs := namesOf(a), namesOf(b)
	n, apart := named(left, ours, theirs)
	m, divided := named(right, theirs, ours)
	if !apart || !divided {
		return 0
	}
	return n + m
}

// named says how many of a side's words are in a card's names, and whether one
// of them is not in the other's.
func named(side []string, names, others map[string]bool) (n int, apart bool) {
	for _, word := range side {
		if s := stem(word); names[s] {
			n++
			apart = apart || !others[s]
		}
	}
	return n, apart
}

// namesOf are the stems of a card's title and id, and of its other names: the
// words that say which card is meant.
func namesOf(c *Card) map[string]bool {
	names := map[string]bool{}
	for _, name := range append([]string{c.Title, strings.ReplaceAll(c.ID, "-", " ")}, c.Aliases...) {
		for _, word := range rawWords(name) {
			if len(word) >= minPart {
				names[stem(word)] = true
			}
		}
	}
	return names
}
