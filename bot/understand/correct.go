package understand

import (
	"iter"
	"slices"
	"strings"
)

// speller brings a word that nobody knows to the vocabulary's nearest one. It
// leaves everyday words alone: shin is no shim.
//
// It finds candidates by the words that remain when one or two letters are left
// out, and by their consonants, so that a look-up does not depend on the size of
// the vocabulary.
type speller struct {
	words      *vocabulary
	everyday   everyday
	without    map[string][]wordID
	consonants map[string][]wordID
}

// The shortest word that is corrected by itself, the shortest that may be two
// letters off, the longest that is looked at, the fewest consonants that stand
// for a word, and how many readings of a slip are kept.
const (
	shortestSlip     = 4
	shortestDoubled  = 8
	longestCorrected = 24
	fewestConsonants = 3
	mostReadings     = 4
)

func newSpeller(words *vocabulary) (*speller, error) {
	known, err := newEveryday()
	if err != nil {
		return nil, err
	}
	s := &speller{words: words, everyday: known, without: make(map[string][]wordID, 8*len(words.names)), consonants: map[string][]wordID{}}
	for id, word := range words.names {
		if len(word) < shortestSlip || len(word) > longestCorrected || strings.Contains(word, " ") {
			continue
		}
		for _, shorter := range shortened(word, 1) {
			s.without[shorter] = append(s.without[shorter], wordID(id))
		}
		key := consonants(word)
		s.consonants[key] = append(s.consonants[key], wordID(id))
	}
	return s, nil
}

// consonants is a word as it sounds without its vowels: stl for steel.
func consonants(word string) string {
	word = sounds.Replace(word)
	out := make([]byte, 0, longestCorrected)
	for i := range len(word) {
		switch c := word[i]; {
		case i > 0 && word[i-1] == c:
		case i > 0 && strings.IndexByte("aeiouwhy", c) >= 0:
		default:
			out = append(out, c)
		}
	}
	return string(out)
}

// sounds writes alike what sounds alike.
var sounds = strings.NewReplacer("ph", "f", "ck", "k", "kn", "n", "wr", "r", "sc", "sk", "ca", "ka", "co", "ko", "cr", "kr", "cl", "kl", "z", "s", "qu", "k", "dge", "j", "tch", "ch")

// slips is how many letters of a word may be wrong.
func slips(word string) int {
	if len(word) >= shortestDoubled {
		return 2
	}
	return 1
}

// shortened lists a word and what remains when up to n letters are left out.
func shortened(word string, n int) []string {
	all := make([]string, 1, 1+len(word))
	all[0] = word
	if n == 1 {
		for i := range len(word) {
			if i == 0 || word[i] != word[i-1] {
				all = append(all, word[:i]+word[i+1:])
			}
		}
		return all
	}
	seen := map[string]bool{word: true}
	for level := all; n > 0; n-- {
		var next []string
		for _, w := range level {
			for i := range len(w) {
				shorter := w[:i] + w[i+1:]
				if !seen[shorter] {
					seen[shorter] = true
					next = append(next, shorter)
				}
			}
		}
		all, level = append(all, next...), next
	}
	return all
}

// correct gives the vocabulary's word for a slip, 0 when there is none or when
// two are as near. near are words that it may be when the words beside it make
// one of them likely: "wod wedge".
func (s *speller) correct(word string) (best wordID, near []wordID) {
	if len(word) < 2 || len(word) > longestCorrected || s.everyday.knows(word) {
		return 0, nil
	}
	if len(word) < shortestSlip {
		return 0, s.fuller(word)
	}
	nearest := 2*slips(word) + 1
	limit := nearest
	for id, d := range s.candidates(word, limit) {
		switch {
		case d < nearest:
			best, nearest, near = id, d, append(near, id)
		case d == nearest:
			best, near = 0, append(near, id)
		case d < limit:
			near = append(near, id)
		}
	}
	return best, near[:min(len(near), mostReadings)]
}

// candidates gives the words near a slip with their distance, each once.
func (s *speller) candidates(word string, limit int) iter.Seq2[wordID, int] {
	return func(yield func(wordID, int) bool) {
		var tried []wordID
		visit := func(ids []wordID, most int) bool {
			for _, id := range ids {
				if slices.Contains(tried, id) {
					continue
				}
				tried = append(tried, id)
				if d := min(most, s.distance(word, s.words.names[id])); d < limit && !yield(id, d) {
					return false
				}
			}
			return true
		}
		if key := consonants(word); len(key) >= fewestConsonants && !visit(s.consonants[key], limit-1) {
			return
		}
		for _, shorter := range shortened(word, slips(word)) {
			if !visit(s.without[shorter], limit) {
				return
			}
		}
	}
}

// fuller lists words of which a very short one may be the bones: stl, wod.
func (s *speller) fuller(word string) []wordID {
	var near []wordID
	for _, id := range s.consonants[consonants(word)] {
		if within(word, s.words.names[id]) && len(near) < 2*mostReadings {
			near = append(near, id)
		}
	}
	return near
}

// distance counts half letters. A changed first letter weighs more, for it is
// the one that people get right; a doubled, dropped or swapped letter weighs less.
func (s *speller) distance(a, b string) int {
	d := 2 * edits(a, b)
	switch {
	case sounds.Replace(a) == sounds.Replace(b):
		return 1
	case a[0] != b[0]:
		d += 2
	case undouble(a) == undouble(b), within(a, b), sameLetters(a, b):
		d--
	}
	return d
}

// within says whether a is b with letters left out.
func within(a, b string) bool {
	i := 0
	for k := 0; k < len(b) && i < len(a); k++ {
		if a[i] == b[k] {
			i++
		}
	}
	return i == len(a)
}

// sameLetters says whether a is b with letters swapped.
func sameLetters(a, b string) bool {
	var counts [256]int8
	for i := range len(a) {
		counts[a[i]]++
	}
	for i := range len(b) {
		counts[b[i]]--
	}
	return counts == [256]int8{}
}

// undouble writes every letter once where it stands twice.
func undouble(word string) string {
	out := make([]byte, 0, longestCorrected)
	for i := range len(word) {
		if i == 0 || word[i] != word[i-1] {
			out = append(out, word[i])
		}
	}
	return string(out)
}

// split finds two words of the vocabulary that were written as one, such as
// shoveknife. ok is false when there are none or several such places.
func (s *speller) split(word string) (first, second wordID, ok bool) {
	if len(word) > longestCorrected || s.everyday.knows(word) {
		return 0, 0, false
	}
	for i := 3; i+3 <= len(word); i++ {
		a, b := s.words.known(word[:i]), s.words.known(word[i:])
		if a != 0 && b != 0 {
			if ok {
				return 0, 0, false
			}
			first, second, ok = a, b, true
		}
	}
	return first, second, ok
}

// edits counts the letters to add, drop, change or swap with a neighbour
// between two short words.
func edits(a, b string) int {
	var rows [3][longestCorrected + 3]int
	before, above, row := &rows[0], &rows[1], &rows[2]
	for j := range len(b) + 1 {
		above[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := above[j-1]
			if a[i-1] != b[j-1] {
				change++
			}
			row[j] = min(change, above[j]+1, row[j-1]+1)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, above, row = above, row, before
	}
	return above[len(b)]
}
