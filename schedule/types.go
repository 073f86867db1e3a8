package schedule

import "time"

// Rotation is a department's repeating pattern of platoons.
type Rotation struct {
	Pattern string         // one day's symbols from the first platoon's view, such as XXOOOO: X on duty, O off
	Offsets map[string]int // platoon → day of the pattern on which its tour begins, from Anchor
	Names   []string       // platoons in the department's order
	Anchor  time.Time      // local day on which the pattern begins
	Change  time.Duration  // local time of the change of tour after midnight
	Zone    *time.Location
}

// Tour is one platoon's unbroken time on duty. End is the instant of the change,
// when the next platoon has it.
type Tour struct {
	Platoon    string
	Start, End time.Time
}

// Kind says what an entry makes due.
type Kind string

// What can be due.
const (
	CheckDue Kind = "check"
	DrillDue Kind = "drill"
	Digest   Kind = "digest"
)

// Entry is one cron entry of the department file: at each of its moments
// something becomes due for every unit in Units.
type Entry struct {
	ID    string
	Spec  string // five cron fields, local time of the department
	Kind  Kind
	Topic string   // card id or a word of the department's; may be empty
	Units []string // unit ids
}

// Due is one thing that an entry made due for one unit. It waits until a crew's
// bundle carries it. Wall is the local wall time of the moment, which with the
// entry and the unit makes it unique.
type Due struct {
	ID     int64
	Entry  string
	Unit   string
	Wall   string // 2026-11-23T09:00
	Kind   Kind
	Topic  string
	At     time.Time
	Bundle string // key of the bundle that carried it; empty while it waits
}
