package kit

import "time"

// Condition says what is wrong with an item.
type Condition string

// The conditions of a report. Resolved is not wrong at all: it closes an older
// line.
const (
	Missing  Condition = "missing" // gone, or a consumable that is used up
	Damaged  Condition = "damaged"
	Worn     Condition = "worn"
	Dirty    Condition = "dirty"
	Low      Condition = "low" // some left; the count is how many are short
	Expired  Condition = "expired"
	Wrong    Condition = "wrong" // something else is in its place
	Extra    Condition = "extra"
	Resolved Condition = "resolved"
)

// Conditions lists every condition that a report can carry.
func Conditions() []Condition {
	return []Condition{Missing, Damaged, Worn, Dirty, Low, Expired, Wrong, Extra, Resolved}
}

// State is how far a queue line has come.
type State string

// The states of a line. BackInKit and NotAFault close it.
const (
	Reported  State = "reported"
	Taken     State = "taken"
	Ordered   State = "ordered"
	InHand    State = "in hand"
	Dropped   State = "dropped off" // at the station; the crew has not put it in the kit yet
	BackInKit State = "back in the kit"
	NotAFault State = "not a fault"
)

// States lists every state, in the order in which a line goes through them.
func States() []State {
	return []State{Reported, Taken, Ordered, InHand, Dropped, BackInKit, NotAFault}
}

// Open says whether somebody still has to do something about the line.
func (s State) Open() bool { return s != BackInKit && s != NotAFault }

// Line is one line of the department's queue: an item of one kit that somebody
// reported. Number is unique in the department and never used again. Version
// rises with every change; a button or a command that saw an older version
// decides again.
type Line struct {
	Number    int
	Kit       string
	Unit      string // the rig that carried the kit when the line was opened
	Item      string
	Condition Condition
	Count     int
	State     State
	By        string // member who reported it first
	Platoon   string // that member's platoon, when known
	Note      string // words that came with the last step that had any, blanked by retention
	Reports   int    // how often it was reported while open
	OpenedAt  time.Time
	ChangedAt time.Time
	Version   int

	StateAt  time.Time  // since when it is in its state
	Order    string     // the supplier's order number
	Expected time.Time  // day on which it should come; zero when nobody said
	Received int        // pieces of Count that have come so far
	Paid     int64      // for what has come, in cents of the department's currency
	Where    Whereabout // where a missing thing went
	Fetch    string     // who fetches it
	FetchBy  time.Time  // until when; zero when nobody said
}

// Whereabout says where a missing thing went, as far as the crew knows.
type Whereabout string

// The whereabouts. The zero value was not asked yet. WrittenOff is an officer's word.
const (
	OnScene    Whereabout = "left on scene"
	OtherRig   Whereabout = "on another rig"
	BrokenUp   Whereabout = "broken up"
	NotKnown   Whereabout = "not known"
	WrittenOff Whereabout = "written off"
)

// Whereabouts lists what a crew can say of a missing thing.
func Whereabouts() []Whereabout { return []Whereabout{OnScene, OtherRig, BrokenUp, NotKnown} }

// Report is one thing somebody says is wrong.
type Report struct {
	Kit       string
	Unit      string
	Item      string
	Condition Condition
	Count     int
	By        string
	Platoon   string
	At        time.Time
	Note      string // what the sender added, empty for nothing
}
