package knowledge

import (
	"bufio"
	"bytes"
	"embed"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"
)

//go:embed data
var dataFiles embed.FS

// lexicon is what the index knows about words besides the cards. It is data,
// read once per index from the files under data.
type lexicon struct {
	thesaurus   map[string][]phrase // words joined by spaces → what the cards say
	longest     int                 // words in the longest key
	starts      map[string]bool     // the first word of each key
	sayingWords map[string]bool     // every word of a saying, as written
	plain       map[string]bool     // words that say nothing about the subject
	stop        map[string]bool     // words that are not looked at
}

// phrase is one or more stems that stand for a question's words.
type phrase []string

func loadLexicon() (*lexicon, error) {
	lex := &lexicon{thesaurus: map[string][]phrase{}, sayingWords: map[string]bool{}, starts: map[string]bool{}}
	var err error
	if lex.plain, err = wordSet("data/plainwords.txt"); err != nil {
		return nil, err
	}
	if lex.stop, err = wordSet("data/stopwords.txt"); err != nil {
		return nil, err
	}
	text, err := dataFiles.ReadFile("data/thesaurus.yaml")
	if err != nil {
		return nil, fmt.Errorf("read thesaurus: %w", err)
	}
	var entries map[string][]string
	if err := yaml.Unmarshal(text, &entries); err != nil {
		return nil, fmt.Errorf("read thesaurus: %w", err)
	}
	for _, meaning := range slices.Sorted(maps.Keys(entries)) {
		lex.addMeaning(meaning, entries[meaning])
	}
	return lex, nil
}

// addMeaning makes each saying stand for the trade words it means.
func (lex *lexicon) addMeaning(meaning string, sayings []string) {
	var stems phrase
	for _, word := range splitWords(meaning) {
		if !lex.stop[word] {
			stems = append(stems, stem(word))
		}
	}
	for _, saying := range sayings {
		words := splitWords(saying)
		for _, word := range words {
			lex.sayingWords[word] = true
		}
		kept := lex.kept(words)
		key := strings.Join(kept, " ")
		lex.thesaurus[key] = append(lex.thesaurus[key], stems)
		lex.longest = max(lex.longest, len(kept))
		lex.starts[kept[0]] = true
	}
}

// kept are the stems of words without those not looked at.
func (lex *lexicon) kept(words []string) []string {
	var kept []string
	for _, word := range words {
		if !lex.stop[word] {
			kept = append(kept, stem(word))
		}
	}
	return kept
}

// text adds to the stems of a text what the thesaurus knows of them.
func (lex *lexicon) text(stems []string) text {
	kept := slices.DeleteFunc(slices.Clone(stems), func(s string) bool { return lex.stop[s] })
	t := text{stems: stems}
	for i, s := range kept {
		if !lex.starts[s] {
			continue
		}
		for n := min(lex.longest, len(kept)-i); n > 0; n-- {
			for _, p := range lex.thesaurus[strings.Join(kept[i:i+n], " ")] {
				t.meanings = append(t.meanings, meaningMark+strings.Join(p, " "))
			}
		}
	}
	return t
}

// meaningMark sets a meaning apart from a word of the text.
const meaningMark = "~"

// wordSet reads the words of a file, any number a line; # starts a comment.
func wordSet(name string) (map[string]bool, error) {
	text, err := dataFiles.ReadFile(name)
	if err != nil {
		return nil, fmt.Errorf("read words: %w", err)
	}
	set := map[string]bool{}
	for lines := bufio.NewScanner(bytes.NewReader(text)); lines.Scan(); {
		line, _, _ := strings.Cut(lines.Text(), "#")
		for _, word := range splitWords(line) {
			set[word] = true
		}
	}
	return set, nil
}
