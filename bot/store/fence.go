package store

import (
	"context"
	"fmt"
	"time"

	"kitbell/bot"
)

// Fence is a lease as the one knows it who works under it. What is written under
// a fence is written only while the lease is still that owner's, of that term: a
// process that stood still while another took over changes nothing any more.
type Fence struct {
	Name, Owner string
	Term        int64
}

const (
	// selectHeld does not lock the lease. It need not: the department is taken by
	// then, and whatever the next owner writes for it comes after this commit.
	selectHeld = `SELECT 1 FROM leases WHERE name = $1 AND owner = $2 AND term = $3 AND until > {now}`

	deleteLeases = `DELETE FROM leases WHERE until < {now} - $1`
)

func nothingHeld(*session) error { return nil }

// stillHeld is bot.ErrNotHeld when a fence has fallen.
func stillHeld(f Fence) func(*session) error {
	return func(s *session) error {
		var one int
		ok, err := s.row(s.dialect.at(selectHeld), []any{f.Name, f.Owner, f.Term}, &one)
		if err == nil && !ok {
			err = bot.ErrNotHeld
		}
		return err
	}
}

// ApplyUnder is Apply as long as the lease of a fence is held; bot.ErrNotHeld
// when it is not, and nothing is written.
func (db *DB) ApplyUnder(ctx context.Context, t bot.Turn, f Fence) error {
	return db.applyWhile(ctx, t, stillHeld(f))
}

// FailUnder is Fail likewise.
func (db *DB) FailUnder(ctx context.Context, e bot.Event, reference string, f Fence) error {
	now := nanos(db.options.Clock.Now())
	err := db.write(ctx, e.Department, func(s *session) error {
		if err := stillHeld(f)(s); err != nil {
			return err
		}
		return s.send(updateEventFailed, e.Department, e.Where.Platform, e.ID, reference, now)
	})
	if err != nil {
		return fmt.Errorf("mark event %s as failed: %w", e.ID, err)
	}
	return nil
}

// Waits says whether an event is still to be handled.
func (db *DB) Waits(ctx context.Context, e bot.Event) (bool, error) {
	var state string
	ok, err := db.reads.row(ctx, selectEventState, []any{e.Department, e.Where.Platform, e.ID}, &state)
	if err != nil {
		return false, fmt.Errorf("read state of event %s: %w", e.ID, err)
	}
	return ok && state == "new", nil
}

// ForgetLeases removes the leases that ended longer ago than a span, which must
// be longer than any process works under one. Blocks for the disk.
func (db *DB) ForgetLeases(ctx context.Context, span time.Duration) error {
	err := db.write(ctx, noDepartment, func(s *session) error { return s.send(s.dialect.at(deleteLeases), int64(span)) })
	if err != nil {
		return fmt.Errorf("forget old leases: %w", err)
	}
	return nil
}
