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
	sayingWords map[string]bool     // every word of a saying, as written
	plain       map[string]bool     // words that say nothing about the subject
	stop        map[string]bool     // words that are not looked at
}

// phrase is one or more stems that stand for a question's words.
type phrase []string

func loadLexicon() (*lexicon, error) {
	lex := &lexicon{thesaurus: map[string][]phrase{}, sayingWords: map[string]bool{}}
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
		key, n := lex.key(words)
		lex.thesaurus[key] = append(lex.thesaurus[key], stems)
		lex.longest = max(lex.longest, n)
	}
}

// key is how words are looked up in the thesaurus: without those not looked at.
func (lex *lexicon) key(words []string) (string, int) {
	var kept []string
	for _, word := range words {
		if !lex.stop[word] {
			kept = append(kept, stem(word))
		}
	}
	return strings.Join(kept, " "), len(kept)
}

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
