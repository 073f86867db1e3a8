package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"kitbell/bot"
)

const (
	insertEvent = `
INSERT INTO inbox (department, platform, event, kind, at, speaker, address, words, received_at)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)
ON CONFLICT (department, platform, event) DO NOTHING`

	selectNewEvents = `
SELECT department, event, kind, at, speaker, address, words FROM inbox WHERE state = 'new' ORDER BY id`

	selectLastReceived = `SELECT received_at FROM inbox WHERE id = (SELECT max(id) FROM inbox)`

	// The last of one platform is near the end, unless nobody talks there.
	selectLastReceivedOn = `SELECT received_at FROM inbox WHERE platform = $1 ORDER BY id DESC LIMIT 1`

	selectEventState = `
SELECT state FROM inbox WHERE department = $1 AND platform = $2 AND event = $3`

	updateEventHandled = `
UPDATE inbox SET state = 'handled', words = '', done_at = $4
WHERE department = $1 AND platform = $2 AND event = $3 AND state <> 'handled'`

	deleteEvent = `
DELETE FROM inbox WHERE department = $1 AND platform = $2 AND event = $3 AND state <> 'handled'`

	updateEventFailed = `
UPDATE inbox SET state = 'failed', reference = $4, done_at = $5
WHERE department = $1 AND platform = $2 AND event = $3 AND state = 'new'`
)

// words is the part of an event that is what the person wrote, kept apart so
// that it can be emptied.
type words struct {
	Direct bool              `json:"direct,omitempty"`
	Text   string            `json:"text,omitempty"`
	Press  string            `json:"press,omitempty"`
	Form   string            `json:"form,omitempty"`
	Values map[string]string `json:"values,omitempty"`

	About   string     `json:"about,omitempty"`
	On      string     `json:"on,omitempty"`
	Files   []bot.File `json:"files,omitempty"`
	Outside bool       `json:"outside,omitempty"`
}

func wordsOf(e bot.Event) words {
	return words{e.Direct, e.Text, e.Press, e.Form, e.Values, e.About, e.On, e.Files, e.Outside}
}

// into gives an event back what was kept apart.
func (w words) into(e *bot.Event) {
	e.Direct, e.Text, e.Press, e.Form, e.Values = w.Direct, w.Text, w.Press, w.Form, w.Values
	e.About, e.On, e.Files, e.Outside = w.About, w.On, w.Files, w.Outside
}

// Receive stores an event and returns when it is on the disk. fresh is false,
// and nothing is stored, when the same event (by department, platform and id) is
// there already. Any goroutine; blocks for the disk.
func (db *DB) Receive(ctx context.Context, e bot.Event) (fresh bool, err error) {
	speaker, err := json.Marshal(e.From)
	if err != nil {
		return false, fmt.Errorf("encode speaker of event %s: %w", e.ID, err)
	}
	address, err := json.Marshal(e.Where)
	if err != nil {
		return false, fmt.Errorf("encode address of event %s: %w", e.ID, err)
	}
	said, err := json.Marshal(wordsOf(e))
	if err != nil {
		return false, fmt.Errorf("encode words of event %s: %w", e.ID, err)
	}
	now := nanos(db.options.Clock.Now())
	err = db.write(ctx, e.Department, func(s *session) error {
		added, err := s.exec(insertEvent, e.Department, e.Where.Platform, e.ID, string(e.Kind), nanos(e.At),
			string(speaker), string(address), string(said), now)
		fresh = added == 1
		return err
	})
	if err != nil {
		return false, fmt.Errorf("receive event %s: %w", e.ID, err)
	}
	return fresh, nil
}

// Unhandled gives the events that were received and neither handled nor failed,
// oldest first: at start they are what the last run left undone.
func (db *DB) Unhandled(ctx context.Context) ([]bot.Event, error) {
	rows, err := db.reads.query(ctx, selectNewEvents)
	events, err := collect(rows, err, scanEvent)
	if err != nil {
		return nil, fmt.Errorf("read unhandled events: %w", err)
	}
	return events, nil
}

// LastReceived is when the last event came in that is still known of, whatever
// became of it; the zero time when there is none.
func (db *DB) LastReceived(ctx context.Context) (time.Time, error) {
	var at int64
	ok, err := db.reads.row(ctx, selectLastReceived, nil, &at)
	if err != nil || !ok {
		return time.Time{}, err
	}
	return moment(at), nil
}

// LastReceivedOn is LastReceived of one platform.
func (db *DB) LastReceivedOn(ctx context.Context, platform string) (time.Time, error) {
	var at int64
	ok, err := db.reads.row(ctx, selectLastReceivedOn, []any{platform}, &at)
	if err != nil || !ok {
		return time.Time{}, err
	}
	return moment(at), nil
}

func scanEvent(row rowScanner) (bot.Event, error) {
	var e bot.Event
	var at int64
	var speaker, address, said []byte
	if err := row.Scan(&e.Department, &e.ID, &e.Kind, &at, &speaker, &address, &said); err != nil {
		return bot.Event{}, err
	}
	e.At = moment(at)
	var w words
	for _, part := range []struct {
		raw  []byte
		into any
	}{{speaker, &e.From}, {address, &e.Where}, {said, &w}} {
		if err := json.Unmarshal(part.raw, part.into); err != nil {
			return bot.Event{}, fmt.Errorf("decode event %s: %w", e.ID, err)
		}
	}
	w.into(&e)
	return e, nil
}

// Fail marks an event as one that could not be handled. reference is what the
// person was told and the log shows. The words stay, so that the fault can be
// found; they go with the inbox's retention. An event that is not new stays as
// it is.
func (db *DB) Fail(ctx context.Context, e bot.Event, reference string) error {
	now := nanos(db.options.Clock.Now())
	err := db.write(ctx, e.Department, func(s *session) error {
		return s.send(updateEventFailed, e.Department, e.Where.Platform, e.ID, reference, now)
	})
	if err != nil {
		return fmt.Errorf("mark event %s as failed: %w", e.ID, err)
	}
	return nil
}

// errNotNew says that a turn's event does not wait to be handled.
var errNotNew = errors.New("event is not new")

// finish marks a turn's event as handled and blanks what the person wrote, or
// removes it when nothing came of it. errNotNew undoes the turn.
func finish(s *session, t bot.Turn) error {
	switch {
	case t.EventID == "":
		return nil
	case t.Forget:
		return s.touch(errNotNew, deleteEvent, t.Department, t.Platform, t.EventID)
	}
	return s.touch(errNotNew, updateEventHandled, t.Department, t.Platform, t.EventID, nanos(t.At))
}

// whyNotNew says why a turn's event did not wait to be handled: nil when it was
// handled before.
func (db *DB) whyNotNew(ctx context.Context, t bot.Turn) error {
	var state string
	ok, err := db.reads.row(ctx, selectEventState, []any{t.Department, t.Platform, t.EventID}, &state)
	if err != nil {
		return fmt.Errorf("read event: %w", err)
	}
	if !ok {
		return fmt.Errorf("event was never received: %w", bot.ErrNotFound)
	}
	return nil
}
