package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"log/slog"

	"kitbell/bot"
)

// Options are what a store needs from its surroundings. The zero value logs
// nowhere and uses the machine's clock.
type Options struct {
	Log   *slog.Logger
	Clock bot.Clock
	// Shared lets other processes write to the same PostgreSQL database, if they
	// ask for it too.
	Shared bool
}

func (o Options) filled() Options {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Clock == nil {
		o.Clock = bot.SystemClock{}
	}
	return o
}

// DB is an open store. Its methods are safe for several goroutines.
type DB struct {
	options Options
	reads   *pool
	writes  *writer // nil in a store that was opened for reading
	posted  chan struct{}
	closers []io.Closer // closed in reverse order
}

// errReadOnly is what a write on a store from OpenReader gets.
var errReadOnly = errors.New("store was opened for reading")

// Close finishes the writes that were submitted, closes the file and frees it
// for another program. Calls after Close fail.
func (db *DB) Close() error {
	var errs []error
	for i := len(db.closers) - 1; i >= 0; i-- {
		errs = append(errs, db.closers[i].Close())
	}
	db.closers = nil
	if err := errors.Join(errs...); err != nil {
		return fmt.Errorf("close store: %w", err)
	}
	return nil
}

// noDepartment is for writes of single rows that are named by their id.
const noDepartment = ""

// write runs fn, which writes for a department, in the writer and returns when
// its effect is on the disk.
func (db *DB) write(ctx context.Context, department string, fn func(*session) error) error {
	if db.writes == nil {
		return errReadOnly
	}
	return translate(db.writes.do(ctx, department, fn))
}

// Posted gets a value after rows were added to the outbox. It holds one value
// at most, for one listener: the deliver loop.
func (db *DB) Posted() <-chan struct{} { return db.posted }

func (db *DB) ring() {
	select {
	case db.posted <- struct{}{}:
	default: // the listener has not looked yet and will see all rows when it does
	}
}

// rowScanner is what *sql.Row and *sql.Rows have in common.
type rowScanner interface{ Scan(dest ...any) error }

// collect reads all rows with scan and closes them.
func collect[T any](rows *sql.Rows, err error, scan func(rowScanner) (T, error)) ([]T, error) {
	if err != nil {
		return nil, translate(err)
	}
	defer rows.Close()
	var all []T
	for rows.Next() {
		one, err := scan(rows)
		if err != nil {
			return nil, err
		}
		all = append(all, one)
	}
	return all, translate(rows.Err())
}
