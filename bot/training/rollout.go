package training

import "slices"

// Crew is a rig's crew of one platoon: what learns a tool together.
type Crew struct {
	Unit    string `json:"unit"`
	Platoon string `json:"platoon"`
}

// RollOutStep is one step of a roll-out, as the journal keeps it.
type RollOutStep struct {
	What   RollOutWhat `json:"what"`
	Item   string      `json:"item"`
	Crew   Crew        `json:"crew,omitzero"`    // hands on
	Member string      `json:"member,omitempty"` // hands on
}

// RollOutWhat names a step.
type RollOutWhat string

// The steps of a roll-out.
const (
	Started  RollOutWhat = "started"  // from now on only crews that had it use it
	HandsOn  RollOutWhat = "hands on" // a member has had it in hand and done the task
	Finished RollOutWhat = "finished" // everybody may use it
)

// RollOut is a new tool on its way through the crews.
type RollOut struct {
	Item    string
	Members []string // who had hands on it, in the order they said so
	Crews   []Crew   // theirs
}

// RollOuts folds steps, oldest first, into the roll-outs that are not finished.
func RollOuts(steps []RollOutStep) []RollOut {
	var open []RollOut
	for _, s := range steps {
		at := slices.IndexFunc(open, func(r RollOut) bool { return r.Item == s.Item })
		switch {
		case s.What == Started && at < 0:
			open = append(open, RollOut{Item: s.Item})
		case at < 0:
		case s.What == Finished:
			open = slices.Delete(open, at, at+1)
		case s.What == HandsOn:
			r := &open[at]
			if !slices.Contains(r.Members, s.Member) {
				r.Members = append(r.Members, s.Member)
			}
			if !slices.Contains(r.Crews, s.Crew) {
				r.Crews = append(r.Crews, s.Crew)
			}
		}
	}
	return open
}

// Held says whether a tool has to wait for a crew: it is being rolled out, and
// nobody of the crew has had hands on it. A crew that nobody knows has had none.
func Held(open []RollOut, item string, crew Crew) bool {
	return slices.ContainsFunc(open, func(r RollOut) bool { return r.Item == item && !slices.Contains(r.Crews, crew) })
}
