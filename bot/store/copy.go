package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// OpenCopy opens a throw-away copy of the database at path, which may be in use
// by another program and is only read. What is written to the copy goes when it
// is closed. Where there is no database the copy is an empty store.
func OpenCopy(ctx context.Context, path string, o Options) (*DB, error) {
	dir, err := os.MkdirTemp("", "kitbell-*")
	if err != nil {
		return nil, fmt.Errorf("make temporary store: %w", translateOpen(err, os.TempDir()))
	}
	to := filepath.Join(dir, "kitbell.db")
	if err := copyInto(ctx, path, to, o); err != nil {
		return nil, errors.Join(err, os.RemoveAll(dir))
	}
	db, err := open(ctx, to, o, throwAway)
	if err != nil {
		return nil, errors.Join(err, os.RemoveAll(dir))
	}
	db.closers = append([]io.Closer{tempDir(dir)}, db.closers...)
	return db, nil
}

// copyInto makes a consistent copy by SQLite's own means: copying the file
// would miss what is in the write-ahead log.
func copyInto(ctx context.Context, path, to string, o Options) error {
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	reader, err := OpenReader(ctx, path, o)
	if err != nil {
		return err
	}
	defer reader.Close()
	db, err := sql.Open("sqlite", dsn(path, "ro"))
	if err != nil {
		return fmt.Errorf("open %s: %w", path, err)
	}
	defer db.Close()
	if _, err := db.ExecContext(ctx, "VACUUM INTO ?", to); err != nil {
		return fmt.Errorf("copy %s: %w", path, translate(err))
	}
	return nil
}
