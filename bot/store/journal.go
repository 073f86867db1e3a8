package store

import (
	"context"
	"fmt"
	"time"

	"kitbell/bot"
)

const entryColumns = `id, kind, subject, person, at, event, body, withdrawn_at`

const (
	insertEntry = `
INSERT INTO journal (department, kind, subject, person, at, event, body) VALUES ($1, $2, $3, $4, $5, $6, $7)`

	updateEntryWithdrawn = `
UPDATE journal SET withdrawn_at = $3 WHERE department = $1 AND id = $2 AND withdrawn_at = 0`

	selectEntry = `SELECT ` + entryColumns + ` FROM journal WHERE department = $1 AND id = $2`

	selectEntriesOfKind = `
SELECT ` + entryColumns + ` FROM journal
WHERE department = $1 AND kind = $2 AND at >= $3 AND withdrawn_at = 0 ORDER BY at, id`

	selectEntriesOfSubject = `
SELECT ` + entryColumns + ` FROM journal
WHERE department = $1 AND kind = $2 AND subject = $3 AND at >= $4 AND withdrawn_at = 0 ORDER BY at, id`

	selectMark = `
SELECT count(*), coalesce(max(id), 0) FROM journal WHERE department = $1 AND kind = $2 AND withdrawn_at = 0`

	selectEntriesOfEvent = `
SELECT ` + entryColumns + ` FROM journal
WHERE department = $1 AND event >= $2 AND event < $4 AND (event = $2 OR event > $3) AND withdrawn_at = 0 ORDER BY id`

	selectLatestEntry = `
SELECT ` + entryColumns + ` FROM journal
WHERE department = $1 AND kind = $2 AND subject = $3 AND withdrawn_at = 0 ORDER BY at DESC, id DESC LIMIT 1`
)

// Entries gives the journal's entries of a kind at since or later that were not
// withdrawn, oldest first. An empty subject is every subject.
func (db *DB) Entries(ctx context.Context, department, kind, subject string, since time.Time) ([]bot.Entry, error) {
	query, args := selectEntriesOfKind, []any{department, kind, nanos(since)}
	if subject != "" {
		query, args = selectEntriesOfSubject, []any{department, kind, subject, nanos(since)}
	}
	rows, err := db.reads.query(ctx, query, args...)
	entries, err := collect(rows, err, scanEntry)
	if err != nil {
		return nil, fmt.Errorf("read %s entries: %w", kind, err)
	}
	return entries, nil
}

// Mark names the state of a department's entries of a kind.
func (db *DB) Mark(ctx context.Context, department, kind string) (bot.JournalMark, error) {
	rows, err := db.reads.query(ctx, selectMark, department, kind)
	marks, err := collect(rows, err, scanMark)
	if err != nil {
		return bot.JournalMark{}, fmt.Errorf("read mark of %s entries: %w", kind, err)
	}
	return marks[0], nil
}

// Latest gives the latest entry of a kind about a subject that was not
// withdrawn; ok is false when there is none.
func (db *DB) Latest(ctx context.Context, department, kind, subject string) (entry bot.Entry, ok bool, err error) {
	rows, err := db.reads.query(ctx, selectLatestEntry, department, kind, subject)
	entries, err := collect(rows, err, scanEntry)
	if err != nil {
		return bot.Entry{}, false, fmt.Errorf("read latest %s entry: %w", kind, err)
	}
	if len(entries) == 0 {
		return bot.Entry{}, false, nil
	}
	return entries[0], true, nil
}

// Entry gives one entry, withdrawn or not; bot.ErrNotFound when there is none.
func (db *DB) Entry(ctx context.Context, department string, id int64) (bot.Entry, error) {
	rows, err := db.reads.query(ctx, selectEntry, department, id)
	entries, err := collect(rows, err, scanEntry)
	if err != nil {
		return bot.Entry{}, fmt.Errorf("read entry %d: %w", id, err)
	}
	if len(entries) == 0 {
		return bot.Entry{}, fmt.Errorf("entry %d: %w", id, bot.ErrNotFound)
	}
	return entries[0], nil
}

func writeEntry(s *session, t bot.Turn, e bot.Entry) error {
	if e.Event == "" {
		e.Event = t.EventID
	}
	return s.send(insertEntry, t.Department, e.Kind, e.Subject, e.Person, nanos(e.At), e.Event, string(e.Body))
}

func withdrawEntry(s *session, t bot.Turn, w bot.Withdrawn) error {
	return s.touch(bot.ErrConflict, updateEntryWithdrawn, t.Department, w.Entry.ID, nanos(w.At))
}

func scanMark(row rowScanner) (bot.JournalMark, error) {
	var m bot.JournalMark
	err := row.Scan(&m.Entries, &m.Last)
	return m, err
}

func scanEntry(row rowScanner) (bot.Entry, error) {
	var e bot.Entry
	var at, withdrawn int64
	var body string
	if err := row.Scan(&e.ID, &e.Kind, &e.Subject, &e.Person, &at, &e.Event, &body, &withdrawn); err != nil {
		return bot.Entry{}, err
	}
	e.At, e.Body = moment(at), []byte(body)
	if withdrawn != 0 {
		when := moment(withdrawn)
		e.Withdrawn = &when
	}
	return e, nil
}
