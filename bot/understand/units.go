package understand

import (
	"slices"
	"strconv"
	"strings"
)

// unitNames knows the department's rigs by kind and number.
type unitNames struct {
	kind    map[wordID]string   // what crews write → kind
	letter  map[wordID]bool     // kinds that count only together with a number
	byKind  map[string][]string // kind → unit ids
	exists  map[string]bool
	alone   map[string]string // kind → the only unit of it, for kinds said without a number
	aliases *lexicon
	station map[wordID]bool
	byPlace map[string][]string // station id → unit ids
}

// unitRef is a rig or a station as a message names it.
type unitRef struct {
	id         string   // empty while it has to be asked for
	candidates []string // what it may be, when that is open
	station    string
}

// unitsFile is units.yaml.
type unitsFile struct {
	Kinds   map[string]string `yaml:"kinds"`
	Alone   string            `yaml:"alone"`
	Station string            `yaml:"station"`
}

func (r *Reader) loadUnits() error {
	var file unitsFile
	if err := readWords("units.yaml", &file); err != nil {
		return err
	}
	u := unitNames{
		kind: map[wordID]string{}, letter: map[wordID]bool{}, byKind: map[string][]string{}, exists: map[string]bool{},
		alone: map[string]string{}, aliases: newLexicon(), station: map[wordID]bool{}, byPlace: map[string][]string{},
	}
	for kind, words := range file.Kinds {
		for _, id := range r.words.list(words) {
			u.kind[id] = kind
			u.letter[id] = len(r.words.names[id]) <= 2
		}
	}
	addAll(u.station, r.words.list(file.Station))
	r.units = u
	r.addUnits(strings.Fields(file.Alone))
	return nil
}

// addUnits takes the department's units in.
func (r *Reader) addUnits(alone []string) {
	u := r.units
	for _, unit := range r.dept.Units {
		kind, _, _ := strings.Cut(unit.ID, "-")
		u.exists[unit.ID] = true
		u.byKind[kind] = append(u.byKind[kind], unit.ID)
		u.byPlace[unit.Station] = append(u.byPlace[unit.Station], unit.ID)
		for _, alias := range unit.Aliases {
			r.addAlias(alias, unit.ID)
		}
	}
	for _, kind := range alone {
		if ids := u.byKind[kind]; len(ids) == 1 {
			u.alone[kind] = ids[0]
		}
	}
}

func (r *Reader) addAlias(alias, unit string) {
	var slots []slot
	for _, w := range r.words.wordsOf(alias) {
		slots = append(slots, slot{words: []wordID{w}})
	}
	// A bare kind ("tower") is read by its kind, so that "tower 9" stays unknown.
	if len(slots) == 0 || len(slots) == 1 && r.units.kind[slots[0].words[0]] != "" {
		return
	}
	r.units.aliases.add(&pattern{slots: slots, means: &sense{name: unit}})
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
	if kind := s.units.kind[t.word]; kind != "" {
		return s.kindAt(i, kind)
	}
	if kind := s.units.kind[t.base]; kind != "" && s.units.alone[kind] != "" && t.base == s.words.known(kind) {
		return unitRef{id: s.units.alone[kind]}, i + 1 // the tower's
	}
	return s.possessiveAt(i)
}

func (s *sheet) aliasAt(i int) (unitRef, int) {
	end, id := 0, ""
	for _, p := range s.units.aliases.starting[s.tokens[i].word] {
		if n := len(p.slots); n > end && s.spells(p.slots, i) {
			end, id = n, p.means.name
		}
	}
	if end == 0 {
		return unitRef{}, 0
	}
	return unitRef{id: id}, s.pastPossessive(i + end)
}

func (s *sheet) spells(slots []slot, i int) bool {
	for k, slot := range slots {
		if i+k >= len(s.tokens) || s.tokens[i+k].word != slot.words[0] {
			return false
		}
	}
	return true
}

// kindAt reads "engine 4", "E4", "eng-4", "truck one" and a bare "tower".
func (s *sheet) kindAt(i int, kind string) (unitRef, int) {
	n, ok := s.numberAfter(i)
	if !ok {
		id := s.units.alone[kind]
		if id == "" || s.units.letter[s.tokens[i].word] || s.tokens[i].word != s.words.known(kind) {
			return unitRef{}, 0
		}
		return unitRef{id: id}, s.pastPossessive(i + 1)
	}
	end := s.pastPossessive(i + 2)
	if id := kind + "-" + strconv.Itoa(n); s.units.exists[id] {
		return unitRef{id: id}, end
	}
	return unitRef{candidates: s.like(kind, n)}, end
}

// numberAfter is the rig's number behind a kind. A spoken number counts only
// behind a full word, and never the one of "a couple".
func (s *sheet) numberAfter(i int) (int, bool) {
	if i+1 >= len(s.tokens) {
		return 0, false
	}
	next := s.tokens[i+1]
	spoken := next.kind == wordToken
	if next.value < 1 || spoken && (s.units.letter[s.tokens[i].word] || s.grammar.vague[next.word]) {
		return 0, false
	}
	return next.value, true
}

// like lists the units that somebody may have meant by one that does not
// exist: those of its number, then those of its kind.
func (s *sheet) like(kind string, n int) []string {
	var ids []string
	suffix := "-" + strconv.Itoa(n)
	for _, u := range s.dept.Units {
		if strings.HasSuffix(u.ID, suffix) {
			ids = append(ids, u.ID)
		}
	}
	for _, id := range s.units.byKind[kind] {
		if !slices.Contains(ids, id) {
			ids = append(ids, id)
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
	id := "station-" + strconv.Itoa(n)
	ref := unitRef{station: id, candidates: s.withKit(s.units.byPlace[id])}
	if len(ref.candidates) == 1 {
		ref.id = ref.candidates[0]
	}
	return ref, end
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
	ids := s.withKit(s.like("", t.value))
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
