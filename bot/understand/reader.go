package understand

import (
	"fmt"
	"regexp"
	"strings"

	"kitbell/bot/department"
)

// Reader reads messages for one department. It does not change after New and
// may be used from several goroutines.
type Reader struct {
	dept   *department.Department
	words  *vocabulary
	things *lexicon // items, conditions, door words, other equipment
	cues   *lexicon // what a message is for
	speller
	classifier classifier
	grammar    grammar
	units      unitNames
	calendar   calendar
	platoons   []platoonName
	families   [][]string        // items that share a name, as the hooks do
	kitQty     map[string]int    // item → pieces in a complete kit of the list in force
	consumable map[string]bool   // items that are used up in normal work
	calls      map[wordID]string // word → kind of call
	leaning    leanWords
}

// New builds a reader from the vocabulary, the department's units, items and
// kit lists, and the names that the tool cards give. The error is a mistake in
// the vocabulary.
func New(dept *department.Department, names []ItemName) (*Reader, error) {
	r := &Reader{dept: dept, words: newVocabulary(), things: newLexicon(), cues: newLexicon()}
	for _, load := range []func() error{
		r.words.loadWords, r.loadUnits, r.loadDates, r.loadPlatoons, func() error { return r.loadItems(names) }, r.loadOwnItems,
		r.loadConditions, r.loadDoors, r.loadCues, r.loadShortNames, r.loadLeaning,
	} {
		if err := load(); err != nil {
			return nil, fmt.Errorf("build the reader: %w", err)
		}
	}
	r.grammar = newGrammar(r.words)
	r.takeLists(dept)
	if err := r.loadSpelling(); err != nil {
		return nil, fmt.Errorf("build the reader: %w", err)
	}
	r.words.stem()
	if err := r.loadClassifier(); err != nil {
		return nil, fmt.Errorf("build the reader: %w", err)
	}
	return r, nil
}

func (r *Reader) loadSpelling() error {
	s, err := newSpeller(r.words)
	if err != nil {
		return err
	}
	r.speller = *s
	return nil
}

// loadOwnItems adds the department's items that have no tool card.
func (r *Reader) loadOwnItems() error {
	var names []ItemName
	for _, item := range r.dept.Items {
		names = append(names, ItemName{ID: item.ID, Title: item.Name, Aliases: item.Aliases})
	}
	return r.loadNames(names)
}

// loadShortNames lets the last word of an own item's name stand for it, "peg" for
// a hinge peg, where no other thing and no phrase uses that word.
func (r *Reader) loadShortNames() error {
	short := map[wordID][]string{}
	for _, item := range r.dept.Items {
		if words := r.words.wordsOf(item.Name); len(words) > 1 {
			last := words[len(words)-1]
			short[last] = append(short[last], item.ID)
		}
	}
	for word, items := range short {
		if len(r.things.starting[word])+len(r.cues.starting[word]) == 0 && !r.words.negates[word] && !r.words.topics[word] {
			r.things.add(&pattern{slots: []slot{{words: []wordID{word}}}, means: &sense{kind: itemSense, items: items, name: items[0]}})
		}
	}
	return nil
}

// takeLists takes each item's pieces, and whether it is used up, from the newest
// kit list that has it.
func (r *Reader) takeLists(dept *department.Department) {
	r.kitQty, r.consumable = map[string]int{}, map[string]bool{}
	version := map[string]int{}
	for _, list := range dept.Lists {
		for _, line := range list.Lines {
			if list.Version >= version[line.Item] {
				r.kitQty[line.Item], r.consumable[line.Item], version[line.Item] = line.Qty, line.Consumable, list.Version
			}
		}
	}
}

// Read gives the meaning of a message. Its time grows with the length of the
// text, not with its square.
func (r *Reader) Read(text string, c Context) Reading {
	s := r.sheet(reworded(text), c)
	out := &Reading{}
	s.readMentions(out)
	s.readDoor(out)
	s.readLines(out)
	s.readUse(out)
	s.readLineStep(out)
	s.readIntent(out)
	s.settle(out)
	out.Lean = s.lean()
	if out.Intent != Ask && out.Has(Ask) {
		out.Asked = s.asked()
	}
	return *out
}

// reworded puts what numbers say of one another into the plain form that the
// readers know.
func reworded(text string) string {
	text = longStory.ReplaceAllString(text, "")
	text = incidentNumber.ReplaceAllString(text, "incident")
	text = hadSome.ReplaceAllString(text, "$3 $2 left")
	text = hadNow.ReplaceAllString(text, "only $2 of $1 left")
	text = shouldBe.ReplaceAllString(text, "only $1 of $3 $2$4 ")
	text = lastOne.ReplaceAllString(text, "only 1 $1 left")
	return shortOfSome.ReplaceAllString(text, "short of $1 ")
}

// longStory is an idiom in which nothing is short.
var longStory = regexp.MustCompile(`(?i)\b(?:to make a )?long story short\b,?`)

// incidentNumber is the number of a call as dispatch writes it. It counts
// nothing: "incident 2026-00417 used the film" is one use.
var incidentNumber = regexp.MustCompile(`(?i)\bincident\s+(?:no\.?\s*|number\s*|#\s*)?[a-z]{0,3}-?\d[\da-z-]{2,18}\b`)

// hadSome is "had four wedges yesterday, got two now": what counts is how many
// are left.
var hadSome = regexp.MustCompile(`(?i)\bhad (` + someNumber + `) ([a-z][a-z ]{2,24}?)(?: yesterday| before| last tour| last week)?,? (?:but )?(?:now )?(?:only )?(?:got|have) (` + someNumber + `)(?: now| left| here)?\b`)

// hadNow is the same behind the item: "chocks: had 2, got 1".
var hadNow = regexp.MustCompile(`(?i)\bhad (` + someNumber + `),? (?:but )?(?:now )?(?:we )?(?:only )?(?:got|have) (` + someNumber + `)\b`)

// shouldBe is "3 wedges where there should be 4": so many of so many are there.
// The item stands behind the first number or behind the second.
var shouldBe = regexp.MustCompile(`(?i)\b(?:only )?(` + someNumber + `)( (?:[a-z]+ ){0,2}[a-z]+?)?(?:,? where| when| but|,| and|, and)? (?:there|it|we|they|that)?(?:'s)? ?(?:should|ought to|supposed to|are supposed to|is supposed to|must|needs? to) (?:be|have) (` + someNumber + `)\b( [a-z]+(?: [a-z]+)?)?`)

// lastOne is "down to our last film".
var lastOne = regexp.MustCompile(`(?i)\b(?:down to|on|using) (?:our|the|my|its|their) (?:very )?last ([a-z]+(?: (?:wedge|chock|card|film))?)\b`)

const someNumber = `one|two|three|four|five|six|\d{1,2}`

// shortOfSome is "short two wedges", "we are down a chock": a number behind the
// word makes it a shortage, where the word alone may be a short bar or a person
// down.
var shortOfSome = regexp.MustCompile(`(?i)\b(?:short|(?:is|are|we're|were|still|us) down) (a|an|` + someNumber + `) `)

// sheet is one message with everything that was recognised in it.
type sheet struct {
	*Reader
	text    string
	context Context
	tokens  []token
	marks   []mark
	clauses []clause
	cueHits []cueHit

	doubted    []string // door facts that are only wondered about
	calm       bool     // nothing presses
	personSaid bool     // somebody is said to be in danger
	latchSaid  bool     // something was said of what holds the door
	handedOver bool     // a rig is named that only gave or got something
}

// markKind says what a stretch of the message is.
type markKind uint8

const (
	wordMark markKind = iota
	borderMark
	numberMark
	negationMark
	unitMark
	itemMark
	sizeMark
	conditionMark
	factMark
	offKitMark
	dateMark
	goneMark // swallowed by the date before it
)

// mark is a stretch of tokens that was recognised as one thing.
type mark struct {
	kind   markKind
	at     int // first token
	end    int // behind the last token
	senses []*sense
	unit   unitRef
	day    string // of a date
	clause int
	asked  bool // stands in a clause that asks
}

func (r *Reader) sheet(text string, c Context) *sheet {
	s := &sheet{Reader: r, text: text, context: c, tokens: r.tokens(text)}
	s.findCan()
	s.recognise()
	s.findDates()
	s.divide()
	s.findCues()
	return s
}

// tokens cuts a message and brings every word to the vocabulary's spelling.
func (r *Reader) tokens(text string) []token {
	tokens := make([]token, 0, len(text)/4+4)
	scan := scanner{text: text}
	last := -1
	for {
		kind, from, to, ok := scan.next()
		if !ok {
			return tokens
		}
		t := token{kind: kind, from: from, to: to, value: -1, joined: last >= 0 && !strings.ContainsRune(text[last:from], ' ')}
		last = to
		switch kind {
		case numberToken:
			t.value = number(text[from:to])
			t.word = r.words.known(text[from:to])
			tokens = append(tokens, t)
		case wordToken:
			tokens = r.spell(tokens, t, text[from:to])
		default:
			if !r.abbreviates(tokens, text[from:]) {
				tokens = append(tokens, t)
			}
		}
	}
}

// abbreviates says whether a full stop only shortens a rig's name: "eng. 5".
func (r *Reader) abbreviates(tokens []token, rest string) bool {
	if len(tokens) == 0 || len(rest) < 3 || rest[0] != '.' || rest[1] != ' ' || !isDigit(rune(rest[2])) {
		return false
	}
	return r.units.kind[tokens[len(tokens)-1].word] != ""
}

// spell appends the vocabulary's words for a raw word.
func (r *Reader) spell(tokens []token, t token, raw string) []token {
	word := plain(raw)
	if word == "" {
		return tokens
	}
	if respelled, ok := r.respelled(word, raw); ok {
		for _, id := range respelled {
			tokens = append(tokens, r.token(t, id, r.words.names[id]))
		}
		return tokens
	}
	t = r.token(t, r.words.known(word), word)
	if n, ok := r.words.numbers[t.base]; ok && len(word) < len(raw) {
		t.value = n // "engine two's"
	}
	t.plural = t.plural && len(word) == len(raw) // "film's torn" is one film
	if t.word != 0 || t.base != 0 {
		return append(tokens, t)
	}
	if a, b, ok := r.split(word); ok {
		return append(tokens, r.token(t, a, r.words.names[a]), r.token(t, b, r.words.names[b]))
	}
	id, near := r.correct(word)
	if id != 0 {
		t = r.token(t, id, r.words.names[id])
	}
	t.near = near
	return append(tokens, t)
}

// respelled looks a word up as it is written, then without its apostrophe: we're
// is not were.
func (r *Reader) respelled(word, raw string) ([]wordID, bool) {
	if len(word) != len(raw) {
		if words, ok := r.words.spelled[strings.ReplaceAll(strings.ToLower(raw), "’", "'")]; ok {
			return words, true
		}
	}
	words, ok := r.words.spelled[word]
	return words, ok
}

// shortestPlural keeps us and is from being taken for plurals.
const shortestPlural = 4

func (r *Reader) token(t token, id wordID, word string) token {
	t.word = id
	if n, ok := r.words.numbers[id]; ok {
		t.value = n
	}
	if n := len(word); n >= shortestPlural && word[n-1] == 's' && word[n-2] != 's' {
		t.base = r.words.known(word[:n-1])
		t.plural = t.base != 0
	}
	return t
}

// findCan tells the spray can from the verb: "can is empty".
func (s *sheet) findCan() {
	g := s.grammar
	for i := range s.tokens {
		if s.tokens[i].word == g.can && i+1 < len(s.tokens) && g.empties[s.tokens[i+1].word] {
			s.tokens[i].word = g.canair
		}
		if s.tokens[i].word == g.can && i+1 < len(s.tokens) && g.articles[s.tokens[i+1].word] {
			s.tokens[i].word = g.could // "can the air wedge …"
		}
	}
}

// recognise lays the lexicon over the tokens, the longest phrase first, and
// covers every token with one mark.
func (s *sheet) recognise() {
	m := matcher{cells: make([]cell, len(s.tokens)), skip: s.words.skip}
	for i, t := range s.tokens {
		m.cells[i] = cell{words: [3]wordID{t.word, t.base}, near: t.near, border: t.border(), at: i, span: 1}
		if t.value >= 0 {
			m.cells[i].words[2] = s.grammar.numberCell
		}
	}
	s.marks = make([]mark, 0, len(s.tokens))
	for i := 0; i < len(s.tokens); {
		next := s.recogniseAt(&m, i)
		s.marks = append(s.marks, next)
		i = next.end
	}
}

func (s *sheet) recogniseAt(m *matcher, i int) mark {
	t := s.tokens[i]
	if t.border() {
		return mark{kind: borderMark, at: i, end: i + 1}
	}
	unit, unitEnd := s.unitAt(i)
	senses, end := m.at(s.things, i, nil)
	switch {
	case unitEnd > 0 && unitEnd >= end:
		return mark{kind: unitMark, at: i, end: unitEnd, unit: unit}
	case end > i:
		return mark{kind: kindOf(senses), at: i, end: end, senses: senses}
	case s.words.negates[t.word]:
		return mark{kind: negationMark, at: i, end: i + 1}
	case t.value >= 0:
		return mark{kind: numberMark, at: i, end: i + 1}
	}
	return mark{kind: wordMark, at: i, end: i + 1}
}

// kindOf picks what a phrase is first of all: a thing before what is said of
// it. The other meanings stay with the mark.
func kindOf(senses []*sense) markKind {
	kinds := [...]markKind{itemSense: itemMark, sizeSense: sizeMark, conditionSense: conditionMark, factSense: factMark, offKitSense: offKitMark}
	best := kinds[senses[0].kind]
	for _, s := range senses[1:] {
		best = min(best, kinds[s.kind])
	}
	return best
}

// sense is the mark's meaning of one kind, nil when it has none.
func (m mark) sense(kind senseKind) *sense {
	for _, s := range m.senses {
		if s.kind == kind {
			return s
		}
	}
	return nil
}

// word is the vocabulary's word of a mark that is a single token.
func (s *sheet) word(m mark) wordID { return s.tokens[m.at].word }

// raw is the text of a mark as it was written.
func (s *sheet) raw(m mark) string {
	return s.text[s.tokens[m.at].from:s.tokens[m.end-1].to]
}
