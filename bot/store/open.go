package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"runtime"
)

// Open opens the store at a place for writing, and makes or migrates its tables
// where needed. A place is a file, for SQLite, or the address of a PostgreSQL
// database, postgres://…, which has to be there. A second Open of the same place,
// in this process or another, is refused until the first is closed, unless both
// ask for Shared. What a person can mend is a *bot.UserError.
func Open(ctx context.Context, place string, o Options) (*DB, error) {
	return open(ctx, place, o, durable)
}

// OpenReader opens the store at a place for reading only. It may run beside a
// program that writes; it makes nothing, migrates nothing and locks nobody out.
func OpenReader(ctx context.Context, place string, o Options) (*DB, error) {
	db := newDB(o)
	var err error
	if IsPostgres(place) {
		err = db.openServerReader(ctx, place)
	} else {
		err = db.openFileReader(ctx, place)
	}
	return db.opened(err)
}

// Exists says whether there is something at a place already: a file, or tables of
// ours in the database. It makes nothing.
func Exists(ctx context.Context, place string) (bool, error) {
	if IsPostgres(place) {
		return serverHasTables(ctx, place)
	}
	if err := lookAt(place); err != nil {
		return false, err
	}
	_, err := os.Stat(place)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	return err == nil, err
}

func open(ctx context.Context, place string, o Options, d durability) (*DB, error) {
	db := newDB(o)
	var err error
	switch {
	case IsPostgres(place):
		err = db.openServer(ctx, place)
	case o.Shared:
		err = fmt.Errorf("open %s: a file has one writer", place)
	default:
		err = db.openFile(ctx, place, d)
	}
	return db.opened(err)
}

func newDB(o Options) *DB { return &DB{options: o.filled(), posted: make(chan struct{}, 1)} }

// opened is the store, or what went wrong with what was opened until then closed
// again.
func (db *DB) opened(err error) (*DB, error) {
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return db, nil
}

// readFrom makes these the connections that read.
func (db *DB) readFrom(reads *sql.DB) {
	most := max(4, runtime.NumCPU())
	reads.SetMaxOpenConns(most)
	reads.SetMaxIdleConns(most)
	db.reads = newPool(reads)
	db.closers = append(db.closers, db.reads)
}

// writeWith starts the writer.
func (db *DB) writeWith(s *session) {
	db.writes = startWriter(s)
	db.closers = append(db.closers, db.writes)
}
