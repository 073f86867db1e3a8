package store

import (
	"context"
	"fmt"
	"time"

	"kitbell/bot"
	"kitbell/bot/kit"
)

// stepColumns are the columns of one step and of the version before it.
const stepColumns = `
    n.number, n.version, n.kit, n.unit, n.item, n.condition, n.count, n.state, n.member, n.platoon, n.note, n.reports, n.opened_at, n.changed_at,
    n.order_number, n.expected_at, n.received, n.paid, n.whereabout, n.fetcher, n.fetch_by, n.state_at,
    n.verb, n.actor, n.at,
    coalesce(o.number, 0), coalesce(o.version, 0), coalesce(o.kit, ''), coalesce(o.unit, ''), coalesce(o.item, ''), coalesce(o.condition, ''),
    coalesce(o.count, 0), coalesce(o.state, ''), coalesce(o.member, ''), coalesce(o.platoon, ''), coalesce(o.note, ''), coalesce(o.reports, 0),
    coalesce(o.opened_at, 0), coalesce(o.changed_at, 0), coalesce(o.order_number, ''), coalesce(o.expected_at, 0), coalesce(o.received, 0),
    coalesce(o.paid, 0), coalesce(o.whereabout, ''), coalesce(o.fetcher, ''), coalesce(o.fetch_by, 0), coalesce(o.state_at, 0)
FROM line_steps n
LEFT JOIN line_steps o ON o.department = n.department AND o.number = n.number AND o.version = n.version - 1`

const (
	insertStep = `
INSERT INTO line_steps (department, ` + lineColumns + `, verb, actor, at, event)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22, $23, $24, $25, $26, $27)`

	selectLineAt = `
SELECT ` + lineColumns + ` FROM line_steps WHERE department = $1 AND number = $2 AND version = $3`

	selectHistory = `SELECT ` + stepColumns + `
WHERE n.department = $1 AND n.number = $2 ORDER BY n.version`

	selectLineSteps = `
SELECT ` + lineColumns + `, verb, actor, at FROM line_steps WHERE department = $1 ORDER BY number, version`

	// The sum keeps SQLite from walking the whole department in the order of
	// the primary key to save itself the sorting of two or three rows.
	selectStepsOfEvent = `SELECT ` + stepColumns + `
WHERE n.department = $1 AND n.event >= $2 AND n.event < $4 AND (n.event = $2 OR n.event > $3) ORDER BY n.number + 0, n.version`

	// The latest event of a person that still stands: a line that was undone
	// since, and an entry that was withdrawn, have nothing more to take back.
	selectLastEvent = `
SELECT event, at FROM (
    SELECT n.event AS event, n.at AS at FROM line_steps n
    WHERE n.department = $1 AND n.actor = $2 AND n.at >= $3 AND n.event <> ''
      AND NOT EXISTS (
        SELECT 1 FROM line_steps u
        WHERE u.department = n.department AND u.number = n.number AND u.version >= n.version AND u.verb = 'line-undone')
    UNION ALL
    SELECT j.event, j.at FROM journal j
    WHERE j.department = $1 AND j.person = $2 AND j.at >= $3 AND j.withdrawn_at = 0 AND j.event <> '' AND j.kind <> $4
) AS written
ORDER BY at DESC, coalesce((SELECT max(i.id) FROM inbox i WHERE i.department = $1 AND i.event = written.event), 0) DESC LIMIT 1`
)

// LineAt gives a line as it was at a version; bot.ErrNotFound when it never was.
func (db *DB) LineAt(ctx context.Context, department string, number, version int) (kit.Line, error) {
	return db.oneLine(ctx, selectLineAt, department, number, version)
}

// History gives every step of a line, first to last; none when there is no such
// line.
func (db *DB) History(ctx context.Context, department string, number int) ([]kit.Change, error) {
	rows, err := db.reads.query(ctx, selectHistory, department, number)
	steps, err := collect(rows, err, scanStep)
	if err != nil {
		return nil, fmt.Errorf("read history of line %d: %w", number, err)
	}
	return steps, nil
}

// LineSteps gives every step of every line of a department, a line's first to last.
func (db *DB) LineSteps(ctx context.Context, department string) ([]kit.Change, error) {
	rows, err := db.reads.query(ctx, selectLineSteps, department)
	steps, err := collect(rows, err, scanNewLine)
	if err != nil {
		return nil, fmt.Errorf("read steps of all lines: %w", err)
	}
	for i := 1; i < len(steps); i++ {
		if steps[i-1].New.Number == steps[i].New.Number {
			steps[i].Old = steps[i-1].New
		}
	}
	return steps, nil
}

// scanNewLine reads a step without the version before it.
func scanNewLine(row rowScanner) (kit.Change, error) {
	var c kit.Change
	var is lineRow
	var at int64
	if err := row.Scan(append(is.targets(), &c.Verb, &c.By, &at)...); err != nil {
		return kit.Change{}, err
	}
	c.At, c.New = moment(at), is.read()
	return c, nil
}

// Done gives what an event and the later wordings of its message wrote: the
// steps of lines, and the journal entries that were not withdrawn. It is what an undo
// works from; a line that moved on since is the caller's to notice, by version.
func (db *DB) Done(ctx context.Context, department, event string) ([]kit.Change, []bot.Entry, error) {
	from, to := bot.EditIDs(event)
	rows, err := db.reads.query(ctx, selectStepsOfEvent, department, event, from, to)
	steps, err := collect(rows, err, scanStep)
	if err != nil {
		return nil, nil, fmt.Errorf("read steps of event %s: %w", event, err)
	}
	rows, err = db.reads.query(ctx, selectEntriesOfEvent, department, event, from, to)
	entries, err := collect(rows, err, scanEntry)
	if err != nil {
		return nil, nil, fmt.Errorf("read entries of event %s: %w", event, err)
	}
	return steps, entries, nil
}

// LastEventBy gives the latest event at since or later by which a person wrote
// something that has not been taken back, journal entries of the kind left out
// not counted; of two at the same moment, as when a
// clock stands still, the one that came in later. ok is false when there is none.
func (db *DB) LastEventBy(ctx context.Context, department, person, leftOut string, since time.Time) (event string, ok bool, err error) {
	var at int64
	ok, err = db.reads.row(ctx, selectLastEvent, []any{department, person, nanos(since), leftOut}, &event, &at)
	if err != nil {
		return "", false, fmt.Errorf("read last event of %s: %w", person, err)
	}
	return event, ok, nil
}

func insertLineStep(s *session, t bot.Turn, c kit.Change) error {
	values := append(lineValues(t.Department, c.New), string(c.Verb), c.By, nanos(c.At), t.EventID)
	return s.send(insertStep, values...)
}

func scanStep(row rowScanner) (kit.Change, error) {
	var c kit.Change
	var is, was lineRow
	var at int64
	targets := append(is.targets(), &c.Verb, &c.By, &at)
	if err := row.Scan(append(targets, was.targets()...)...); err != nil {
		return kit.Change{}, err
	}
	c.At, c.New, c.Old = moment(at), is.read(), was.read()
	return c, nil
}
