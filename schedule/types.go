package schedule

import "time"

// Kind says what an entry makes due.
type Kind string

// What can be due.
const (
	CheckDue Kind = "check"  // look through the kit
	DrillDue Kind = "drill"  // a short practice
	Digest   Kind = "digest" // the lead's weekly summary; not for a unit

	// NewsDue is word of something that went on since, such as a queue line that
	// came back into the kit. No entry of the file makes it due.
	NewsDue Kind = "news"
)

// Kinds lists every kind that an entry can make due.
func Kinds() []Kind { return []Kind{CheckDue, DrillDue, Digest} }

// Entry is one cron entry of the department file: at each of its moments
// something becomes due for every unit in Units. An entry without units (a
// digest) becomes due once, for the department.
type Entry struct {
	ID    string
	Cron  Cron // the moments, as local time of Zone
	Kind  Kind
	Topic string   // card id or a word of the department's; may be empty
	Units []string // unit ids
	Zone  *time.Location
}

// Due is one thing that an entry made due for one unit. It waits until a crew's
// bundle carries it. Entry, Unit and Wall together are unique: the same moment
// cannot fall due twice.
type Due struct {
	ID      int64 // 0 until the store has given one
	Entry   string
	Unit    string // empty for the department as a whole
	Wall    string // Moment.Wall: 2026-11-23T09:00
	Kind    Kind
	Topic   string
	At      time.Time // the instant of the moment
	Late    bool      // the program was down at that instant: say so
	Platoon string    // the only platoon it is for; empty for whichever is on
	Missed  int       // earlier moments that this one stands for, after downtime
	Bundle  string    // key of the bundle that carried it; empty while it waits
}

// Cursor is how far an entry has come: the row that makes the loop durable.
// Next is in UTC; Spec and Zone are the ones Next was computed from, so that a
// changed department file is noticed.
type Cursor struct {
	Entry string
	Spec  string
	Zone  string // IANA name
	Next  time.Time
}
