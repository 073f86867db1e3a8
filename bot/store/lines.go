package store

import (
	"context"
	"fmt"
	"time"

	"kitbell/bot"
	"kitbell/bot/kit"
)

// lineColumns are the columns of lines, and the first ones of line_steps, in
// the order of lineValues and scanLine.
const lineColumns = `number, version, kit, unit, item, condition, count, state, member, platoon, note, reports, opened_at, changed_at, ` +
	`order_number, expected_at, received, paid, whereabout, fetcher, fetch_by, state_at`

const (
	insertLine = `
INSERT INTO lines (department, ` + lineColumns + `)
VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22, $23)`

	updateLine = `
UPDATE lines SET version = $3, kit = $4, unit = $5, item = $6, condition = $7, count = $8, state = $9,
    member = $10, platoon = $11, note = $12, reports = $13, opened_at = $14, changed_at = $15,
    order_number = $16, expected_at = $17, received = $18, paid = $19, whereabout = $20, fetcher = $21, fetch_by = $22, state_at = $23
WHERE department = $1 AND number = $2 AND version = $24`

	selectLine = `SELECT ` + lineColumns + ` FROM lines WHERE department = $1 AND number = $2`

	selectOpenLines = `
SELECT ` + lineColumns + ` FROM lines WHERE department = $1 AND is_open = 1 ORDER BY number`

	selectClosedLines = `
SELECT ` + lineColumns + ` FROM lines WHERE department = $1 AND is_open = 0 AND changed_at >= $2 ORDER BY number`

	giveNumber = `
INSERT INTO numbers (department, last) VALUES ($1, (SELECT coalesce(max(number), 0) + 1 FROM lines WHERE department = $1))
ON CONFLICT (department) DO UPDATE SET last = CASE WHEN excluded.last > numbers.last THEN excluded.last ELSE numbers.last + 1 END
RETURNING last`
)

// OpenLines gives the department's open queue, by number.
func (db *DB) OpenLines(ctx context.Context, department string) ([]kit.Line, error) {
	rows, err := db.reads.query(ctx, selectOpenLines, department)
	lines, err := collect(rows, err, scanLine)
	if err != nil {
		return nil, fmt.Errorf("read open lines: %w", err)
	}
	return lines, nil
}

// ClosedLines gives the lines that were closed at since or later, by number.
func (db *DB) ClosedLines(ctx context.Context, department string, since time.Time) ([]kit.Line, error) {
	rows, err := db.reads.query(ctx, selectClosedLines, department, nanos(since))
	lines, err := collect(rows, err, scanLine)
	if err != nil {
		return nil, fmt.Errorf("read closed lines: %w", err)
	}
	return lines, nil
}

// Lines gives the open lines, and those closed at closedSince or later when that
// is not zero, that fit: an empty unit, item or state fits all. Open lines come
// first, each part by number.
func (db *DB) Lines(ctx context.Context, department, unit, item string, state kit.State, closedSince time.Time) ([]kit.Line, error) {
	all, err := db.OpenLines(ctx, department)
	if err != nil {
		return nil, err
	}
	if !closedSince.IsZero() {
		closed, err := db.ClosedLines(ctx, department, closedSince)
		if err != nil {
			return nil, err
		}
		all = append(all, closed...)
	}
	var fit []kit.Line
	for _, l := range all {
		if (unit == "" || l.Unit == unit) && (item == "" || l.Item == item) && (state == "" || l.State == state) {
			fit = append(fit, l)
		}
	}
	return fit, nil
}

// Line gives one line as it is now; bot.ErrNotFound when there is none.
func (db *DB) Line(ctx context.Context, department string, number int) (kit.Line, error) {
	return db.oneLine(ctx, selectLine, department, number)
}

func (db *DB) oneLine(ctx context.Context, query, department string, number int, more ...any) (kit.Line, error) {
	rows, err := db.reads.query(ctx, query, append([]any{department, number}, more...)...)
	lines, err := collect(rows, err, scanLine)
	if err != nil {
		return kit.Line{}, fmt.Errorf("read line %d: %w", number, err)
	}
	if len(lines) == 0 {
		return kit.Line{}, fmt.Errorf("line %d: %w", number, bot.ErrNotFound)
	}
	return lines[0], nil
}

// NextNumber gives a number for a new line of the department: no number is given
// twice, whichever process asks, nor one that a stored line has. One that is
// given and never stored leaves a gap. Blocks for the disk.
func (db *DB) NextNumber(ctx context.Context, department string) (number int, err error) {
	err = db.write(ctx, department, func(s *session) error {
		_, err := s.row(giveNumber, []any{department}, &number)
		return err
	})
	if err != nil {
		return 0, fmt.Errorf("give line number: %w", err)
	}
	return number, nil
}

// writeLine writes a line's next version to the queue and to its history.
func writeLine(s *session, t bot.Turn, c kit.Change) error {
	if c.New.Version != c.Old.Version+1 {
		return fmt.Errorf("version %d cannot follow %d", c.New.Version, c.Old.Version)
	}
	if err := replaceLine(s, t.Department, c); err != nil {
		return err
	}
	return insertLineStep(s, t, c)
}

func replaceLine(s *session, department string, c kit.Change) error {
	if c.Old.Number == 0 {
		return s.send(insertLine, lineValues(department, c.New)...)
	}
	if c.Old.Number != c.New.Number {
		return fmt.Errorf("line %d cannot become line %d", c.Old.Number, c.New.Number)
	}
	return s.touch(bot.ErrConflict, updateLine, append(lineValues(department, c.New), c.Old.Version)...)
}

func lineValues(department string, l kit.Line) []any {
	return []any{department, l.Number, l.Version, l.Kit, l.Unit, l.Item, string(l.Condition), l.Count, string(l.State),
		l.By, l.Platoon, l.Note, l.Reports, nanos(l.OpenedAt), nanos(l.ChangedAt),
		l.Order, nanos(l.Expected), l.Received, l.Paid, string(l.Where), l.Fetch, nanos(l.FetchBy), nanos(l.StateAt)}
}

// lineRow is a line as it is read: its moments are still numbers.
type lineRow struct {
	line                                        kit.Line
	opened, changed, expected, fetchBy, stateAt int64
}

func (r *lineRow) targets() []any {
	l := &r.line
	return []any{&l.Number, &l.Version, &l.Kit, &l.Unit, &l.Item, &l.Condition, &l.Count, &l.State,
		&l.By, &l.Platoon, &l.Note, &l.Reports, &r.opened, &r.changed,
		&l.Order, &r.expected, &l.Received, &l.Paid, &l.Where, &l.Fetch, &r.fetchBy, &r.stateAt}
}

func (r *lineRow) read() kit.Line {
	l := r.line
	l.OpenedAt, l.ChangedAt, l.StateAt = moment(r.opened), moment(r.changed), moment(r.stateAt)
	l.Expected, l.FetchBy = moment(r.expected), moment(r.fetchBy)
	return l
}

func scanLine(row rowScanner) (kit.Line, error) {
	var r lineRow
	if err := row.Scan(r.targets()...); err != nil {
		return kit.Line{}, err
	}
	return r.read(), nil
}
