package knowledge

// vocabulary turns words into terms the same way for cards and questions.
type vocabulary struct {
	lexicon *lexicon
	counts  map[string]int // word as written → how often the cards use it
	stems   map[string]string
}

// The least letters of a joined word and of its parts: shorter ones join by
// accident ("on" and "to").
const (
	minJoined = 6
	minPart   = 3
)

func newVocabulary(lex *lexicon) *vocabulary {
	return &vocabulary{lexicon: lex, counts: map[string]int{}, stems: map[string]string{}}
}

// learn counts the words of a card's text.
func (v *vocabulary) learn(words []string) {
	for _, word := range words {
		v.counts[word]++
		if v.stems[word] == "" {
			v.stems[word] = stem(word)
		}
	}
}

func (v *vocabulary) stem(word string) string {
	if s := v.stems[word]; s != "" {
		return s
	}
	return stem(word)
}

func (v *vocabulary) stemAll(words []string) []string {
	stems := make([]string, len(words))
	for i, word := range words {
		stems[i] = v.stem(word)
	}
	return stems
}

// terms returns the stems of a card's words. Two words that are also written
// as one ("dead bolt") add the joined word, which a question may use.
func (v *vocabulary) terms(words []string) []string {
	terms := make([]string, 0, len(words))
	for i, word := range words {
		if v.lexicon.stop[word] {
			continue
		}
		terms = append(terms, v.stem(word))
		if joined := v.joined(words, i); joined != "" {
			terms = append(terms, v.stem(joined))
		}
	}
	return terms
}

// joined returns words i and i+1 as one word if the cards use it.
func (v *vocabulary) joined(words []string, i int) string {
	if i+1 >= len(words) || len(words[i]) < minPart || len(words[i+1]) < minPart || len(words[i])+len(words[i+1]) < minJoined {
		return ""
	}
	if joined := words[i] + words[i+1]; v.counts[joined] > 0 {
		return joined
	}
	return ""
}

// split returns the two known words that an unknown one is written from.
func (v *vocabulary) split(word string) (string, string, bool) {
	best, left, right := 0, "", ""
	for i := minPart; i <= len(word)-minPart; i++ {
		if n := min(v.counts[word[:i]], v.counts[word[i:]]); n > best {
			best, left, right = n, word[:i], word[i:]
		}
	}
	return left, right, best > 0
}
