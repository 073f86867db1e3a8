package understand

import (
	"slices"
	"strconv"
	"strings"

	"kitbell/bot/department"
)

// unitNames knows the department's rigs and stations by what crews call them.
type unitNames struct {
	kind     map[wordID]string   // what crews write → kind
	letter   map[wordID][]string // a kind's first letter → the kinds that share it
	byKind   map[string][]string // kind → unit ids
	numbered map[string][]string // kind and number → unit ids
	alone    map[string]string   // kind → the only unit of it, for kinds said without a number
	aliases  *lexicon
	station  map[wordID]bool
	byPlace  map[string][]string // station id → unit ids
	places   map[int]string      // number → station id
}

// unitRef is a rig or a station as a message names it.
type unitRef struct {
	id         string   // empty while it has to be asked for
	candidates []string // what it may be, when that is open
	station    string
	open       bool // there are such rigs, and several: which one is meant is asked
}

// unitsFile is units.yaml.
type unitsFile struct {
	Kinds   map[string]string `yaml:"kinds"`
	Letters map[string]string `yaml:"letters"`
	Alone   string            `yaml:"alone"`
	Station string            `yaml:"station"`
}

func (r *Reader) loadUnits() error {
	var file unitsFile
	if err := readWords("units.yaml", &file); err != nil {
		return err
	}
	u := unitNames{
		kind: map[wordID]string{}, letter: map[wordID][]string{}, byKind: map[string][]string{}, numbered: map[string][]string{},
		alone: map[string]string{}, aliases: newLexicon(), station: map[wordID]bool{}, byPlace: map[string][]string{}, places: map[int]string{},
	}
	for kind, words := range file.Kinds {
		for _, id := range r.words.list(words) {
			u.kind[id] = kind
		}
	}
	addAll(u.station, r.words.list(file.Station))
	r.units = u
	r.addUnits(strings.Fields(file.Alone))
	r.addLetters(file.Letters)
	r.addStations()
	return nil
}

// addUnits takes the department's units in.
func (r *Reader) addUnits(alone []string) {
	u := r.units
	for _, unit := range r.dept.Units {
		kind, number := unitKind(unit)
		u.byKind[kind] = append(u.byKind[kind], unit.ID)
		u.byPlace[unit.Station] = append(u.byPlace[unit.Station], unit.ID)
		if number > 0 {
			key := rigKey(kind, number)
			u.numbered[key] = append(u.numbered[key], unit.ID)
			r.addKind(kind)
		}
		for _, alias := range append(slices.Clone(unit.Aliases), unit.Name, unit.ID) {
			r.addAlias(alias, &sense{name: unit.ID})
		}
	}
	for _, kind := range alone {
		if ids := u.byKind[kind]; len(ids) == 1 {
			u.alone[kind] = ids[0]
		}
	}
}

// unitKind is a unit's type and number, from its id where the file was not read.
func unitKind(u department.Unit) (kind string, number int) {
	if u.Type != "" {
		return u.Type, u.Number
	}
	at := strings.LastIndexByte(u.ID, '-')
	if at < 0 {
		return u.ID, u.Number
	}
	n, err := strconv.Atoi(u.ID[at+1:])
	if err != nil {
		return u.ID, u.Number
	}
	return u.ID[:at], n
}

func rigKey(kind string, number int) string { return kind + " " + strconv.Itoa(number) }

// addKind makes a type's own word, and its plural, stand for it.
func (r *Reader) addKind(kind string) {
	if strings.Contains(kind, "-") {
		return // of several words: found by the unit's name
	}
	for _, word := range []string{kind, kind + "s"} {
		r.units.kind[r.words.id(word)] = kind
	}
}

// addLetters lets a kind's first letter stand for it before a number. usual are
// the trade's letters, for kinds that the department does not have.
func (r *Reader) addLetters(usual map[string]string) {
	u := r.units
	for kind := range u.byKind {
		if kind == "" {
			continue
		}
		letter := r.words.id(strings.ToLower(kind[:1]))
		u.letter[letter] = append(u.letter[letter], kind)
		slices.Sort(u.letter[letter])
	}
	for letter, kind := range usual {
		if id := r.words.id(letter); u.letter[id] == nil {
			u.letter[id] = []string{kind}
		}
	}
}

// addStations takes the stations in by number and by name.
func (r *Reader) addStations() {
	for place := range r.units.byPlace {
		r.addPlace(place, place)
	}
	for _, st := range r.dept.Stations {
		r.addPlace(st.ID, st.ID)
		r.addPlace(st.ID, st.Name)
		street := strings.TrimLeft(st.Name, "0123456789 ")
		ref := &sense{name: st.ID, kind: sizeSense}
		r.addAlias(st.ID, ref)
		r.addAlias(st.Name, ref)
		if strings.Contains(street, " ") {
			r.addAlias(street, ref)
			continue
		}
		for word := range r.units.station {
			r.addAlias(street+" "+r.words.names[word], ref)
			r.addAlias(r.words.names[word]+" "+street, ref)
		}
	}
}

// addPlace notes the number in a station's id or name.
func (r *Reader) addPlace(station, name string) {
	for _, word := range strings.FieldsFunc(name, func(c rune) bool { return c < '0' || c > '9' }) {
		if n := number(word); r.units.places[n] == "" {
			r.units.places[n] = station
		}
	}
}

// addAlias files a name of a rig or a station; its numbers may be spoken.
func (r *Reader) addAlias(alias string, means *sense) {
	var slots []slot
	for _, w := range r.words.wordsOf(alias) {
		slots = append(slots, slot{words: r.spoken(w)})
	}
	// A bare kind ("tower") is read by its kind, so that "tower 9" stays unknown.
	if len(slots) == 0 || len(slots) == 1 && r.units.kind[slots[0].words[0]] != "" {
		return
	}
	r.units.aliases.add(&pattern{slots: slots, means: means})
}

// spoken lists a word and, for a number, the words that say it.
func (r *Reader) spoken(w wordID) []wordID {
	n, err := strconv.Atoi(r.words.names[w])
	if err != nil {
		return []wordID{w}
	}
	words := []wordID{w}
	for id, value := range r.words.numbers {
		switch r.words.names[id] {
		case "couple", "pair", "few", "another", "single":
		default:
			if value == n {
				words = append(words, id)
			}
		}
	}
	return words
}

// unitAt reads a rig or a station at token i and gives the token behind it, 0
// when there is none.
func (s *sheet) unitAt(i int) (unitRef, int) {
	t := s.tokens[i]
	if ref, end := s.aliasAt(i); end > 0 {
		return ref, end
	}
	if s.units.station[t.word] {
		return s.stationAt(i)
	}
	if kinds := s.units.letter[t.word]; kinds != nil {
		return s.letterAt(i, kinds)
	}
	if kind := s.units.kind[t.word]; kind != "" {
		return s.kindAt(i, kind)
	}
	if kind := s.units.kind[t.base]; kind != "" && s.units.alone[kind] != "" && t.base == s.words.known(kind) {
		return unitRef{id: s.units.alone[kind]}, i + 1 // the tower's
	}
	if ref, end := s.strangerAt(i); end > 0 {
		return ref, end
	}
	return s.possessiveAt(i)
}

func (s *sheet) aliasAt(i int) (unitRef, int) {
	end := 0
	var means *sense
	for _, p := range s.units.aliases.starting[s.tokens[i].word] {
		if n := len(p.slots); n > end && s.spells(p.slots, i) {
			end, means = n, p.means
		}
	}
	switch {
	case end == 0:
		return unitRef{}, 0
	case means.kind == sizeSense:
		return s.place(means.name), s.pastPossessive(i + end)
	}
	return unitRef{id: means.name}, s.pastPossessive(i + end)
}

func (s *sheet) spells(slots []slot, i int) bool {
	for k, slot := range slots {
		if i+k >= len(s.tokens) || !slices.Contains(slot.words, s.tokens[i+k].word) {
			return false
		}
	}
	return true
}

// kindAt reads "engine 4", "eng-4", "truck one" and a bare "tower".
func (s *sheet) kindAt(i int, kind string) (unitRef, int) {
	n, ok := s.numberAfter(i)
	if !ok {
		id := s.units.alone[kind]
		if id == "" || s.words.names[s.tokens[i].word] != kind && s.words.names[s.tokens[i].word] != kind+"s" {
			return unitRef{}, 0
		}
		return unitRef{id: id}, s.pastPossessive(i + 1)
	}
	return s.numberedAs([]string{kind}, n), s.pastPossessive(i + 2)
}

// letterAt reads "E4", "e-4"; "E 4" only by a letter that is no word by itself.
func (s *sheet) letterAt(i int, kinds []string) (unitRef, int) {
	if i+1 >= len(s.tokens) || s.tokens[i+1].kind != numberToken || s.tokens[i+1].value < 1 || i > 0 && s.tokens[i].joined && s.tokens[i-1].kind == numberToken {
		return unitRef{}, 0
	}
	letter := s.text[s.tokens[i].from]
	if !s.tokens[i+1].joined && strings.IndexByte("aisxAISX", letter) >= 0 || len(s.words.names[s.tokens[i].word]) > 2 {
		return unitRef{}, 0
	}
	return s.numberedAs(kinds, s.tokens[i+1].value), s.pastPossessive(i + 2)
}

// numberedAs is the rig of some kinds that has a number; open when several kinds
// are meant by the same letter.
func (s *sheet) numberedAs(kinds []string, n int) unitRef {
	var ids []string
	for _, kind := range kinds {
		ids = append(ids, s.units.numbered[rigKey(kind, n)]...)
	}
	switch {
	case len(ids) == 1 && len(kinds) == 1:
		return unitRef{id: ids[0]}
	case len(ids) > 0:
		return unitRef{candidates: ids, open: true}
	}
	return unitRef{candidates: s.like(kinds, n)}
}

// strangerAt reads a rig of a kind that nobody knows: a word with a capital
// letter before a number that counts nothing, "Foam 7".
func (s *sheet) strangerAt(i int) (unitRef, int) {
	t := s.tokens[i]
	if t.kind != wordToken || i+1 >= len(s.tokens) || s.tokens[i+1].kind != numberToken || s.tokens[i+1].to-s.tokens[i+1].from > longestRigNumber {
		return unitRef{}, 0
	}
	raw := s.text[t.from:t.to]
	word := plain(raw)
	if len(raw) < 3 || raw[0] < 'A' || raw[0] > 'Z' {
		return unitRef{}, 0
	}
	if (s.words.known(word) != 0 || s.words.spelled[word] != nil || s.everyday.knows(word)) && !s.actsAsRig(i) {
		return unitRef{}, 0
	}
	return unitRef{candidates: s.like(nil, s.tokens[i+1].value)}, s.pastPossessive(i + 2)
}

// actsAsRig says whether a word that has another use stands before a number like
// a rig's name: no tool, no command, and something is said of it.
func (s *sheet) actsAsRig(i int) bool {
	w := s.tokens[i].word
	if i+2 >= len(s.tokens) || !s.grammar.states[s.tokens[i+2].word] || s.grammar.line[w] || s.grammar.seal[w] || s.grammar.lot[w] || s.grammar.order[w] ||
		s.words.skip[w] || s.words.negates[w] || len(s.cues.starting[w]) > 0 {
		return false
	}
	return !slices.ContainsFunc(s.things.starting[w], func(p *pattern) bool { return p.means.kind != offKitSense })
}

// longestRigNumber is how many digits a rig's number has at most.
const longestRigNumber = 3

// numberAfter is the rig's number behind a kind, written or spoken, and never
// the one of "a couple".
func (s *sheet) numberAfter(i int) (int, bool) {
	if i+1 >= len(s.tokens) {
		return 0, false
	}
	next := s.tokens[i+1]
	if next.value < 1 || next.kind == wordToken && s.grammar.vague[next.word] {
		return 0, false
	}
	return next.value, true
}

// like lists the units that somebody may have meant by one that does not
// exist: those of its number, then those of its kind.
func (s *sheet) like(kinds []string, n int) []string {
	var ids []string
	for _, u := range s.dept.Units {
		if _, number := unitKind(u); number == n {
			ids = append(ids, u.ID)
		}
	}
	for _, kind := range kinds {
		for _, id := range s.units.byKind[kind] {
			addOnce(&ids, id)
		}
	}
	return ids
}

func (s *sheet) stationAt(i int) (unitRef, int) {
	n, ok := s.numberAfter(i)
	if !ok {
		return unitRef{}, 0
	}
	end := s.pastPossessive(i + 2)
	if s.units.places[n] == "" {
		return unitRef{}, end
	}
	return s.place(s.units.places[n]), end
}

// place is a station as a rig: the only one there with a kit, or all of them.
func (s *sheet) place(station string) unitRef {
	ref := unitRef{station: station, candidates: s.withKit(s.units.byPlace[station])}
	if len(ref.candidates) == 1 {
		ref.id = ref.candidates[0]
	}
	return ref
}

// withKit keeps the units that carry a kit; all of them when the file says
// nothing about kits.
func (s *sheet) withKit(units []string) []string {
	var ids []string
	for _, id := range units {
		for _, k := range s.dept.Kits {
			if k.Place.At == id {
				ids = append(ids, id)
				break
			}
		}
	}
	if len(ids) == 0 {
		return units
	}
	return ids
}

// possessiveAt reads "4s kit": every rig with the number.
func (s *sheet) possessiveAt(i int) (unitRef, int) {
	t := s.tokens[i]
	if t.kind != numberToken || i+1 >= len(s.tokens) || !s.tokens[i+1].joined || s.tokens[i+1].word != s.grammar.s {
		return unitRef{}, 0
	}
	ids := s.withKit(s.like(nil, t.value))
	if len(ids) == 1 {
		return unitRef{id: ids[0]}, i + 2
	}
	return unitRef{candidates: ids}, i + 2
}

// pastPossessive steps over the s of "E4's".
func (s *sheet) pastPossessive(i int) int {
	if i < len(s.tokens) && s.tokens[i].word == s.grammar.s {
		return i + 1
	}
	return i
}
