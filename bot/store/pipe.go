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
// there and back three times and not ten; over a network that is what counts.
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
}

func newPipe(conn *sql.Conn) *pipe {
	return &pipe{conn: conn, patience: patience, known: make(map[string]bool)}
}

func (p *pipe) exec(query string, args []any) (touched int64, err error) {
	err = p.last(sent{query, args}, func(answers pgx.BatchResults) error {
		tag, err := answers.Exec()
		touched = tag.RowsAffected()
		return err
	})
	return touched, err
}

func (p *pipe) row(query string, args, dest []any) (ok bool, err error) {
	err = p.last(sent{query, args}, func(answers pgx.BatchResults) error { return answers.QueryRow().Scan(dest...) })
	if errors.Is(err, pgx.ErrNoRows) {
		return false, nil
	}
	return err == nil, err
}

// send lets a statement wait, but for one that is new: a server parses what is new
// before it runs anything, and should it not like it, all that waits would go
// with it.
func (p *pipe) send(query string, args []any) error {
	if !p.known[query] {
		_, err := p.exec(query, args)
		return err
	}
	p.waiting = append(p.waiting, sent{query, args})
	return nil
}

func (p *pipe) flush() error {
	if len(p.waiting) == 0 {
		return nil
	}
	return p.trip(func(answers pgx.BatchResults) error {
		_, err := answers.Exec()
		return err
	})
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
	err := readAll(answers, len(statements)-1, read)
	if closed := answers.Close(); err == nil {
		err = closed
	}
	return err
}

// readAll reads n answers of which nobody needs more than that there was no
// error, and then the last.
func readAll(answers pgx.BatchResults, n int, read func(pgx.BatchResults) error) error {
	for range n {
		if _, err := answers.Exec(); err != nil {
			return err
		}
	}
	return read(answers)
}

func (p *pipe) close() error { return p.conn.Close() }
