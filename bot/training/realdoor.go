package training

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"kitbell/bot/door"
)

// AfterUse is what a record of use tells of a door. The second half says whose
// door it was, and never leaves it.
type AfterUse struct {
	Facts    door.Facts
	Way      string // that opened it
	Tries    int
	Mark     string // none, scuff, scar, hardware or door
	Opened   bool
	Practice bool

	Crew              Crew
	Member            string
	At                time.Time
	Call, Incident    string
	Ordered, Left     string // on whose order, and how it was secured
	Note              string
	Photos            []string
	Station, District string
}

// RealDoor is a door that a crew met, stripped of place and people: facts from the
// model's own words, ways from the department's cards, a count and a word. There
// is no free text in it and no time.
type RealDoor struct {
	Facts  door.Facts `json:"facts"`
	Failed []string   `json:"failed,omitempty"` // what did not open it
	Way    string     `json:"way"`              // what did
	Tries  int        `json:"tries,omitempty"`
	Mark   string     `json:"mark,omitempty"`
}

// marks are the words for what an entry leaves.
func marks() []string { return []string{"none", "scuff", "scar", "hardware", "door"} }

// Anonymous strips a record. known says which ways stand on cards that every crew
// has: a card of one station's own might be named after a place, so other ways are
// left out, and a door that opened by one is refused (ErrUnknownWay). So are
// practice, a door that did not open, one that nothing is known of, and facts with
// values that are none. Whether what is left still tells which door it was is for
// the lead to judge before others see it.
func Anonymous(u AfterUse, known func(way string) bool) (RealDoor, error) {
	switch {
	case u.Practice:
		return RealDoor{}, ErrNotReal
	case !u.Opened:
		return RealDoor{}, ErrNotOpened
	case !known(u.Way):
		return RealDoor{}, ErrUnknownWay
	case u.Tries < 0:
		return RealDoor{}, ErrMeasure
	}
	if err := u.Facts.Validate(); err != nil {
		return RealDoor{}, fmt.Errorf("strip a record of use: %w", err)
	}
	if f := plainFacts(u.Facts); f.Value(door.FactSwing) == "" && f.Value(door.FactLock) == "" {
		return RealDoor{}, ErrNoDoor
	}
	d := RealDoor{Facts: plainFacts(u.Facts), Way: u.Way, Tries: u.Tries}
	for _, way := range u.Facts.Failed {
		if known(way) && way != u.Way {
			d.Failed = addOnce(d.Failed, way)
		}
	}
	if slices.Contains(marks(), u.Mark) {
		d.Mark = u.Mark
	}
	return d, nil
}

// CannotBe is the rule by which the way that opened a door cannot be at it, the
// preparation before it counted in; "" when none speaks against it. plan is of that
// door with a complete kit. Such a record has the door or the way wrong, and would
// teach the others what cannot work. A tool that is not there is no such rule.
func (d RealDoor) CannotBe(plan door.Plan) (why string) {
	technique, before, _ := strings.Cut(d.Way, "/")
	for _, out := range plan.RuledOut {
		if len(out.Missing) == 0 && (out.Technique == technique || out.Technique == before) {
			return out.Why
		}
	}
	return ""
}

// DoorStep is one step of a real door on its way to the other platoons, as the
// journal keeps it.
type DoorStep struct {
	Key  string    `json:"key"`
	What DoorWhat  `json:"what"`
	Door RealDoor  `json:"door,omitzero"`  // proposed
	From string    `json:"from,omitempty"` // proposed: the platoon whose it was; never shown
	By   string    `json:"by"`
	At   time.Time `json:"at"`
}

// DoorWhat names a step.
type DoorWhat string

// The steps of a real door. Nothing is shown to anybody before it is approved.
const (
	DoorProposed DoorWhat = "proposed"
	DoorApproved DoorWhat = "approved" // by the lead
	DoorDeclined DoorWhat = "declined"
)

// SharedDoor is a real door that the lead has approved.
type SharedDoor struct {
	Key      string
	Door     RealDoor
	From     string
	Approved DoorStep
}

// SharedDoors folds steps, oldest first, into the doors that were approved and not
// declined since.
func SharedDoors(steps []DoorStep) []SharedDoor {
	proposed := map[string]DoorStep{}
	var shared []SharedDoor
	for _, s := range steps {
		at := slices.IndexFunc(shared, func(d SharedDoor) bool { return d.Key == s.Key })
		switch was, known := proposed[s.Key]; {
		case s.What == DoorProposed && !known:
			proposed[s.Key] = s
		case s.What == DoorApproved && known && at < 0:
			shared = append(shared, SharedDoor{Key: s.Key, Door: was.Door, From: was.From, Approved: s})
		case s.What == DoorDeclined && at >= 0:
			shared = slices.Delete(shared, at, at+1)
		}
	}
	return shared
}

// For lists the platoons that are to meet the door in a drill: all but the one
// whose it was.
func (d SharedDoor) For(platoons []string) []string {
	return slices.DeleteFunc(slices.Clone(platoons), func(p string) bool { return p == d.From })
}

// Here is how a way did in the department's own records.
type Here struct{ Opened, Of int }

// WayHere is one way, and how it did.
type WayHere struct {
	Way string
	Here
}

// HowOften counts what was tried on real calls at doors like one: what a reveal
// says of "how often here". A door is like another when it swings and locks as the
// other does, as far as that is known of the other. The way that opened most comes
// first. Practice and withdrawn records do not count.
func HowOften(records []door.Record, at door.Facts) []WayHere {
	var ways []WayHere
	for _, r := range records {
		if r.Practice || r.Withdrawn || !like(r.Facts, at) {
			continue
		}
		i := slices.IndexFunc(ways, func(w WayHere) bool { return w.Way == r.Way })
		if i < 0 {
			i, ways = len(ways), append(ways, WayHere{Way: r.Way})
		}
		ways[i].Of++
		if r.Opened {
			ways[i].Opened++
		}
	}
	slices.SortFunc(ways, func(a, b WayHere) int {
		return cmp.Or(cmp.Compare(b.Opened, a.Opened), cmp.Compare(a.Of, b.Of), cmp.Compare(a.Way, b.Way))
	})
	return ways
}

// like says whether a door is of the kind of another.
func like(one, other door.Facts) bool {
	for _, fact := range []door.Fact{door.FactSwing, door.FactLock} {
		if v := other.Value(fact); v != "" && one.Value(fact) != v {
			return false
		}
	}
	return true
}
