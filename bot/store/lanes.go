package store

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/deliver"
)

// LaneLease is the name of a lane's lease.
func LaneLease(lane string) string { return lanePrefix + lane }

const lanePrefix = "lane:"

const (
	// Lanes that another process has are left out.
	selectFreeHeads = fromHeads + `
LEFT JOIN leases l ON l.name = 'lane:' || o.lane AND l.owner <> $2 AND l.until > {now}
WHERE o.state = 'waiting' AND l.name IS NULL ORDER BY o.not_before, o.id LIMIT $1`

	selectAbandoned = `
SELECT o.id, o.department, o.message, o.tries, o.not_before FROM outbox o
LEFT JOIN leases l ON l.name = 'lane:' || o.lane AND l.until > {now}
WHERE o.state = 'sending' AND l.name IS NULL ORDER BY o.id`

	// A message that was tried meanwhile is not the one that was read.
	updateSendingAsRead = `
UPDATE outbox SET state = 'sending', changed_at = $2 WHERE id = $1 AND state = 'waiting' AND tries = $3 AND not_before = $4`

	restLease = `UPDATE leases SET until = {now} + $4 WHERE name = $1 AND owner = $2 AND term = $3`
)

// ReadyFor is Ready for one of several processes: lanes that another owner has
// are left out.
func (db *DB) ReadyFor(ctx context.Context, owner string, now time.Time, n int) (ready []deliver.Item, next time.Time, err error) {
	rows, err := db.reads.query(ctx, strings.ReplaceAll(selectFreeHeads, "{now}", postgresNow), n+1, owner)
	heads, err := collect(rows, err, scanItem)
	if err != nil {
		return nil, time.Time{}, fmt.Errorf("read outbox: %w", err)
	}
	ready, next = readyAmong(heads, now, n)
	return ready, next, nil
}

// Abandoned gives the messages that were being sent by a process whose lease of
// their lane has ended. Nobody knows whether they arrived.
func (db *DB) Abandoned(ctx context.Context) ([]deliver.Item, error) {
	rows, err := db.reads.query(ctx, strings.ReplaceAll(selectAbandoned, "{now}", postgresNow))
	items, err := collect(rows, err, scanItem)
	if err != nil {
		return nil, fmt.Errorf("read abandoned messages: %w", err)
	}
	return items, nil
}

// MarkSendingAs claims the lease of an item's lane and notes, in the same
// transaction, that the item is about to be sent. bot.ErrNotHeld means that
// another process has the lane, bot.ErrConflict that the item is no longer as it
// was read; nothing is written then.
func (db *DB) MarkSendingAs(ctx context.Context, item deliver.Item, owner string, span time.Duration) (Fence, error) {
	f := Fence{Name: LaneLease(item.Message.To.Lane()), Owner: owner}
	now := nanos(db.options.Clock.Now())
	err := db.write(ctx, leased(f.Name), func(s *session) error {
		held, err := s.row(s.dialect.at(claimLease), []any{f.Name, owner, int64(span)}, &f.Term)
		switch {
		case err != nil:
			return err
		case !held:
			return bot.ErrNotHeld
		}
		return s.touch(bot.ErrConflict, updateSendingAsRead, item.ID, now, item.Tries, nanos(item.NotBefore))
	})
	if err != nil {
		return Fence{}, fmt.Errorf("mark message %d as being sent: %w", item.ID, err)
	}
	return f, nil
}

// SettleUnder is Settle as long as the lane's lease is the fence's owner's, whom
// nobody else may follow for the rest that the lane needs. bot.ErrNotHeld means
// that another has taken over and decided.
func (db *DB) SettleUnder(ctx context.Context, id int64, o deliver.Outcome, f Fence, rest time.Duration) error {
	var ref []byte
	if o.State == deliver.Sent {
		var err error
		if ref, err = json.Marshal(o.Ref); err != nil {
			return fmt.Errorf("encode reference of message %d: %w", id, err)
		}
	}
	now := nanos(db.options.Clock.Now())
	err := db.write(ctx, leased(f.Name), func(s *session) error {
		if err := s.touch(bot.ErrNotHeld, s.dialect.at(restLease), f.Name, f.Owner, f.Term, int64(rest)); err != nil {
			return err
		}
		return s.touch(bot.ErrConflict, updateSettled, id, string(o.State), o.Tries, nanos(o.NotBefore), string(ref), o.Reason, now)
	})
	if err != nil {
		return fmt.Errorf("settle message %d: %w", id, err)
	}
	return nil
}
