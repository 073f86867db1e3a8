package knowledge

import "time"

// Kind is what sort of thing a card is about. It decides which sections the
// card must have.
type Kind string

// The kinds of cards.
const (
	Tool      Kind = "tool"
	Hardware  Kind = "hardware" // locks, doors and the rules about them
	Technique Kind = "technique"
	Decision  Kind = "decision"
	Hazard    Kind = "hazard"
	Care      Kind = "care"
	Drill     Kind = "drill"
)

// The section titles that cards use, in the order they are written.
const (
	UseItWhen   = "Use it when"
	TellItBy    = "Tell it by"
	WhatOpensIt = "What opens it"
	DontWhen    = "Don't when"
	Steps       = "Steps"
	StopWhen    = "Stop and switch when"
	Cautions    = "Cautions"
	CheckIt     = "Check it"
	Numbers     = "Numbers" // figures with their sources, one a line
)

// RequiredSections lists the sections that a card of kind k must have, in
// order; nil for an unknown kind. [Numbers] may follow in any card.
func RequiredSections(k Kind) []string {
	switch k {
	case Tool:
		return []string{UseItWhen, DontWhen, Steps, StopWhen, Cautions, CheckIt}
	case Hardware:
		return []string{TellItBy, WhatOpensIt, DontWhen, Cautions}
	case Technique:
		return []string{UseItWhen, DontWhen, Steps, StopWhen, Cautions}
	case Decision:
		return []string{UseItWhen, Steps, DontWhen, Cautions}
	case Hazard:
		return []string{UseItWhen, Steps, Cautions}
	case Care, Drill:
		return []string{UseItWhen, Steps, StopWhen, Cautions}
	}
	return nil
}

// Shown is what a section is called where people read it. "Use it when" is said
// of a tool or a technique; on a card about a danger or a decision it would read
// as leave to go on ("Use it when: You smell gas").
func (c *Card) Shown(section string) string {
	switch {
	case section != UseItWhen || c.Kind == Tool || c.Kind == Technique:
		return section
	case c.Kind == Hazard:
		return "Mind this when"
	}
	return "Go by this when"
}

// Card is one parsed card. It is never changed after parsing, so libraries
// share cards.
type Card struct {
	ID       string // the file's name without .md; never changes once shipped
	Title    string
	Kind     Kind
	Aliases  []string // other names and slang for the thing itself
	Asks     []string // questions the card answers, as a crew would type them
	NotAbout []string // things near by which the card does not cover
	Tools    []string // card ids of the tools it takes
	Hazards  []string // card ids
	Related  []string // card ids
	Sources  []string
	Links    []Link    // a department's own pictures and videos
	Version  string    // names what the file says, in 12 hex digits: another text is another version
	Reviewed time.Time // the day somebody last read it through; midnight UTC

	Intro    string // one or two sentences: what it is, or what it settles
	Sections []Section

	Target Target // of a drill's task

	Plan     []byte // YAML under the key plan:, for the planner; nil without
	PlanLine int    // the line of File where Plan begins, for messages
	Drawing  []byte // YAML under the key drawing:; nil without
	DrawLine int

	File string // path in the file system it was read from
}

// Target is what a drill's task aims at, as its text says too. Zero is not
// measured.
type Target struct {
	Minutes int
	Tries   int
}

// Section is a titled part of a card.
type Section struct {
	Title string
	Line  int // of the title in the file
	Items []Item
}

// Item is one step, bullet or paragraph of a section, its lines joined.
type Item struct {
	Text string
	Line int
	Mark Mark
}

// Mark is how an item is written.
type Mark byte

// The marks of an item.
const (
	Paragraph Mark = iota
	Bullet
	Numbered
)

// Section returns the section with that title, or one without items.
func (c *Card) Section(title string) Section {
	for _, s := range c.Sections {
		if s.Title == title {
			return s
		}
	}
	return Section{Title: title}
}

// Texts returns the items' texts.
func (s Section) Texts() []string {
	texts := make([]string, 0, len(s.Items))
	for _, item := range s.Items {
		texts = append(texts, item.Text)
	}
	return texts
}
