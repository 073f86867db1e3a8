package knowledge

import (
	"embed"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"slices"
	"strings"
)

//go:embed cards
var embedded embed.FS

// Cards returns the program's own cards, one Markdown file each.
func Cards() fs.FS {
	cards, err := fs.Sub(embedded, "cards")
	if err != nil {
		panic(err) // only for a path that is not valid
	}
	return cards
}

// Library is a set of cards that serves together. It is never changed.
type Library struct {
	own        fs.FS   // where the links of a department's own cards lead; nil for none
	cards      []*Card // by id
	byID       map[string]*Card
	linkedFrom map[string][]string
}

// Load reads every .md file at the top of fsys. A file that cannot be read as
// a card is left out and reported; so is a folder that cannot be read.
func Load(fsys fs.FS) (*Library, []Problem) {
	cards, _, problems := loadCards(fsys)
	return NewLibrary(cards), problems
}

// Overlay returns a library in which the department's own cards replace or
// join l's. One that names no aliases keeps those of the card that it replaces:
// crews go on calling the thing as they did. A broken file is refused and reported, and the card of that id
// which serves now stays: previous is the library in use until now, nil at the
// start.
func (l *Library) Overlay(own fs.FS, previous *Library) (*Library, []Problem) {
	cards, refused, problems := loadCards(own)
	merged := maps.Clone(l.byID)
	for _, id := range refused {
		if old := previous.find(id); old != nil {
			merged[id] = old
		}
	}
	for _, c := range cards {
		if old := l.byID[c.ID]; old != nil && len(c.Aliases) == 0 {
			c.Aliases = old.Aliases
		}
		merged[c.ID] = c
	}
	library := NewLibrary(slices.Collect(maps.Values(merged)))
	library.own = own
	return library, problems
}

func loadCards(fsys fs.FS) (cards []*Card, refused []string, problems []Problem) {
	entries, err := fs.ReadDir(fsys, ".")
	if err != nil {
		return nil, nil, []Problem{{File: ".", Say: "the folder of cards cannot be read: " + reason(err)}}
	}
	for _, entry := range entries {
		id, isCard := strings.CutSuffix(entry.Name(), ".md")
		if !isCard || entry.IsDir() {
			continue
		}
		card, wrong := loadCard(fsys, entry.Name())
		if card == nil {
			refused = append(refused, id)
			problems = append(problems, wrong...)
			continue
		}
		cards = append(cards, card)
	}
	return cards, refused, problems
}

func loadCard(fsys fs.FS, name string) (*Card, []Problem) {
	text, err := fs.ReadFile(fsys, name)
	if err != nil {
		return nil, []Problem{{File: name, Say: "the file cannot be read: " + reason(err)}}
	}
	card, problems := ParseCard(name, text)
	if card == nil {
		return nil, problems
	}
	if problems := checkLinks(fsys, card); len(problems) > 0 {
		return nil, problems
	}
	return card, nil
}

// reason is the error without the path, which the problem names already.
func reason(err error) string {
	if path := (*fs.PathError)(nil); errors.As(err, &path) {
		return path.Err.Error()
	}
	return err.Error()
}

// NewLibrary makes a library of cards, which must have different ids.
func NewLibrary(cards []*Card) *Library {
	slices.SortFunc(cards, func(a, b *Card) int { return strings.Compare(a.ID, b.ID) })
	l := &Library{cards: cards, byID: make(map[string]*Card, len(cards)), linkedFrom: map[string][]string{}}
	for _, c := range cards {
		l.byID[c.ID] = c
		for _, to := range c.links() {
			l.linkedFrom[to] = append(l.linkedFrom[to], c.ID)
		}
	}
	return l
}

// links lists the ids a card names, each once.
func (c *Card) links() []string {
	links := slices.Concat(c.Tools, c.Hazards, c.Related)
	slices.Sort(links)
	return slices.Compact(links)
}

// File reads the file that a card's link leads to, at most limit bytes. The
// error is fs.ErrNotExist for a link that leads to none.
func (l *Library) File(link Link, limit int64) ([]byte, error) {
	if l.own == nil || link.Online() {
		return nil, fmt.Errorf("open %s: %w", link.Target, fs.ErrNotExist)
	}
	f, err := l.own.Open(link.Target)
	if err != nil {
		return nil, fmt.Errorf("open %s: %w", link.Target, err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, limit+1))
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", link.Target, err)
	}
	if int64(len(data)) > limit {
		return nil, fmt.Errorf("read %s: larger than %d bytes", link.Target, limit)
	}
	return data, nil
}

func (l *Library) find(id string) *Card {
	if l == nil {
		return nil
	}
	return l.byID[id]
}

// Card returns the card with that id.
func (l *Library) Card(id string) (*Card, bool) {
	c, ok := l.byID[id]
	return c, ok
}

// All returns the cards in the order of their ids. The slice is shared: read it only.
func (l *Library) All() []*Card { return l.cards }

// LinkedFrom returns the ids of the cards that name id as a tool, a hazard or
// related, in order. The slice is shared: read it only.
func (l *Library) LinkedFrom(id string) []string { return l.linkedFrom[id] }
