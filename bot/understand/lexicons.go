package understand

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"kitbell/bot/door"
	"kitbell/bot/kit"
)

// senseKind says which reader a phrase is for.
type senseKind uint8

const (
	itemSense      senseKind = iota // names an item, or several that it may be
	sizeSense                       // "the small one": an item of the family named before
	conditionSense                  // what is wrong, or that nothing is
	factSense                       // something about a door
	offKitSense                     // equipment that is on another desk
	cueSense                        // what the message is for
)

// sense is what a phrase means. Which fields count depends on kind.
type sense struct {
	kind   senseKind
	items  []string // itemSense, sizeSense: what it may be; conditionSense: what it can be said of
	alone  bool     // sizeSense: without "one", so only once the family was named
	both   []string // itemSense: what "both" of them are
	status status   // conditionSense
	facts  []fact   // factSense: what it says, and what its negation says
	denied []fact
	cue    *cue // cueSense
	name   string
}

// fact is one value of a door fact, or a clue that settles one together with
// others.
type fact struct {
	name  door.Fact
	value string
}

// clueFact marks what is not yet a fact.
const clueFact door.Fact = "clue"

// status is what a phrase says of an item: a kit.Condition or one of these.
type status string

const (
	fine      status = "fine"       // nothing wrong
	left      status = "left"       // so many remain
	only      status = "only"       // so many and no more
	short     status = "short"      // so many are gone
	have      status = "have"       // so many are there
	same      status = "same"       // as the item before
	alsoAsked status = "also-asked" // missing, put as a question
	spent     status = "spent"      // done, which is gone for what is used up
	back      status = "back"       // found, when an item stands before it
	except    status = "except"     // "everything but": missing, unless more is said
	needs     status = "needs"      // short of it, unless more is said
	inside    status = "inside"     // in the bag, which says something only with a number
	elsewhere status = "elsewhere"  // missing, and the rig named before has it
	aside     status = "aside"      // said of the door, not of an item
	denied    status = "denied"     // "isn't bent"
	found            = status(kit.Resolved)
)

// cue is a kind of message.
type cue struct {
	intent Intent
	claims string // which conditions beside it are part of the command: all, loss or none
}

// itemsFile is items.yaml.
type itemsFile struct {
	Items map[string]struct {
		Sizes string   `yaml:"sizes"`
		Alone string   `yaml:"alone"`
		Names []string `yaml:"names"`
	} `yaml:"items"`
	Groups []struct {
		Say   []string `yaml:"say"`
		Items string   `yaml:"items"`
		Both  string   `yaml:"both"`
	} `yaml:"groups"`
}

// loadItems files the names of items: the reader's own slang, then what cards
// and the department call them.
func (r *Reader) loadItems(given []ItemName) error {
	var file itemsFile
	if err := readWords("items.yaml", &file); err != nil {
		return err
	}
	sizes := map[string][]string{}
	for _, id := range slices.Sorted(maps.Keys(file.Items)) {
		item := file.Items[id]
		if err := r.say(item.Names, &sense{kind: itemSense, items: []string{id}, name: id}); err != nil {
			return err
		}
		for size := range strings.FieldsSeq(item.Alone) {
			if err := r.say([]string{size}, &sense{kind: sizeSense, items: []string{id}, alone: true}); err != nil {
				return err
			}
		}
		for size := range strings.FieldsSeq(item.Sizes) {
			sizes[size] = append(sizes[size], id)
		}
	}
	for size, ids := range sizes {
		if err := r.say([]string{size + " one/ones"}, &sense{kind: sizeSense, items: ids, name: size}); err != nil {
			return err
		}
	}
	for _, g := range file.Groups {
		s := &sense{kind: itemSense, items: strings.Fields(g.Items), both: strings.Fields(g.Both)}
		r.families = append(r.families, s.items)
		if err := r.say(g.Say, s); err != nil {
			return err
		}
	}
	return r.loadNames(given)
}

// loadNames files names from outside as they are: no notation in them. A name
// that the slang file already reads otherwise keeps that reading.
func (r *Reader) loadNames(given []ItemName) error {
	for _, item := range given {
		s := &sense{kind: itemSense, items: []string{item.ID}, name: item.ID}
		for _, name := range append([]string{item.Title, strings.ReplaceAll(item.ID, "-", " ")}, item.Aliases...) {
			words := r.words.wordsOf(name)
			if len(words) == 0 || r.reads(words) {
				continue
			}
			slots := make([]slot, len(words))
			for i, w := range words {
				slots[i].words = []wordID{w}
			}
			r.things.add(&pattern{slots: slots, means: s})
		}
	}
	return nil
}

// reads says whether the lexicon already has a meaning for exactly these words.
func (r *Reader) reads(words []wordID) bool {
	m := matcher{skip: r.words.skip}
	for _, w := range words {
		m.cells = append(m.cells, cell{words: [3]wordID{w}})
	}
	_, end := m.at(r.things, 0, nil)
	return end == len(words)
}

func (r *Reader) say(phrases []string, means *sense) error {
	return r.sayIn(r.things, phrases, means)
}

func (r *Reader) sayIn(l *lexicon, phrases []string, means *sense) error {
	for _, phrase := range phrases {
		slots, err := r.words.parsePattern(phrase)
		if err != nil {
			return err
		}
		l.add(&pattern{slots: slots, means: means})
	}
	return nil
}

// conditionsFile is conditions.yaml.
type conditionsFile struct {
	Conditions []struct {
		Is   string   `yaml:"is"`
		Only string   `yaml:"only"`
		Say  []string `yaml:"say"`
	} `yaml:"conditions"`
}

func (r *Reader) loadConditions() error {
	var file conditionsFile
	if err := readWords("conditions.yaml", &file); err != nil {
		return err
	}
	for _, c := range file.Conditions {
		s := &sense{kind: conditionSense, status: status(c.Is), items: strings.Fields(c.Only)}
		if c.Is == "found" {
			s.status = found
		}
		if err := r.say(c.Say, s); err != nil {
			return err
		}
	}
	return nil
}

// doorsFile is doors.yaml.
type doorsFile struct {
	Doors []struct {
		Means string   `yaml:"means"`
		Not   string   `yaml:"not"`
		Say   []string `yaml:"say"`
	} `yaml:"doors"`
	Clues map[string]string `yaml:"clues"`
}

func (r *Reader) loadDoors() error {
	var file doorsFile
	if err := readWords("doors.yaml", &file); err != nil {
		return err
	}
	r.words.addClasses(file.Clues)
	for _, d := range file.Doors {
		means, err := parseFacts(d.Means)
		if err != nil {
			return err
		}
		denied, err := parseFacts(d.Not)
		if err != nil {
			return err
		}
		if err := r.say(d.Say, &sense{kind: factSense, facts: means, denied: denied, name: d.Means}); err != nil {
			return err
		}
	}
	return nil
}

// parseFacts reads "swing=out guard=true" and checks it against package door.
func parseFacts(text string) ([]fact, error) {
	var facts []fact
	for field := range strings.FieldsSeq(text) {
		name, value, _ := strings.Cut(field, "=")
		f := fact{door.Fact(name), value}
		if f.name != clueFact {
			var check door.Facts
			if err := check.Set(f.name, value); err != nil {
				return nil, fmt.Errorf("door words: %w", err)
			}
		}
		facts = append(facts, f)
	}
	return facts, nil
}

// cuesFile is cues.yaml.
type cuesFile struct {
	Cues map[string]struct {
		Claims string   `yaml:"claims"`
		Say    []string `yaml:"say"`
	} `yaml:"cues"`
	OffKit []string          `yaml:"offkit"`
	Days   map[string]string `yaml:"days"`
	Asking string            `yaml:"asking"`
	Topics string            `yaml:"topics"`
	Calls  map[string]string `yaml:"calls"`
}

func (r *Reader) loadCues() error {
	var file cuesFile
	if err := readWords("cues.yaml", &file); err != nil {
		return err
	}
	for _, name := range slices.Sorted(maps.Keys(file.Cues)) {
		c := &cue{intent: Intent(name), claims: file.Cues[name].Claims}
		if err := r.sayIn(r.cues, file.Cues[name].Say, &sense{kind: cueSense, cue: c, name: name}); err != nil {
			return err
		}
	}
	for _, phrase := range file.OffKit {
		if err := r.say([]string{phrase}, &sense{kind: offKitSense}); err != nil {
			return err
		}
	}
	for day, words := range file.Days {
		for _, id := range r.words.list(words) {
			r.words.days[id] = day
		}
	}
	addAll(r.words.asking, r.words.list(file.Asking))
	addAll(r.words.topics, r.words.list(file.Topics))
	r.calls = map[wordID]string{}
	for call, words := range file.Calls {
		for _, id := range r.words.list(words) {
			r.calls[id] = call
		}
	}
	return nil
}
