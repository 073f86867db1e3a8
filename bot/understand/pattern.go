package understand

import (
	"fmt"
	"slices"
	"strings"
)

// wordID stands for a word of the vocabulary; 0 is any word outside it.
type wordID int32

// slot is one place of a pattern: the words that fit it, or sequences of words
// (from hyphens). An optional slot may be left out.
type slot struct {
	words    []wordID
	runs     [][]wordID
	optional bool
}

// pattern is a phrase of the vocabulary and what it means.
type pattern struct {
	slots []slot
	means *sense
}

// lexicon finds the patterns that begin with a word.
type lexicon struct {
	starting map[wordID][]*pattern
}

func newLexicon() *lexicon { return &lexicon{starting: map[wordID][]*pattern{}} }

// add files a pattern under every word that it can begin with.
func (l *lexicon) add(p *pattern) {
	for _, s := range p.slots {
		for _, w := range s.words {
			l.file(w, p)
		}
		for _, run := range s.runs {
			l.file(run[0], p)
		}
		if !s.optional {
			return
		}
	}
}

func (l *lexicon) file(w wordID, p *pattern) {
	if !slices.Contains(l.starting[w], p) {
		l.starting[w] = append(l.starting[w], p)
	}
}

// parsePattern reads the notation of the data files: words apart by spaces, a/b
// for either, ?a for perhaps, $class for a word class, <item> for what was found to be one, a-b for two words in a
// row. A word that the reader skips is dropped unless it is one of several, or
// +a keeps it.
func (v *vocabulary) parsePattern(text string) ([]slot, error) {
	var slots []slot
	required := false
	for field := range strings.FieldsSeq(text) {
		s, err := v.parseSlot(field)
		if err != nil {
			return nil, fmt.Errorf("pattern %q: %w", text, err)
		}
		if len(s.words)+len(s.runs) == 0 {
			continue
		}
		slots = append(slots, s)
		required = required || !s.optional
	}
	if !required {
		return nil, fmt.Errorf("pattern %q: no word in it has to be there", text)
	}
	return slots, nil
}

func (v *vocabulary) parseSlot(field string) (slot, error) {
	var s slot
	field, s.optional = strings.CutPrefix(field, "?")
	several := strings.Contains(field, "/")
	for alternative := range strings.SplitSeq(field, "/") {
		if class, ok := strings.CutPrefix(alternative, "$"); ok {
			words, known := v.classes[class]
			if !known {
				return slot{}, fmt.Errorf("no word class %q", class)
			}
			s.words = append(s.words, words...)
			continue
		}
		if name, ok := strings.CutPrefix(alternative, "<"); ok {
			s.words = append(s.words, v.id(strings.TrimSuffix(name, ">")+" cell"))
			continue
		}
		if word, kept := strings.CutPrefix(alternative, "+"); kept || several && v.skip[v.id(word)] {
			s.words = append(s.words, v.id(word))
			continue
		}
		run := v.wordsOf(alternative)
		switch len(run) {
		case 0:
		case 1:
			s.words = append(s.words, run[0])
		default:
			s.runs = append(s.runs, run)
		}
	}
	return s, nil
}

// matcher lays patterns over a row of cells. The grammar of a message does not
// recurse, so a match is bounded by the length of its pattern.
type matcher struct {
	cells []cell
	skip  []bool // by wordID: passed over inside a pattern
}

// cell is what a pattern sees of one token or of a span that was recognised
// before: every word that it can pass for.
type cell struct {
	words  [3]wordID
	near   []wordID // words that it may be inside a longer phrase
	border bool
	at     int // token index of its first token
	span   int // tokens it covers
}

func (c cell) is(w wordID) bool {
	return w != 0 && (c.words[0] == w || c.words[1] == w || c.words[2] == w || len(c.near) > 0 && slices.Contains(c.near, w))
}

// maxSkips is how many words in a row a pattern passes over.
const maxSkips = 2

// longest gives the end of the longest way to lay slots from cell i, -1 for none.
func (m *matcher) longest(slots []slot, i int) int {
	if len(slots) == 0 {
		return i
	}
	best := -1
	if slots[0].optional {
		best = m.longest(slots[1:], i)
	}
	for start, skipped := i, 0; start < len(m.cells) && !m.cells[start].border; start++ {
		best = max(best, m.place(slots, start))
		if skipped++; skipped > maxSkips || !m.skippable(start) {
			break
		}
	}
	return best
}

// place lays the first slot on cell i and the others behind it.
func (m *matcher) place(slots []slot, i int) int {
	best := -1
	if slices.ContainsFunc(slots[0].words, m.cells[i].is) {
		best = m.longest(slots[1:], i+1)
	}
	for _, run := range slots[0].runs {
		if m.runs(run, i) {
			best = max(best, m.longest(slots[1:], i+len(run)))
		}
	}
	return best
}

func (m *matcher) runs(run []wordID, i int) bool {
	if i+len(run) > len(m.cells) {
		return false
	}
	for k, w := range run {
		if !m.cells[i+k].is(w) {
			return false
		}
	}
	return true
}

func (m *matcher) skippable(i int) bool {
	w := m.cells[i].words[0]
	return w != 0 && m.skip[w]
}

// at gives the meanings of the longest patterns that begin at cell i, and the
// cell behind them.
func (m *matcher) at(l *lexicon, i int, found []*sense) ([]*sense, int) {
	end := -1
	for k, w := range m.cells[i].words {
		if w == 0 || k > 0 && slices.Contains(m.cells[i].words[:k], w) {
			continue
		}
		for _, p := range l.starting[w] {
			if stop := m.begin(p, i); stop > end {
				found, end = append(found[:0], p.means), stop
			} else if stop == end && stop >= 0 && !slices.Contains(found, p.means) {
				found = append(found, p.means)
			}
		}
	}
	return m.nearAt(l, i, found, end)
}

// nearAt reads a slip by its neighbours: as the first word of an item's name
// that is longer than what was found.
func (m *matcher) nearAt(l *lexicon, i int, found []*sense, end int) ([]*sense, int) {
	for _, w := range m.cells[i].near {
		for _, p := range l.starting[w] {
			if p.means.kind != itemSense {
				continue
			}
			if stop := m.begin(p, i); stop > max(end, i+1) {
				found, end = append(found[:0], p.means), stop
			} else if stop == end && stop > i+1 && !slices.Contains(found, p.means) {
				found = append(found, p.means)
			}
		}
	}
	return found, end
}

// begin lays a pattern so that it uses cell i itself.
func (m *matcher) begin(p *pattern, i int) int {
	best := -1
	for k := range p.slots {
		best = max(best, m.place(p.slots[k:], i))
		if !p.slots[k].optional {
			break
		}
	}
	return best
}
