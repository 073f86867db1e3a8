package understand

import (
	"fmt"
	"strings"

	"github.com/kljensen/snowball/english"
)

// everyday knows the words of everyday English, so that a real word is never
// taken for a misspelt word of the trade.
type everyday struct {
	words map[string]bool
	stems map[string]bool
}

func newEveryday() (everyday, error) {
	data, err := wordFiles.ReadFile("words/everyday.txt")
	if err != nil {
		return everyday{}, fmt.Errorf("open everyday words: %w", err)
	}
	e := everyday{words: make(map[string]bool, 3000), stems: make(map[string]bool, 3000)}
	for line := range strings.Lines(string(data)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		for word := range strings.FieldsSeq(line) {
			e.words[word] = true
			e.stems[english.Stem(word, false)] = true
		}
	}
	return e, nil
}

// endings are what an inflection of a listed word ends in.
var endings = []string{"s", "ed", "ing", "er", "est", "ly", "y", "en", "ers", "ness", "ment", "ful", "less"}

// knows says whether a word is on the list, or is a listed word with an ending.
func (e everyday) knows(word string) bool {
	if e.words[word] {
		return true
	}
	for _, ending := range endings {
		if strings.HasSuffix(word, ending) && len(word) > len(ending)+2 {
			return e.stems[english.Stem(word, false)]
		}
	}
	return false
}
