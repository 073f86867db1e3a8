package understand

import (
	"slices"
	"strings"
)

// Lean is how a message leans on the one before it. It says nothing about
// whether there was one.
type Lean struct {
	Leads    bool // it begins as if it went on: "and …", "what about …"
	Supposes bool // it supposes a case: "what if …", "and on a …"
	Other    bool // it wants the other of two
	Refers   bool // it points at something: it, that, them
	Bare     bool // it names nothing of its own: "how many tries"
}

// leanWords is the content of words/followups.yaml.
type leanWords struct {
	Leads    []string `yaml:"leads"`
	Supposes []string `yaml:"supposes"`
	Other    []string `yaml:"other"`
	Refers   []string `yaml:"refers"`
	Bare     string   `yaml:"bare"`

	bare map[string]bool
}

func (r *Reader) loadLeaning() error {
	if err := readWords("followups.yaml", &r.leaning); err != nil {
		return err
	}
	r.leaning.bare = map[string]bool{}
	for word := range strings.FieldsSeq(r.leaning.Bare) {
		r.leaning.bare[word] = true
	}
	return nil
}

// longestLean is how many words a message may have that names nothing itself:
// a longer one tells of something.
const longestLean = 12

// lean reads how the message leans on the last one.
func (s *sheet) lean() Lean {
	var words []string
	for _, t := range s.tokens {
		if t.kind == wordToken || t.kind == numberToken {
			words = append(words, plain(s.text[t.from:t.to]))
		}
	}
	if len(words) == 0 || len(words) > longestLean {
		return Lean{}
	}
	text := " " + strings.Join(words, " ") + " "
	says := func(phrase string) bool { return strings.Contains(text, " "+phrase+" ") }
	begins := func(phrase string) bool { return strings.HasPrefix(text, " "+phrase+" ") }
	return Lean{
		Leads:    slices.ContainsFunc(s.leaning.Leads, begins),
		Supposes: slices.ContainsFunc(s.leaning.Supposes, begins) || strings.HasPrefix(text, " if "),
		Other:    slices.ContainsFunc(s.leaning.Other, says),
		Refers:   slices.ContainsFunc(s.leaning.Refers, says),
		Bare:     !slices.ContainsFunc(words, func(w string) bool { return !s.leaning.bare[w] }),
	}
}

// asked is the words of the clauses that ask, as they were written.
func (s *sheet) asked() string {
	var parts []string
	for _, c := range s.clauses {
		if c.asks && c.to > c.from {
			first, last := s.marks[c.from], s.marks[c.to-1]
			parts = append(parts, strings.TrimSpace(s.text[s.tokens[first.at].from:s.tokens[last.end-1].to]))
		}
	}
	return strings.Join(parts, " ")
}
