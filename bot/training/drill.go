package training

import (
	"errors"
	"fmt"
	"maps"
	"slices"
)

// DrillKind says what a crew does in a drill.
type DrillKind string

// The three kinds. Recall and decide are quizzes: they need no tool and no door.
const (
	RecallDrill  DrillKind = "recall"   // a question, then the card
	DecideDrill  DrillKind = "decide"   // a described door: choose, then compare
	HandsOnDrill DrillKind = "hands-on" // a ten-minute task with a target
)

// DrillKinds lists them, the one that is preferred first: a hand remembers what
// it did longer than a head what it read (FACTS E27), and deciding is nearer to
// the work than naming.
func DrillKinds() []DrillKind { return []DrillKind{HandsOnDrill, DecideDrill, RecallDrill} }

// Quiz says whether a drill of this kind only asks.
func (k DrillKind) Quiz() bool { return k == RecallDrill || k == DecideDrill }

// Drill is one thing to train: what about, how, and from which card.
type Drill struct {
	Topic string    `json:"topic"`
	Kind  DrillKind `json:"kind"`
	Card  string    `json:"card"` // shown as the task, or after the answer
}

// Topic is something that a crew has to be able to do, with what trains it.
type Topic struct {
	ID    string               // a technique's or a card's
	Must  bool                 // every crew drills it at least once a quarter
	Tools []string             // what it takes; a new one brings its topics to the front
	Cards map[DrillKind]string // the card of each kind of drill that there is
}

// What keeps a topic or a drill from being used.
var (
	ErrNoCard    = errors.New("a drill needs a card")
	ErrNoKind    = errors.New("a drill is recall, decide or hands-on")
	ErrNoTopic   = errors.New("a drill needs a topic")
	ErrTopicSeen = errors.New("a topic stands there once")
)

// Check refuses a drill without a topic, of no kind or without a card.
func (d Drill) Check() error {
	switch {
	case d.Topic == "":
		return ErrNoTopic
	case !slices.Contains(DrillKinds(), d.Kind):
		return fmt.Errorf("%s: %w, not %q", d.Topic, ErrNoKind, d.Kind)
	case d.Card == "":
		return fmt.Errorf("%s, %s: %w", d.Topic, d.Kind, ErrNoCard)
	}
	return nil
}

// Drill is the topic's drill of a kind; false when it has none.
func (t Topic) Drill(kind DrillKind) (Drill, bool) {
	card, ok := t.Cards[kind]
	return Drill{Topic: t.ID, Kind: kind, Card: card}, ok
}

// CheckTopics names everything that is wrong with a list of topics, at once: one
// without a name or twice, without a drill, or with a drill that Check refuses.
func CheckTopics(topics []Topic) error {
	var wrong []error
	seen := map[string]bool{}
	for _, t := range topics {
		switch {
		case t.ID == "":
			wrong = append(wrong, ErrNoTopic)
			continue
		case seen[t.ID]:
			wrong = append(wrong, fmt.Errorf("%s: %w", t.ID, ErrTopicSeen))
		case len(t.Cards) == 0:
			wrong = append(wrong, fmt.Errorf("%s: %w", t.ID, ErrNoCard))
		}
		seen[t.ID] = true
		for _, kind := range slices.Sorted(maps.Keys(t.Cards)) {
			drill, _ := t.Drill(kind)
			wrong = append(wrong, drill.Check())
		}
	}
	return errors.Join(wrong...)
}
