package store

import (
	"context"
	"fmt"
	"time"

	"kitbell/bot"
	"kitbell/schedule"
)

const (
	insertDue = `
INSERT INTO due (department, entry, unit, wall, kind, topic, at, late, missed, platoon)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)
ON CONFLICT (department, entry, unit, wall) DO NOTHING`

	updateDueCarried = `
UPDATE due SET bundle = $3, carried_at = $4 WHERE department = $1 AND id = $2 AND bundle = ''`

	selectWaitingDue = `
SELECT id, entry, unit, wall, kind, topic, at, late, missed, platoon, bundle FROM due
WHERE department = $1 AND bundle = '' ORDER BY at, id`
)

// WaitingDue gives what has fallen due and no bundle has carried yet, oldest
// first.
func (db *DB) WaitingDue(ctx context.Context, department string) ([]schedule.Due, error) {
	rows, err := db.reads.query(ctx, selectWaitingDue, department)
	dues, err := collect(rows, err, scanDue)
	if err != nil {
		return nil, fmt.Errorf("read what is due: %w", err)
	}
	return dues, nil
}

func writeDue(s *session, t bot.Turn, d schedule.Due) (added bool, err error) {
	n, err := s.exec(insertDue, t.Department, d.Entry, d.Unit, d.Wall, string(d.Kind), d.Topic, nanos(d.At), flag(d.Late), d.Missed, d.Platoon)
	return n == 1, err
}

func carryDues(s *session, t bot.Turn, c schedule.Carried) error {
	for _, d := range c.Dues {
		if err := s.touch(bot.ErrConflict, updateDueCarried, t.Department, d.ID, c.Bundle, nanos(c.At)); err != nil {
			return err
		}
	}
	return nil
}

func scanDue(row rowScanner) (schedule.Due, error) {
	var d schedule.Due
	var at, late int64
	err := row.Scan(&d.ID, &d.Entry, &d.Unit, &d.Wall, &d.Kind, &d.Topic, &at, &late, &d.Missed, &d.Platoon, &d.Bundle)
	d.At, d.Late = moment(at), late != 0
	return d, err
}

func flag(b bool) int64 {
	if b {
		return 1
	}
	return 0
}

const (
	insertCursor = `
INSERT INTO cursors (department, entry, spec, zone, next_at) VALUES ($1, $2, $3, $4, $5)`

	updateCursor = `
UPDATE cursors SET spec = $3, zone = $4, next_at = $5
WHERE department = $1 AND entry = $2 AND spec = $6 AND zone = $7 AND next_at = $8`

	deleteCursor = `
DELETE FROM cursors WHERE department = $1 AND entry = $2 AND spec = $3 AND zone = $4 AND next_at = $5`

	selectCursors = `SELECT entry, spec, zone, next_at FROM cursors WHERE department = $1 ORDER BY entry`

	selectCursor = `SELECT entry, spec, zone, next_at FROM cursors WHERE department = $1 AND entry = $2`
)

// Cursors gives how far each entry of the department has come, by entry.
func (db *DB) Cursors(ctx context.Context, department string) ([]schedule.Cursor, error) {
	rows, err := db.reads.query(ctx, selectCursors, department)
	cursors, err := collect(rows, err, scanCursor)
	if err != nil {
		return nil, fmt.Errorf("read cursors: %w", err)
	}
	return cursors, nil
}

// NextOf gives the moment at which an entry is next due; ok is false when the
// entry has never been looked at.
func (db *DB) NextOf(ctx context.Context, department, entry string) (next time.Time, ok bool, err error) {
	rows, err := db.reads.query(ctx, selectCursor, department, entry)
	cursors, err := collect(rows, err, scanCursor)
	if err != nil {
		return time.Time{}, false, fmt.Errorf("read cursor of %s: %w", entry, err)
	}
	if len(cursors) == 0 {
		return time.Time{}, false, nil
	}
	return cursors[0].Next, true, nil
}

// advance moves an entry's cursor, if it still stands where it was read.
func advance(s *session, t bot.Turn, a schedule.Advanced) error {
	was, now := a.Old, a.New
	switch {
	case was.Entry == "":
		return s.send(insertCursor, t.Department, now.Entry, now.Spec, now.Zone, nanos(now.Next))
	case now.Entry == "":
		return s.touch(bot.ErrConflict, deleteCursor, t.Department, was.Entry, was.Spec, was.Zone, nanos(was.Next))
	}
	return s.touch(bot.ErrConflict, updateCursor, t.Department, was.Entry, now.Spec, now.Zone, nanos(now.Next), was.Spec, was.Zone, nanos(was.Next))
}

func scanCursor(row rowScanner) (schedule.Cursor, error) {
	var c schedule.Cursor
	var next int64
	err := row.Scan(&c.Entry, &c.Spec, &c.Zone, &next)
	c.Next = moment(next)
	return c, err
}
