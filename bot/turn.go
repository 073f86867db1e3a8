package bot

import (
	"encoding/json"
	"time"
)

// Change is one write that a command asks for. The domain packages define the
// concrete types (a queue line, a check, a record of use); the store knows how
// to write each of them. A Change is data: it can be made, compared and tested
// without a store.
type Change interface {
	// Record says what the audit keeps of the change. It does no I/O.
	Record() Record
}

// Record is the audit's view of a change: what was done to what. Old and New
// are the text before and after; the audit row itself keeps only a salted
// digest of them, and the text beside it can be blanked.
type Record struct {
	Verb    string // such as line-opened
	Subject string // such as line:41
	Old     string
	New     string
}

// Talk is what a conversation remembers between two messages. State is the
// command package's own; the store keeps it as it is.
type Talk struct {
	Department string
	Key        string // Event.Conversation
	State      json.RawMessage
	Expires    time.Time
}

// Turn is everything that handling one event, or one due moment of the
// schedule, writes. It is applied in one transaction: the changes with their
// audit rows, the posts to the outbox, the conversation's state, and the event
// marked as handled with its text blanked.
type Turn struct {
	Department string
	EventID    string // the inbox row that is now handled; empty for the schedule
	Platform   string // the event's platform, which its id belongs to
	Actor      string // member id, or the schedule's entry id
	At         time.Time
	Changes    []Change
	Posts      []Outgoing
	Talk       *Talk
	Forget     bool // nothing came of the event: no row of it stays
}
