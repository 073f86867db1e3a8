package knowledge

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"
)

// The limits that cards are written to.
const (
	MaxGrade         = 8.0 // Flesch–Kincaid
	MaxSentenceWords = 20
	maxRelated       = 6
)

// Lint checks cards beyond their form: that links lead somewhere, that the
// kind's sections are there and written as they should be, that people can read
// them, and that nothing is claimed without a source. All problems are
// returned, by file and line.
func Lint(l *Library) ([]Problem, error) {
	rules, err := loadLintRules()
	if err != nil {
		return nil, err
	}
	var problems []Problem
	for _, c := range l.All() {
		r := &report{file: c.File}
		lintLinks(l, c, r)
		lintSections(c, r)
		lintReading(c, rules, r)
		lintClaims(c, rules, r)
		lintNumbers(c, r)
		problems = append(problems, r.problems...)
	}
	sortProblems(problems)
	return problems, nil
}

// lintRules are the word lists of the lint, kept as data.
type lintRules struct {
	trade  map[string]bool // words of the trade that count as easy
	claims []claim
}

// claim is a word that nothing can support, with the terms in which it is fine.
type claim struct {
	pattern *regexp.Regexp
	word    string
	except  []string
}

func loadLintRules() (*lintRules, error) {
	trade, err := wordSet("data/tradewords.txt")
	if err != nil {
		return nil, err
	}
	text, err := dataFiles.ReadFile("data/claims.yaml")
	if err != nil {
		return nil, fmt.Errorf("read claims: %w", err)
	}
	var listed []struct {
		Word   string   `yaml:"word"`
		Except []string `yaml:"except"`
	}
	if err := yaml.UnmarshalWithOptions(text, &listed, yaml.Strict()); err != nil {
		return nil, fmt.Errorf("read claims: %w", err)
	}
	rules := &lintRules{trade: trade}
	for _, c := range listed {
		rules.claims = append(rules.claims, claim{wholeWord(c.Word), c.Word, c.Except})
	}
	return rules, nil
}

func wholeWord(word string) *regexp.Regexp {
	return regexp.MustCompile(`(?i)(?:^|[^a-z0-9])` + regexp.QuoteMeta(word) + `(?:$|[^a-z0-9])`)
}

func lintLinks(l *Library, c *Card, r *report) {
	if len(c.Sources) == 0 {
		r.add(0, "the card names no source")
	}
	if len(c.Asks) < 5 {
		r.add(0, "the card lists %d questions it answers; five are the least that helps the search", len(c.Asks))
	}
	if len(c.Related) > maxRelated {
		r.add(0, "the card has %d related cards; %d are the most anybody looks at", len(c.Related), maxRelated)
	}
	lintIDs(l, c, r, "tools", c.Tools, Tool)
	lintIDs(l, c, r, "hazards", c.Hazards, Hazard)
	lintIDs(l, c, r, "related", c.Related, "")
}

func lintIDs(l *Library, c *Card, r *report, key string, ids []string, kind Kind) {
	for _, id := range ids {
		other, ok := l.Card(id)
		switch {
		case id == c.ID:
			r.add(0, "%s names the card itself", key)
		case !ok:
			r.add(0, "%s names %q, which is no card", key, id)
		case kind != "" && other.Kind != kind:
			r.add(0, "%s names %q, which is a %s", key, id, other.Kind)
		}
	}
}

func lintSections(c *Card, r *report) {
	required := RequiredSections(c.Kind)
	for _, title := range required {
		if len(c.Section(title).Items) == 0 {
			r.add(0, "a %s needs the section %q", c.Kind, title)
		}
	}
	last := -1
	for _, s := range c.Sections {
		place := slices.Index(append(slices.Clone(required), Numbers), s.Title)
		switch {
		case place < 0:
			r.add(s.Line, "a %s has no section %q", c.Kind, s.Title)
		case place < last:
			r.add(s.Line, "the section %q stands too late", s.Title)
		}
		last = max(last, place)
		lintItems(s, r)
	}
}

func lintItems(s Section, r *report) {
	want, name := Bullet, "a bullet"
	if s.Title == Steps {
		want, name = Numbered, "a numbered step"
	}
	for _, item := range s.Items {
		if item.Mark != want {
			r.add(item.Line, "each line under %q is %s", s.Title, name)
		}
	}
}

// lintReading checks sentences and the reading grade. Numbers are left out:
// a figure with its document is no sentence.
func lintReading(c *Card, rules *lintRules, r *report) {
	sentences := Sentences(c.Intro)
	for _, sentence := range sentences {
		lintSentence(sentence, 0, r)
	}
	for _, s := range c.Sections {
		if s.Title == Numbers {
			continue
		}
		for _, item := range s.Items {
			for _, sentence := range Sentences(item.Text) {
				lintSentence(sentence, item.Line, r)
				sentences = append(sentences, sentence)
			}
		}
	}
	if grade := Grade(sentences, rules.trade); grade > MaxGrade {
		r.add(0, "the reading grade is %.1f, over %.0f", grade, MaxGrade)
	}
}

func lintSentence(sentence string, line int, r *report) {
	if n := len(sentenceWords(sentence)); n > MaxSentenceWords {
		r.add(line, "a sentence has %d words, over %d: %q", n, MaxSentenceWords, sentence)
	}
}

func lintClaims(c *Card, rules *lintRules, r *report) {
	check := func(line int, text string) {
		for _, claim := range rules.claims {
			if claim.made(text) {
				r.add(line, "nothing supports the word %q: %q", claim.word, text)
			}
		}
	}
	check(0, c.Title)
	check(0, c.Intro)
	for _, s := range c.Sections {
		for _, item := range s.Items {
			check(item.Line, item.Text)
		}
	}
}

func (c claim) made(text string) bool {
	text = strings.ToLower(text)
	for _, except := range c.except {
		text = strings.ReplaceAll(text, except, " ")
	}
	return c.pattern.MatchString(text)
}

// lintNumbers wants a source for each figure with a unit. A line under Numbers
// carries its own; elsewhere the same figure stands under Numbers, or the card
// has a source that can stand behind it.
func lintNumbers(c *Card, r *report) {
	listed := map[string]bool{}
	for _, item := range c.Section(Numbers).Items {
		if !namesSource(item.Text) {
			r.add(item.Line, "a line under %q says where its figure is from", Numbers)
		}
		for _, m := range measures(item.Text) {
			listed[m] = true
		}
	}
	if slices.ContainsFunc(c.Sources, standsBehindFigures) {
		return
	}
	for _, s := range c.Sections {
		for _, item := range s.Items {
			for _, m := range measures(item.Text) {
				if !listed[m] {
					r.add(item.Line, "the figure has no source: %q", item.Text)
				}
			}
		}
	}
}

// measures returns the numbers with a unit in a text, each in its one form.
func measures(text string) []string {
	return slices.DeleteFunc(splitWords(text), func(word string) bool { return !isMeasure(word) })
}

// namesSource tells whether a line says where its figure is from: in brackets,
// or that nobody published it.
func namesSource(line string) bool {
	return strings.Contains(line, "(") || standsBehindFigures(line)
}

// standsBehindFigures tells whether a source is more than a document on
// something else: it says itself how its figures are known.
func standsBehindFigures(source string) bool {
	source = strings.ToLower(source)
	for _, known := range []string{"common practice", "no source", "no published source", "from memory", "arithmetic", "assum"} {
		if strings.Contains(source, known) {
			return true
		}
	}
	return false
}
