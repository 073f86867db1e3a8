package understand

import "bytes"

// speller brings a word that nobody knows to the vocabulary's nearest one. It
// leaves real English words alone: shin is no shim.
//
// It finds candidates by the words that remain when one or two letters are left
// out, so that a look-up does not depend on the size of the vocabulary.
type speller struct {
	words   *vocabulary
	english []byte // English words near the vocabulary, sorted, a line each; chosen from SCOWL, size 35
	without map[string][]wordID
}

// The shortest word that is corrected at all, the shortest that may be two
// letters off, and the longest that is looked at.
const (
	shortestSlip     = 4
	shortestDoubled  = 8
	longestCorrected = 24
)

func newSpeller(words *vocabulary) (*speller, error) {
	english, err := wordFiles.ReadFile("words/english.txt")
	if err != nil {
		return nil, err
	}
	s := &speller{words: words, english: english, without: make(map[string][]wordID, 32*len(words.names))}
	for id, word := range words.names {
		if len(word) < shortestSlip || len(word) > longestCorrected {
			continue
		}
		for _, shorter := range shortened(word, slips(word)) {
			s.without[shorter] = append(s.without[shorter], wordID(id))
		}
	}
	return s, nil
}

// slips is how many letters of a word may be wrong.
func slips(word string) int {
	if len(word) >= shortestDoubled {
		return 2
	}
	return 1
}

// shortened lists a word and what remains when up to n letters are left out.
func shortened(word string, n int) []string {
	all := []string{word}
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
// two are as near.
func (s *speller) correct(word string) wordID {
	if len(word) < shortestSlip || len(word) > longestCorrected || s.isEnglish(word) {
		return 0
	}
	best, nearest, tied := wordID(0), 2*slips(word)+1, false
	tried := map[wordID]bool{}
	for _, shorter := range shortened(word, slips(word)) {
		for _, id := range s.without[shorter] {
			if tried[id] {
				continue
			}
			tried[id] = true
			d := s.distance(word, s.words.names[id])
			if d < nearest {
				best, nearest, tied = id, d, false
			} else if d == nearest {
				tied = true
			}
		}
	}
	if tied {
		return 0
	}
	return best
}

// distance counts half letters. A changed first letter weighs more, for it is
// the one that people get right; a doubled, dropped or swapped letter weighs less.
func (s *speller) distance(a, b string) int {
	d := 2 * edits(a, b)
	switch {
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

// isEnglish looks a word up in the list of English words.
func (s *speller) isEnglish(word string) bool {
	low, high := 0, len(s.english)
	for low < high {
		middle := (low + high) / 2
		start := bytes.LastIndexByte(s.english[:middle], '\n') + 1
		end := len(s.english)
		if n := bytes.IndexByte(s.english[middle:], '\n'); n >= 0 {
			end = middle + n
		}
		switch bytes.Compare([]byte(word), s.english[start:end]) {
		case 0:
			return true
		case -1:
			high = start
		default:
			low = end + 1
		}
	}
	return false
}

// split finds two words of the vocabulary that were written as one, such as
// shoveknife. ok is false when there are none or several such places.
func (s *speller) split(word string) (first, second wordID, ok bool) {
	if len(word) > longestCorrected || s.isEnglish(word) {
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
