package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
)

// pipe is a link to a PostgreSQL server that saves ways: what is sent waits and
// goes there together with the next statement whose answer is wanted. A turn goes
// there and back once or twice and not ten times; over a network that is what
// counts.
type pipe struct {
	conn     *sql.Conn
	patience time.Duration // of one way there and back
	waiting  []sent
	known    map[string]bool // texts that the server has parsed
}

// patience is longer than a server that can be reached takes for a statement,
// before it gives up by itself. It keeps a network that swallows everything from
// holding up the writer for ever.
const patience = 45 * time.Second

type sent struct {
	query string
	args  []any
	check func(touched int64) error // of how many rows it touched; nil where that is all right
}

// checked is what an answer says: its error, or what the check thinks of it.
func (s sent) checked(answers pgx.BatchResults) error {
	tag, err := answers.Exec()
	if err != nil || s.check == nil {
		return err
	}
	return s.check(tag.RowsAffected())
}

func newPipe(conn *sql.Conn) *pipe {
	return &pipe{conn: conn, patience: patience, known: make(map[string]bool)}
}

func (p *pipe) exec(query string, args []any) (touched int64, err error) {
	s := sent{query, args, func(n int64) error { touched = n; return nil }}
	return touched, p.last(s, s.checked)
}

func (p *pipe) row(query string, args, dest []any) (ok bool, err error) {
	err = p.last(sent{query: query, args: args}, func(answers pgx.BatchResults) error { return answers.QueryRow().Scan(dest...) })
	if errors.Is(err, pgx.ErrNoRows) {
		return false, nil
	}
	return err == nil, err
}

// send lets a statement wait, but for one that is new: a server parses what is new
// before it runs anything, and should it not like it, all that waits would go
// with it.
func (p *pipe) send(query string, args []any, check func(touched int64) error) error {
	s := sent{query, args, check}
	if !p.known[query] {
		return p.last(s, s.checked)
	}
	p.waiting = append(p.waiting, s)
	return nil
}

func (p *pipe) flush() error {
	if len(p.waiting) == 0 {
		return nil
	}
	return p.trip(p.waiting[len(p.waiting)-1].checked)
}

// last runs a statement behind what waits and reads its answer.
func (p *pipe) last(s sent, read func(pgx.BatchResults) error) error {
	if !p.known[s.query] {
		if err := p.flush(); err != nil {
			return err
		}
		p.known[s.query] = true
	}
	p.waiting = append(p.waiting, s)
	return p.trip(read)
}

// trip sends all that waits, and reads the answer of the last of them after the
// others'. The first error ends it: the server runs nothing after a failure.
func (p *pipe) trip(read func(pgx.BatchResults) error) error {
	statements := p.waiting
	p.waiting = nil
	ctx, cancel := context.WithTimeout(context.Background(), p.patience)
	defer cancel()
	return p.conn.Raw(func(raw any) error {
		conn := raw.(*stdlib.Conn).Conn()
		if conn.IsClosed() {
			return driver.ErrBadConn
		}
		err := carry(ctx, conn, statements, read)
		if err != nil && ctx.Err() != nil {
			return fmt.Errorf("no answer for %s: %w", p.patience, driver.ErrBadConn)
		}
		return err
	})
}

func carry(ctx context.Context, conn *pgx.Conn, statements []sent, read func(pgx.BatchResults) error) error {
	var batch pgx.Batch
	for _, s := range statements {
		batch.Queue(s.query, s.args...)
	}
	answers := conn.SendBatch(ctx, &batch)
	err := readAll(answers, statements[:len(statements)-1], read)
	if closed := answers.Close(); err == nil {
		err = closed
	}
	return err
}

// readAll reads the answers of those that waited, and then the last.
func readAll(answers pgx.BatchResults, waited []sent, read func(pgx.BatchResults) error) error {
	for _, s := range waited {
		if err := s.checked(answers); err != nil {
			return err
		}
	}
	return read(answers)
}

func (p *pipe) close() error { return p.conn.Close() }
