package store

import (
	"context"
	"errors"
	"fmt"

	"kitbell/bot"
	"kitbell/bot/kit"
	"kitbell/schedule"
)

// Apply writes everything that a turn holds, or nothing. It returns when that is
// on the disk. A turn whose event is handled already does nothing: a second run
// of the same event is no second report. bot.ErrConflict means that a row changed
// since it was read: read again and decide again. Any goroutine; blocks for the
// disk.
func (db *DB) Apply(ctx context.Context, t bot.Turn) error { return db.applyWhile(ctx, t, nothingHeld) }

// applyWhile applies a turn if held, which looks at it inside the transaction,
// has nothing against it.
func (db *DB) applyWhile(ctx context.Context, t bot.Turn, held func(*session) error) error {
	posts, err := encodePosts(t.Posts)
	if err != nil {
		return fmt.Errorf("apply turn of event %q: %w", t.EventID, err)
	}
	err = db.write(ctx, t.Department, func(s *session) error {
		if err := held(s); err != nil {
			return err
		}
		return apply(s, t, posts)
	})
	if errors.Is(err, errNotNew) {
		err, posts = db.whyNotNew(ctx, t), nil
	}
	if err != nil {
		return fmt.Errorf("apply turn of event %q: %w", t.EventID, err)
	}
	if len(posts) > 0 {
		db.ring()
	}
	return nil
}

func apply(s *session, t bot.Turn, posts []outboxRow) error {
	if err := finish(s, t); err != nil {
		return err
	}
	for _, c := range t.Changes {
		if err := applyChange(s, t, c); err != nil {
			return err
		}
	}
	for _, p := range posts {
		if err := insertPost(s, t, p); err != nil {
			return err
		}
	}
	return keepTalk(s, t)
}

// applyChange writes one change and its audit row. A change that found its work
// done already leaves no audit row.
func applyChange(s *session, t bot.Turn, c bot.Change) error {
	record := c.Record()
	wrote, err := write(s, t, c)
	if err != nil {
		return fmt.Errorf("write %s %s: %w", record.Verb, record.Subject, err)
	}
	if !wrote {
		return nil
	}
	return appendAudit(s, t, record)
}

func write(s *session, t bot.Turn, c bot.Change) (wrote bool, err error) {
	switch c := c.(type) {
	case kit.Change:
		return true, writeLine(s, t, c)
	case bot.Written:
		return true, writeEntry(s, t, c.Entry)
	case bot.Withdrawn:
		return true, withdrawEntry(s, t, c)
	case kit.PhotoKept:
		return writePhoto(s, t, c.Photo)
	case kit.PhotoDropped:
		return dropPhoto(s, t, c.Name)
	case schedule.Fell:
		return writeDue(s, t, c.Due)
	case schedule.Carried:
		return true, carryDues(s, t, c)
	case schedule.Advanced:
		return true, advance(s, t, c)
	default:
		return false, fmt.Errorf("unknown change %T", c)
	}
}
