package bot

import (
	"encoding/json"
	"fmt"
	"time"
)

// Entry is one dated record in a department's journal: a check, a use, a wish,
// a question nobody could answer. Entries are only ever added; a wrong one is
// withdrawn, and whatever is counted from the journal then follows exactly,
// because counts are folded when they are read and never stored.
type Entry struct {
	ID        int64           `json:"id"`   // 0 until the store has given one
	Kind      string          `json:"kind"` // the domain package's word: check, use, wish, unanswered, riding
	Subject   string          `json:"subject"`
	Person    string          `json:"person,omitempty"` // member id
	At        time.Time       `json:"at"`
	Event     string          `json:"event,omitempty"` // the event that wrote it
	Body      json.RawMessage `json:"body"`
	Withdrawn *time.Time      `json:"withdrawn,omitempty"`
}

// JournalMark names a state of the entries of one kind in a department's
// journal. Entries are only added and withdrawn, and a new one has the highest
// id, so two states with the same mark are one.
type JournalMark struct {
	Entries int   // that count: not withdrawn
	Last    int64 // highest id among them; 0 for none
}

// NewEntry makes an entry with body as its JSON. A body that cannot be encoded
// is a mistake in the program, so it panics.
func NewEntry(kind, subject, person string, at time.Time, body any) Entry {
	raw, err := json.Marshal(body)
	if err != nil {
		panic(fmt.Sprintf("encode %s entry: %v", kind, err))
	}
	return Entry{Kind: kind, Subject: subject, Person: person, At: at, Body: raw}
}

// Written is the change that adds an entry to the journal.
type Written struct{ Entry Entry }

// Record is the audit's view.
func (w Written) Record() Record {
	return Record{Verb: w.Entry.Kind + "-written", Subject: w.Entry.Subject, New: string(w.Entry.Body)}
}

// Withdrawn is the change that takes an entry of the journal back. The entry
// stays where it is and no longer counts. A second withdrawal is ErrConflict.
type Withdrawn struct {
	Entry Entry
	At    time.Time
}

// Record is the audit's view.
func (w Withdrawn) Record() Record {
	return Record{Verb: w.Entry.Kind + "-withdrawn", Subject: w.Entry.Subject, Old: string(w.Entry.Body)}
}
