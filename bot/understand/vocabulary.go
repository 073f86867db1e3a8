package understand

import (
	"embed"
	"fmt"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/kljensen/snowball/english"
)

//go:embed words/*.yaml words/everyday.txt
var wordFiles embed.FS

// vocabulary numbers the words that any data file or name uses and knows what
// single words are good for. It does not change after New.
type vocabulary struct {
	ids     map[string]wordID
	names   []string // by wordID
	spelled map[string][]wordID
	skip    []bool // by wordID
	classes map[string][]wordID
	numbers map[wordID]int
	negates map[wordID]bool
	asking  map[wordID]bool
	topics  map[wordID]bool
	days    map[wordID]string
	stems   []string // by wordID: the word without its ending
}

func newVocabulary() *vocabulary {
	return &vocabulary{
		ids: map[string]wordID{}, names: []string{""}, skip: []bool{false}, spelled: map[string][]wordID{},
		classes: map[string][]wordID{}, numbers: map[wordID]int{}, negates: map[wordID]bool{},
		asking: map[wordID]bool{}, topics: map[wordID]bool{}, days: map[wordID]string{},
	}
}

// id numbers a word, adding it when it is new.
func (v *vocabulary) id(word string) wordID {
	if id, ok := v.ids[word]; ok {
		return id
	}
	id := wordID(len(v.names))
	v.ids[word] = id
	v.names = append(v.names, word)
	v.skip = append(v.skip, false)
	return id
}

// stem notes every word's stem, once all words are known.
func (v *vocabulary) stem() {
	v.stems = make([]string, len(v.names))
	for id, word := range v.names {
		v.stems[id] = english.Stem(word, true)
	}
}

// known is the number of a word, 0 when nothing uses it.
func (v *vocabulary) known(word string) wordID { return v.ids[word] }

// wordsOf cuts a text of the data files as the reader cuts a message, without
// the words that the reader skips.
func (v *vocabulary) wordsOf(text string) []wordID {
	var words []wordID
	s := scanner{text: text}
	for {
		kind, from, to, ok := s.next()
		if !ok {
			return words
		}
		if kind > numberToken {
			continue
		}
		word := plain(text[from:to])
		if word == "" {
			continue
		}
		respelled, ok := v.spelled[word]
		if !ok {
			respelled = []wordID{v.id(word)}
		}
		for _, id := range respelled {
			if !v.skip[id] {
				words = append(words, id)
			}
		}
	}
}

// wordsFile is words.yaml.
type wordsFile struct {
	Skip      string            `yaml:"skip"`
	Spelled   map[string]string `yaml:"spelled"`
	Numbers   map[string]int    `yaml:"numbers"`
	Classes   map[string]string `yaml:"classes"`
	Negations string            `yaml:"negations"`
}

func (v *vocabulary) loadWords() error {
	var file wordsFile
	if err := readWords("words.yaml", &file); err != nil {
		return err
	}
	for word, meant := range file.Spelled {
		v.spelled[word] = v.list(meant)
	}
	for _, id := range v.list(file.Skip) {
		v.skip[id] = true
	}
	for word, n := range file.Numbers {
		v.numbers[v.id(word)] = n
	}
	for _, id := range v.list(file.Negations) {
		v.negates[id] = true
	}
	v.addClasses(file.Classes)
	return nil
}

func (v *vocabulary) addClasses(classes map[string]string) {
	for name, words := range classes {
		v.classes[name] = v.list(words)
	}
}

// list numbers the words of a blank-separated list.
func (v *vocabulary) list(words string) []wordID {
	var ids []wordID
	for word := range strings.FieldsSeq(words) {
		ids = append(ids, v.id(word))
	}
	return ids
}

func addAll(set map[wordID]bool, ids []wordID) {
	for _, id := range ids {
		set[id] = true
	}
}

// readWords reads one of the embedded data files. An error is a mistake in the
// program's own data; the tests read all of them.
func readWords(name string, into any) error {
	data, err := wordFiles.ReadFile("words/" + name)
	if err != nil {
		return fmt.Errorf("open vocabulary: %w", err)
	}
	if err := yaml.UnmarshalWithOptions(data, into, yaml.Strict()); err != nil {
		return fmt.Errorf("read vocabulary %s: %w", name, err)
	}
	return nil
}
