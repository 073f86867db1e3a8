package store

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"kitbell/bot"
	"kitbell/bot/deliver"
)

const (
	insertOutbox = `
INSERT INTO outbox (department, key, lane, message, created_at, changed_at) VALUES ($1, $2, $3, $4, $5, $5)
ON CONFLICT (department, key) DO NOTHING`

	// The first open message of every lane. The recursion hops from lane to
	// lane in the index, so a long lane costs no more than a short one. That the
	// message is open goes without saying, but PostgreSQL cannot know.
	fromHeads = `
WITH RECURSIVE lanes (lane) AS (
    SELECT min(lane) FROM outbox WHERE is_open = 1
    UNION ALL
    SELECT (SELECT min(o.lane) FROM outbox o WHERE o.is_open = 1 AND o.lane > lanes.lane) FROM lanes WHERE lanes.lane IS NOT NULL
)
SELECT o.id, o.department, o.message, o.tries, o.not_before
FROM lanes JOIN outbox o ON o.is_open = 1 AND o.id = (SELECT min(h.id) FROM outbox h WHERE h.is_open = 1 AND h.lane = lanes.lane)`

	selectHeads = fromHeads + `
WHERE o.state = 'waiting' ORDER BY o.not_before, o.id LIMIT $1`

	selectMoving = fromHeads + `
WHERE o.state = 'sending' OR o.not_before <= $1 LIMIT 1`

	selectSending = `
SELECT id, department, message, tries, not_before FROM outbox WHERE state = 'sending' ORDER BY id`

	updateSending = `
UPDATE outbox SET state = 'sending', changed_at = $2 WHERE id = $1 AND state = 'waiting'`

	updateSettled = `
UPDATE outbox SET state = $2, tries = $3, not_before = $4, ref = $5, last_error = $6, changed_at = $7
WHERE id = $1 AND state = 'sending'`

	selectBacklog = `
SELECT count(*), coalesce(min(created_at), 0) FROM outbox WHERE is_open = 1`

	selectSent = `SELECT ref FROM outbox WHERE department = $1 AND key = $2 AND state = 'sent'`
)

// furthestPause is further than any pause between two tries. A message that
// claims to wait longer than that was stored before the clock was set back, and
// is ready.
const furthestPause = 2 * deliver.LongestPause

// outboxRow is a post as it goes into the table.
type outboxRow struct{ key, lane, message string }

// encodePosts prepares posts for the table, outside the writer.
func encodePosts(posts []bot.Outgoing) ([]outboxRow, error) {
	rows := make([]outboxRow, 0, len(posts))
	for _, p := range posts {
		message, err := json.Marshal(p)
		if err != nil {
			return nil, fmt.Errorf("encode post %s: %w", p.Key, err)
		}
		rows = append(rows, outboxRow{key: p.Key, lane: p.To.Lane(), message: string(message)})
	}
	return rows, nil
}

// insertPost adds a post to its lane. A post whose key is there already is the
// same post and is not added again.
func insertPost(s *session, t bot.Turn, p outboxRow) error {
	if err := s.send(insertOutbox, t.Department, p.key, p.lane, p.message, nanos(t.At)); err != nil {
		return fmt.Errorf("add post %s: %w", p.key, err)
	}
	return nil
}

// Ready gives at most n messages that may be sent at now: of each lane only the
// first that is not settled, and none of a lane whose first is being sent. next
// is the moment when one more becomes ready; zero when none waits for a moment.
func (db *DB) Ready(ctx context.Context, now time.Time, n int) (ready []deliver.Item, next time.Time, err error) {
	rows, err := db.reads.query(ctx, selectHeads, n+1)
	heads, err := collect(rows, err, scanItem)
	if err != nil {
		return nil, time.Time{}, fmt.Errorf("read outbox: %w", err)
	}
	ready, next = readyAmong(heads, now, n)
	return ready, next, nil
}

// readyAmong gives those of the first messages of their lanes that may be sent at
// now, and when the next one may.
func readyAmong(heads []deliver.Item, now time.Time, n int) (ready []deliver.Item, next time.Time) {
	for _, h := range heads {
		if h.NotBefore.After(now) && h.NotBefore.Before(now.Add(furthestPause)) {
			return ready, h.NotBefore
		}
		if len(ready) < n {
			ready = append(ready, h)
		}
	}
	return ready, time.Time{}
}

// Interrupted gives the messages that were being sent when the last run ended,
// in order. Nobody knows whether they arrived.
func (db *DB) Interrupted(ctx context.Context) ([]deliver.Item, error) {
	rows, err := db.reads.query(ctx, selectSending)
	items, err := collect(rows, err, scanItem)
	if err != nil {
		return nil, fmt.Errorf("read interrupted messages: %w", err)
	}
	return items, nil
}

// Moving says whether a message is being sent or could be sent at now: false
// means that the outbox stands still until something is added or time passes.
func (db *DB) Moving(ctx context.Context, now time.Time) (bool, error) {
	rows, err := db.reads.query(ctx, selectMoving, nanos(now))
	items, err := collect(rows, err, scanItem)
	if err != nil {
		return false, fmt.Errorf("read outbox: %w", err)
	}
	return len(items) > 0, nil
}

// Backlog is how many messages wait to be sent or are being sent, and when the
// oldest of them was stored; the zero time when there is none.
func (db *DB) Backlog(ctx context.Context) (waiting int, oldest time.Time, err error) {
	var since int64
	if _, err := db.reads.row(ctx, selectBacklog, nil, &waiting, &since); err != nil {
		return 0, time.Time{}, fmt.Errorf("count outbox: %w", err)
	}
	return waiting, moment(since), nil
}

// MarkSending notes, durably, that a message is about to be sent. A message that
// does not wait any more is bot.ErrConflict.
func (db *DB) MarkSending(ctx context.Context, id int64) error {
	now := nanos(db.options.Clock.Now())
	err := db.write(ctx, noDepartment, func(s *session) error { return s.touch(bot.ErrConflict, updateSending, id, now) })
	if err != nil {
		return fmt.Errorf("mark message %d as being sent: %w", id, err)
	}
	return nil
}

// Settle notes, durably, how a try ended. A message that is not being sent is
// bot.ErrConflict.
func (db *DB) Settle(ctx context.Context, id int64, o deliver.Outcome) error {
	var ref []byte
	if o.State == deliver.Sent {
		var err error
		if ref, err = json.Marshal(o.Ref); err != nil {
			return fmt.Errorf("encode reference of message %d: %w", id, err)
		}
	}
	now := nanos(db.options.Clock.Now())
	err := db.write(ctx, noDepartment, func(s *session) error {
		return s.touch(bot.ErrConflict, updateSettled, id, string(o.State), o.Tries, nanos(o.NotBefore), string(ref), o.Reason, now)
	})
	if err != nil {
		return fmt.Errorf("settle message %d: %w", id, err)
	}
	return nil
}

// SentAs gives the platform's reference of a message that was sent, to edit it;
// bot.ErrNotFound while it is not sent.
func (db *DB) SentAs(ctx context.Context, department, key string) (bot.MessageRef, error) {
	var raw string
	ok, err := db.reads.row(ctx, selectSent, []any{department, key}, &raw)
	if err == nil && !ok {
		err = bot.ErrNotFound
	}
	var ref bot.MessageRef
	if err == nil {
		err = json.Unmarshal([]byte(raw), &ref)
	}
	if err != nil {
		return bot.MessageRef{}, fmt.Errorf("read reference of message %s: %w", key, err)
	}
	return ref, nil
}

func scanItem(row rowScanner) (deliver.Item, error) {
	var item deliver.Item
	var message string
	var notBefore int64
	if err := row.Scan(&item.ID, &item.Department, &message, &item.Tries, &notBefore); err != nil {
		return deliver.Item{}, err
	}
	item.NotBefore = moment(notBefore)
	if err := json.Unmarshal([]byte(message), &item.Message); err != nil {
		return deliver.Item{}, fmt.Errorf("decode message %d: %w", item.ID, err)
	}
	return item, nil
}
