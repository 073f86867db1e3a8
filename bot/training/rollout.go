package training

import (
	"errors"
	"fmt"
	"net/url"
	"slices"
)

// Crew is a rig's crew of one platoon: what learns a tool together.
type Crew struct {
	Unit    string `json:"unit"`
	Platoon string `json:"platoon"`
}

// RollOutStep is one step of a roll-out, as the journal keeps it.
type RollOutStep struct {
	What   RollOutWhat `json:"what"`
	Item   string      `json:"item"`
	About  RolledTool  `json:"about,omitzero"`   // started
	Crew   Crew        `json:"crew,omitzero"`    // hands on, confirmed
	Member string      `json:"member,omitempty"` // hands on, confirmed
	Away   Away        `json:"away,omitempty"`   // hands on: the member is, and the tap is theirs alone
	By     string      `json:"by,omitempty"`     // confirmed: the officer
}

// RolledTool is what the crews are told about a tool on its way to them.
type RolledTool struct {
	Link     string `json:"link,omitempty"`     // of a photo or clip; https
	Replaces string `json:"replaces,omitempty"` // item that goes out for it
	Card     string `json:"card,omitempty"`     // of the ten-minute task
	Task     string `json:"task,omitempty"`     // that task in the lead's words, where there are any
	Target   Task   `json:"target,omitzero"`    // of that task
}

// RollOutWhat names a step.
type RollOutWhat string

// The steps of a roll-out.
const (
	Started   RollOutWhat = "started"   // from now on only crews that had it use it
	HandsOn   RollOutWhat = "hands on"  // a member says that they had it in hand and did the task
	Confirmed RollOutWhat = "confirmed" // an officer confirms that a member did
	Finished  RollOutWhat = "finished"  // everybody may use it
)

// RollOut is a new tool on its way through the crews.
type RollOut struct {
	Item      string
	About     RolledTool
	Members   []string // who had hands on it, in the order they said so
	Crews     []Crew   // theirs, but for members who were away: on leave, on detail, on light duty
	Confirmed []string // of the members, those whom an officer confirmed
}

// What keeps a step of a roll-out from being made.
var (
	ErrNoItem    = errors.New("a roll-out is about a tool")
	ErrLink      = errors.New("a link to a photo or clip begins with https://")
	ErrReplaces  = errors.New("a tool does not replace itself")
	ErrNotYet    = errors.New("that tool is not being rolled out")
	ErrUnderWay  = errors.New("that tool is being rolled out already")
	ErrOwnWord   = errors.New("nobody confirms for themselves: another officer does")
	ErrNoOfficer = errors.New("an officer confirms, by name")
)

// CheckRollOut refuses a step that says nothing, that comes outside of a roll-out,
// or with which somebody confirms for themselves. Who is an officer is for the
// caller to know.
func CheckRollOut(open []RollOut, s RollOutStep) error {
	under := slices.ContainsFunc(open, func(r RollOut) bool { return r.Item == s.Item })
	switch {
	case s.Item == "":
		return ErrNoItem
	case !slices.Contains([]RollOutWhat{Started, HandsOn, Confirmed, Finished}, s.What):
		return ErrNoStep
	case s.What == Started && under:
		return fmt.Errorf("%s: %w", s.Item, ErrUnderWay)
	case s.What == Started:
		return s.About.check(s.Item)
	case !under:
		return fmt.Errorf("%s: %w", s.Item, ErrNotYet)
	case s.What != Finished && (s.Member == "" || s.Crew.Unit == "" || s.Crew.Platoon == ""):
		return ErrNoCrew
	case s.What == Confirmed && s.By == "":
		return ErrNoOfficer
	case s.What == Confirmed && s.By == s.Member:
		return ErrOwnWord
	}
	return nil
}

func (t RolledTool) check(item string) error {
	link, err := url.Parse(t.Link)
	switch {
	case t.Link != "" && (err != nil || link.Scheme != "https" || link.Host == ""):
		return ErrLink
	case t.Replaces == item:
		return ErrReplaces
	case !(t.Target.Minutes >= 0) || t.Target.Tries < 0:
		return ErrMeasure
	}
	return nil
}

// Coverage is how many of a roster had the tool in hand and were confirmed, and
// who is still to go.
func (r RollOut) Coverage(roster []Person) Coverage {
	return cover(roster,
		func(member string) bool { return slices.Contains(r.Confirmed, member) },
		func(member string) bool { return slices.Contains(r.Members, member) })
}

// RollOuts folds steps, oldest first, into the roll-outs that are not finished.
func RollOuts(steps []RollOutStep) []RollOut {
	var open []RollOut
	for _, s := range steps {
		at := slices.IndexFunc(open, func(r RollOut) bool { return r.Item == s.Item })
		switch {
		case s.What == Started && at < 0:
			open = append(open, RollOut{Item: s.Item, About: s.About})
		case at < 0:
		case s.What == Finished:
			open = slices.Delete(open, at, at+1)
		case s.What == HandsOn:
			open[at].had(s)
		case s.What == Confirmed:
			if !slices.Contains(open[at].Members, s.Member) { // an officer who saw it says as much as a tap
				open[at].had(s)
			}
			open[at].Confirmed = addOnce(open[at].Confirmed, s.Member)
		}
	}
	return open
}

// had counts a tap for the member and, where the member works with it, for the crew.
func (r *RollOut) had(s RollOutStep) {
	r.Members = addOnce(r.Members, s.Member)
	if s.Away == "" {
		r.Crews = addOnce(r.Crews, s.Crew)
	}
}

func addOnce[T comparable](list []T, one T) []T {
	if slices.Contains(list, one) {
		return list
	}
	return append(list, one)
}

// Held says whether a tool has to wait for a crew: it is being rolled out, and
// nobody of the crew has had hands on it. A crew that nobody knows has had none.
func Held(open []RollOut, item string, crew Crew) bool {
	return slices.ContainsFunc(open, func(r RollOut) bool { return r.Item == item && !slices.Contains(r.Crews, crew) })
}
