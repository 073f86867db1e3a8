package kit

import (
	"slices"
	"time"
)

// StopUseStep is one step of a stop-use, as the journal keeps it. Key names the
// stop-use that it belongs to.
type StopUseStep struct {
	Key    string      `json:"key"`
	What   StopUseWhat `json:"what"`
	Item   string      `json:"item,omitempty"`   // asked, called
	Lot    string      `json:"lot,omitempty"`    // asked, called: only this lot; empty is every one
	Kits   []string    `json:"kits,omitempty"`   // asked, called: only these kits; empty is all
	Reason string      `json:"reason,omitempty"` // asked, called: in the words of who asked
	Place  string      `json:"place,omitempty"`  // answered: what Places lists
	Count  int         `json:"count,omitempty"`  // answered: pieces pulled and tagged; 0 is none here
}

// StopUseWhat names a step.
type StopUseWhat string

// The steps of a stop-use. Asked binds nobody yet: the lead calls it.
const (
	StopAsked    StopUseWhat = "asked"
	StopCalled   StopUseWhat = "called"
	StopAnswered StopUseWhat = "answered"
	StopLifted   StopUseWhat = "lifted"
)

// StopUse is a tool, or a lot of it, that nobody may use until the lead lifts
// the word.
type StopUse struct {
	Key, Item, Lot, Reason string
	Kits                   []string
	By                     string // member who asked for it
	At                     time.Time
	Called                 bool
	Answers                map[string]int // pieces pulled and tagged, by place
}

// Reserve is the place of what lies in no kit and on no station's shelf.
const Reserve = "reserve"

// KitPlace and ShelfPlace name the places that have to answer.
func KitPlace(id string) string { return "kit/" + id }

// ShelfPlace names a station's shelf.
func ShelfPlace(station string) string { return "shelf/" + station }

// StopUses folds steps, oldest first, into the stop-uses that are not lifted. by
// gives who made a step, and when.
func StopUses(steps []StopUseStep, by func(i int) (string, time.Time)) []StopUse {
	var open []StopUse
	for i, s := range steps {
		at := slices.IndexFunc(open, func(u StopUse) bool { return u.Key == s.Key })
		switch {
		case s.What == StopAsked || s.What == StopCalled && at < 0:
			u := StopUse{Key: s.Key, Item: s.Item, Lot: s.Lot, Kits: s.Kits, Reason: s.Reason, Called: s.What == StopCalled, Answers: map[string]int{}}
			u.By, u.At = by(i)
			open = append(open, u)
		case at < 0:
		case s.What == StopCalled:
			open[at].Called = true
			_, open[at].At = by(i)
		case s.What == StopAnswered:
			open[at].Answers[s.Place] = s.Count
		case s.What == StopLifted:
			open = slices.Delete(open, at, at+1)
		}
	}
	return open
}

// Concerns says whether the stop-use is about a kit's pieces of an item. A lot
// that nobody has looked for yet may be in any kit.
func (u StopUse) Concerns(kitID, item string) bool {
	return u.Called && u.Item == item && (len(u.Kits) == 0 || slices.Contains(u.Kits, kitID))
}

// Left is how many of a kit's pieces may still be used: all when the kit
// answered that it has none of the lot, those that were not pulled when the
// stop-use is about a lot, and none before the kit has answered.
func (u StopUse) Left(kitID string, qty int) int {
	pulled, answered := u.Answers[KitPlace(kitID)]
	if !answered || u.Lot == "" {
		return 0
	}
	return max(0, qty-pulled)
}

// Unanswered lists the places that have not answered yet.
func (u StopUse) Unanswered(places []string) []string {
	return slices.DeleteFunc(slices.Clone(places), func(place string) bool {
		_, answered := u.Answers[place]
		return answered
	})
}
