package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// OpenTemp opens an empty store in a folder of its own, which Close removes. It
// does not wait for the disk: a crash may lose it.
func OpenTemp(ctx context.Context, o Options) (*DB, error) {
	return openThrowAway(ctx, o, func(string) error { return nil })
}

// OpenCopy opens a throw-away copy of the store at a place, which may be in use
// by another program and is only read. What is written to the copy goes when it
// is closed. Where there is no database yet the copy is an empty store. The copy
// is a file, also of a PostgreSQL database.
func OpenCopy(ctx context.Context, place string, o Options) (*DB, error) {
	there, err := Exists(ctx, place)
	if err != nil {
		return nil, err
	}
	return openThrowAway(ctx, o, func(to string) error {
		switch {
		case !there:
			return nil
		case IsPostgres(place):
			return copyServer(ctx, place, to, o)
		}
		return copyInto(ctx, place, to)
	})
}

// openThrowAway opens a store in a temporary folder after fill has put there
// what it begins with.
func openThrowAway(ctx context.Context, o Options, fill func(to string) error) (db *DB, err error) {
	dir, err := os.MkdirTemp("", "kitbell-*")
	if err != nil {
		return nil, fmt.Errorf("make temporary store: %w", translateOpen(err, os.TempDir()))
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.RemoveAll(dir))
		}
	}()
	path := filepath.Join(dir, "kitbell.db")
	if err := fill(path); err != nil {
		return nil, err
	}
	if db, err = open(ctx, path, o, throwAway); err != nil {
		return nil, err
	}
	db.closers = append([]io.Closer{tempDir(dir)}, db.closers...)
	return db, nil
}

// copyInto makes a consistent copy by SQLite's own means: copying the file
// would miss what is in the write-ahead log.
func copyInto(ctx context.Context, path, to string) error {
	db, err := sql.Open("sqlite", dsn(path, "ro"))
	if err != nil {
		return fmt.Errorf("open %s: %w", path, err)
	}
	defer db.Close()
	if _, err := versionOf(ctx, db, path); err != nil { // an older one is brought up to date in its copy
		return err
	}
	if _, err := db.ExecContext(ctx, "VACUUM INTO $1", to); err != nil {
		return fmt.Errorf("copy %s: %w", path, translate(err))
	}
	return nil
}

// tempDir is a folder that goes when it is closed.
type tempDir string

// Close removes the folder and what is in it.
func (d tempDir) Close() error { return os.RemoveAll(string(d)) }
