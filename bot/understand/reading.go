package understand

import (
	"kitbell/bot/door"
	"kitbell/bot/kit"
)

// Intent is what the reply to a message acts on.
type Intent string

// The intents. None is a message that asks for nothing of ours.
const (
	Ask      Intent = "ask"
	Door     Intent = "door"
	Report   Intent = "report"
	Resolved Intent = "resolved"
	Check    Intent = "check"
	Used     Intent = "used"
	Queue    Intent = "queue"
	Drill    Intent = "drill"
	Duty     Intent = "duty"
	Budget   Intent = "budget"
	Wish     Intent = "wish"
	Move     Intent = "move"
	Lend     Intent = "lend"
	Seal     Intent = "seal"
	Restock  Intent = "restock"
	StopUse  Intent = "stop-use"
	SignOff  Intent = "sign-off"
	RollOut  Intent = "roll-out"
	Riding   Intent = "riding"
	Handover Intent = "handover"
	Kit      Intent = "kit"
	Undo     Intent = "undo"
	Records  Intent = "records"
	Help     Intent = "help"
	None     Intent = "none"
)

// Intents lists every intent in the order of their constants.
func Intents() []Intent {
	return []Intent{
		Ask, Door, Report, Resolved, Check, Used, Queue, Drill, Duty, Budget, Wish, Move, Lend, Seal,
		Restock, StopUse, SignOff, RollOut, Riding, Handover, Kit, Undo, Records, Help, None,
	}
}

// AskUnit, AskItem and AskCondition are what a reading can be short of besides
// the names of door facts.
const (
	AskUnit      = "unit"
	AskItem      = "item"
	AskCondition = "condition"
)

// Line is one thing that somebody says about one item of one kit. Unit and Item
// are empty while they have to be asked for.
type Line struct {
	Unit      string        `json:"unit"`
	Item      string        `json:"item"`
	Condition kit.Condition `json:"condition"`
	Count     int           `json:"count"` // pieces concerned; for low, how many are short
}

// Question is one thing the message left open.
type Question struct {
	About      string   // AskUnit, AskItem, AskCondition or the name of a door fact
	Candidates []string // unit ids, item ids or values that remain possible, likeliest first; empty for "any"
}

// Use is what the message says about a technique that was tried. Empty fields
// were not said.
type Use struct {
	Technique string   // technique card id
	Items     []string // tools named
	Tries     int      // on which try it worked, or how many there were
	Outcome   Outcome
	Mark      string // none, scuff, scar, hardware, door
	Practice  bool   // a drill, not a call
	Call      string // lift-assist, welfare-check, alarm-sounding, water-leak, locked-out, guest-room, fire
	Left      string // how the opening was left: relatched, boarded, guarded, police, keyholder, owner
}

// Empty says whether nothing was said of how it went.
func (u Use) Empty() bool {
	return u.Technique == "" && len(u.Items) == 0 && u.Tries == 0 && u.Outcome == "" && u.Mark == "" && u.Left == ""
}

// Outcome says whether an attempt opened the door.
type Outcome string

// The outcomes of an attempt, and a word for a person who is found in trouble
// while the crew is still outside.
const (
	Opened Outcome = "opened"
	NotYet Outcome = "not yet"
)

// Hazard is a danger at a door that a plan does not know: others than the crew
// make it safe first.
type Hazard string

// The hazards.
const (
	Violence  Hazard = "violence"   // a weapon, a hostage, shots
	LiveWires Hazard = "live-wires" // power lines down, metal that may be live
)

// SealState says whether a seal's tag is whole.
type SealState string

// What can be said of a seal; the empty state says nothing, or leaves doubt.
const (
	SealIntact SealState = "intact"
	SealBroken SealState = "broken"
)

// Reading is what a message means. Every part is filled whatever the intent:
// the intent is what the reply acts on, Also what else was found.
type Reading struct {
	Intent Intent
	Also   []Intent
	Voted  bool // no rule found the intent: the message is only like others of its kind

	Lines   []Line   // complete lines only; what is incomplete is in Pending
	Pending *Pending // what an answer to AskBack will complete, nil when nothing is open
	AskBack []Question

	Unit        string   // the rig named; for a report or a check without one, the speaker's
	UnknownUnit string   // a rig that is named but does not exist, as it was written
	UnitNamed   bool     // the message itself names the rig
	Units       []string // every rig named, in order of mention
	Station     string   // station id, when the message names a station
	Items       []string // every item named beyond doubt, in order of mention

	Doubted  []string   // door facts that were said two ways, or only wondered about
	DoorSaid bool       // the message says something about a door
	Door     door.Facts // only what was said or plainly follows; failed techniques too
	Outcome  Outcome    // what became of the running door, when that was said
	Hazards  []Hazard   // what makes the door somebody else's first
	Fine     bool       // nobody is in danger, or not any more
	Down     bool       // somebody is down or fire shows: forcing comes first

	Use       Use
	Check     kit.CheckResult // what a check answer says; empty when it does not say what was found
	Step      LineStep        // what is said to have been done with lines of the queue
	Numbers   []int           // line numbers ("line 41", "#41")
	Seal      string          // number of a seal tag
	SealState SealState       // what is said of the tag itself
	Lot       string          // lot or batch number
	Order     string          // order number
	Days      []string        // day words: today, tomorrow, friday, 2026-11-24
	Platoons  []string        // platoons named: A, B, C
	WishFor   string          // what a wish is for, in the sender's words
	Reason    string          // what follows "because", in the sender's words
	Asked     string          // the part of the message that asks, where it does more than ask
	Lean      Lean            // how the message leans on the one before it
	OffKit    string          // equipment named that is on somebody else's desk: saw, radio

	foundIt bool // the message says that something older is settled
}

// Asks says whether the reading has an open question about a thing.
func (r Reading) Asks(about string) bool {
	for _, q := range r.AskBack {
		if q.About == about {
			return true
		}
	}
	return false
}

// Has says whether the message carries the intent, first or among others.
func (r Reading) Has(i Intent) bool {
	if r.Intent == i {
		return true
	}
	for _, also := range r.Also {
		if also == i {
			return true
		}
	}
	return false
}

// Pending is a report that waits for an answer. It is data: the command keeps it
// in the conversation's state and hands it back in Memory.
type Pending struct {
	Intent Intent        `json:"intent"`
	Lines  []PartialLine `json:"lines,omitempty"`
}

// PartialLine is a line of which something is not known yet: an empty Unit,
// Items with more than one candidate, an empty Condition.
type PartialLine struct {
	Unit      string        `json:"unit,omitempty"`
	Units     []string      `json:"units,omitempty"` // candidates while Unit is open
	Items     []string      `json:"items,omitempty"`
	Condition kit.Condition `json:"condition,omitempty"`
	Count     int           `json:"count"`
}

// Memory is what the conversation still knows from the messages before.
type Memory struct {
	Pending *Pending    `json:"pending,omitempty"` // what the last answer asked about
	Last    []Line      `json:"last,omitempty"`    // lines of the last report: "ignore my last", "found it"
	Door    *door.Facts `json:"door,omitempty"`    // a door that is being worked on
}

// Context is what is known about the message besides its text. The zero value
// is an anonymous member without a unit.
type Context struct {
	Unit    string // rig the sender rides today, empty when nobody knows
	Platoon string
	Station string // station id of the sender or the channel
	Memory  Memory
}

// ItemName is one thing that crews have words for: from a tool card, from the
// department's own items, or both.
type ItemName struct {
	ID      string
	Title   string
	Aliases []string
}
