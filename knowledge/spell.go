package knowledge

import (
	"cmp"
	"math"
	"slices"
	"strings"
)

// speller finds the known word that a mistyped one was meant to be. Words are
// filed under themselves with any one letter left out and under how they
// sound, so a look-up touches a few dozen words however many there are.
type speller struct {
	counts  map[string]int // known word → how often the cards use it
	deletes map[string][]string
	sounds  map[string][]string
}

// correction is a known word with the trust, 0 to 1, that it was meant.
type correction struct {
	word  string
	trust float64
}

// The least letters a word has to have for one or two slips to be looked for:
// shorter words have too many neighbours.
const (
	minForOneSlip = 3
	minForTwo     = 6
)

func newSpeller(counts map[string]int) *speller {
	s := &speller{counts: counts, deletes: map[string][]string{}, sounds: map[string][]string{}}
	for word := range counts {
		if len(word) < minForOneSlip || isDigit(word[0]) || isMeasure(word) {
			continue
		}
		s.deletes[word] = append(s.deletes[word], word)
		for _, shorter := range oneLess(word) {
			s.deletes[shorter] = append(s.deletes[shorter], word)
		}
		s.sounds[sound(word)] = append(s.sounds[sound(word)], word)
	}
	return s
}

// oneLess returns word with each letter left out in turn.
func oneLess(word string) []string {
	shorter := make([]string, 0, len(word))
	for i := range len(word) {
		if i > 0 && word[i] == word[i-1] {
			continue
		}
		shorter = append(shorter, word[:i]+word[i+1:])
	}
	return shorter
}

// correct returns up to three words that the unknown word may be, best first.
func (s *speller) correct(word string) []correction {
	if len(word) < minForOneSlip || isDigit(word[0]) || isMeasure(word) {
		return nil
	}
	var found []correction
	for _, known := range s.candidates(word) {
		if trust := s.trust(word, known); trust > 0 {
			found = append(found, correction{known, trust})
		}
	}
	slices.SortFunc(found, func(a, b correction) int {
		return cmp.Or(cmp.Compare(b.trust+s.commonness(b.word), a.trust+s.commonness(a.word)), strings.Compare(a.word, b.word))
	})
	return found[:min(len(found), 3)]
}

func (s *speller) knows(word string) bool {
	_, known := s.counts[word]
	return known
}

// commonness favours the words that are used often, by as much as a small part
// of a slip: 0 for a word no card uses, 0.12 for one used 200 times.
func (s *speller) commonness(word string) float64 {
	return 0.016 * math.Log2(float64(1+s.counts[word]))
}

func (s *speller) candidates(word string) []string {
	found := slices.Clone(s.deletes[word])
	for _, one := range oneLess(word) {
		found = append(found, s.deletes[one]...)
		if len(word) >= minForTwo {
			for _, two := range oneLess(one) {
				found = append(found, s.deletes[two]...)
			}
		}
	}
	found = append(found, s.sounds[sound(word)]...)
	slices.Sort(found)
	return slices.Compact(found)
}

// trust is 1 less what the slips cost; 0 when there are too many.
func (s *speller) trust(typed, known string) float64 {
	allowed := 1.0
	if len(typed) >= minForTwo {
		allowed = 2
	}
	alike := sound(typed) == sound(known)
	if apart := len(typed) - len(known); !alike && max(apart, -apart) > 2 {
		return 0
	}
	slips := slipCost(typed, known)
	if alike {
		slips *= 0.6
		allowed = 1.2 // any number of slips that sound the same, within reason
	}
	if typed[0] != known[0] && !alike {
		slips += 0.5 // the first letter is rarely wrong
	}
	if slips > allowed {
		return 0
	}
	return 1 - slips/float64(min(len(typed), len(known)))
}

// slipCost is the Damerau–Levenshtein distance (adjacent letters may swap),
// in which a neighbouring key, a doubled letter and a wrong vowel cost less.
func slipCost(a, b string) float64 {
	before, last, row := make([]float64, len(b)+1), make([]float64, len(b)+1), make([]float64, len(b)+1)
	for j := range last {
		last[j] = float64(j)
	}
	for i := 1; i <= len(a); i++ {
		row[0] = float64(i)
		for j := 1; j <= len(b); j++ {
			cost := min(last[j]+gapCost(a, i-1), row[j-1]+gapCost(b, j-1), last[j-1]+swapCost(a[i-1], b[j-1]))
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				cost = min(cost, before[j-2]+0.8)
			}
			row[j] = cost
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}

func gapCost(word string, i int) float64 {
	if i > 0 && word[i] == word[i-1] {
		return 0.5
	}
	return 1
}

func swapCost(a, b byte) float64 {
	switch {
	case a == b:
		return 0
	case isVowel(a) && isVowel(b):
		return 0.7
	case nextOnKeyboard(a, b):
		return 0.8
	}
	return 1
}

func isVowel(c byte) bool { return strings.IndexByte("aeiouy", c) >= 0 }

// keyRows are the letters as they lie on the keyboard.
const keyRows = "qwertyuiop asdfghjkl  zxcvbnm    "

func nextOnKeyboard(a, b byte) bool {
	const width = 11
	i, j := strings.IndexByte(keyRows, a), strings.IndexByte(keyRows, b)
	if i < 0 || j < 0 {
		return false
	}
	down, right := i/width-j/width, i%width-j%width
	return max(down, -down) <= 1 && max(right, -right) <= 1
}

var soundsLike = strings.NewReplacer(
	"tch", "c", "ch", "c", "ck", "k", "ph", "f", "ght", "t", "gu", "g", "dge", "j", "sh", "x", "qu", "kw",
	"ce", "s", "ci", "s", "ge", "j", "gi", "j", "x", "ks", "q", "k", "z", "s", "c", "k", "wh", "w", "mb", "m",
)

// sound is a rough key of how a word sounds: consonants only, alike ones made
// the same, doubled ones once, with whether it starts with a vowel.
func sound(word string) string {
	if strings.HasPrefix(word, "kn") || strings.HasPrefix(word, "wr") {
		word = word[1:]
	}
	word = soundsLike.Replace(word)
	key := make([]byte, 0, len(word))
	for i := range len(word) {
		c := word[i]
		if isVowel(c) || c == 'h' {
			if i == 0 {
				key = append(key, 'a')
			}
			continue
		}
		if len(key) == 0 || key[len(key)-1] != c {
			key = append(key, c)
		}
	}
	return string(key)
}
