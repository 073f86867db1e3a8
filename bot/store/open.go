package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strings"
)

// applicationID marks a file as kitbell's ("kitb" in ASCII); it stands in the
// file's header.
const applicationID = 0x6b697462

// durability is SQLite's synchronous setting.
type durability string

const (
	durable   durability = "FULL" // a commit is on the disk when it returns
	throwAway durability = "OFF"  // for files that nobody will open again
)

// Open opens the database at path for writing, and makes or migrates it where
// needed. A second Open of the same file, in this process or another, is refused
// until the first is closed. What a person can mend is a *bot.UserError.
func Open(ctx context.Context, path string, o Options) (*DB, error) {
	return open(ctx, path, o, durable)
}

// OpenReader opens the database at path for reading only. It may run beside a
// program that writes; it makes nothing, migrates nothing and locks nobody out.
func OpenReader(ctx context.Context, path string, o Options) (*DB, error) {
	if err := lookAt(path); err != nil {
		return nil, err
	}
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return nil, say(err, sayNoDatabase, path)
	}
	reads, err := openPool(path, "ro")
	if err != nil {
		return nil, translateOpen(err, path)
	}
	db := &DB{options: o.filled(), reads: reads, posted: make(chan struct{}, 1), closers: []io.Closer{reads}}
	if err := db.checkReadable(ctx, path); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return db, nil
}

func open(ctx context.Context, path string, o Options, d durability) (_ *DB, err error) {
	if err := lookAt(path); err != nil {
		return nil, err
	}
	held, err := lock(path)
	if err != nil {
		return nil, err
	}
	db := &DB{options: o.filled(), posted: make(chan struct{}, 1), closers: []io.Closer{held}}
	defer func() {
		if err != nil {
			err = errors.Join(translateOpen(err, path), db.Close())
		}
	}()
	if err := makePrivate(path); err != nil {
		return nil, err
	}
	if err := inspect(ctx, path); err != nil {
		return nil, err
	}
	if err := db.openWriter(ctx, path, d); err != nil {
		return nil, err
	}
	db.reads, err = openPool(path, "rw")
	if err != nil {
		return nil, err
	}
	db.closers = append(db.closers, db.reads)
	return db, nil
}

// openWriter migrates the file and starts the writer on a connection of its own.
func (db *DB) openWriter(ctx context.Context, path string, d durability) error {
	writes, err := sql.Open("sqlite", dsn(path, "rwc", "journal_mode(WAL)", "synchronous("+string(d)+")"))
	if err != nil {
		return fmt.Errorf("open %s: %w", path, err)
	}
	db.closers = append(db.closers, writes)
	if err := mark(ctx, writes); err != nil {
		return err
	}
	if err := migrate(ctx, writes, path, db.options.Log); err != nil {
		return err
	}
	conn, err := writes.Conn(ctx)
	if err != nil {
		return fmt.Errorf("open %s: %w", path, err)
	}
	db.writes = startWriter(newSession(conn))
	db.closers = append(db.closers, db.writes)
	return nil
}

// mark writes kitbell's mark into a new file.
func mark(ctx context.Context, db *sql.DB) error {
	var id int64
	if err := db.QueryRowContext(ctx, "PRAGMA application_id").Scan(&id); err != nil {
		return fmt.Errorf("read application id: %w", err)
	}
	if id == applicationID {
		return nil
	}
	if _, err := db.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d", applicationID)); err != nil {
		return fmt.Errorf("write application id: %w", err)
	}
	return nil
}

func openPool(path, mode string) (*pool, error) {
	reads, err := sql.Open("sqlite", dsn(path, mode, "query_only(1)"))
	if err != nil {
		return nil, fmt.Errorf("open %s: %w", path, err)
	}
	most := max(4, runtime.NumCPU())
	reads.SetMaxOpenConns(most)
	reads.SetMaxIdleConns(most)
	return newPool(reads), nil
}

// makePrivate makes the file, if it is not there, one that only its owner reads:
// people's accounts and kept pictures are in it. The driver gives the files
// beside it the same rights.
func makePrivate(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return err
	}
	return f.Close()
}

// dsn names the file and every setting that each pooled connection must have:
// set by a statement, a pragma would reach one connection only.
func dsn(path, mode string, pragmas ...string) string {
	query := url.Values{"mode": {mode}, "_txlock": {"immediate"}, "_dqs": {"0"}}
	for _, p := range append(pragmas, "foreign_keys(1)", "busy_timeout(5000)", "secure_delete(FAST)", "temp_store(MEMORY)") {
		query.Add("_pragma", p)
	}
	slashed := filepath.ToSlash(path)
	if filepath.VolumeName(path) != "" {
		slashed = "/" + slashed
	}
	escaped := (&url.URL{Path: slashed}).EscapedPath()
	return "file:" + strings.TrimPrefix(escaped, "./") + "?" + query.Encode()
}

// lookAt finds the mistakes that need no database to be seen.
func lookAt(path string) error {
	dir := filepath.Dir(path)
	if info, err := os.Stat(dir); errors.Is(err, fs.ErrNotExist) || err == nil && !info.IsDir() {
		return say(err, sayNoFolder, dir)
	}
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return say(nil, sayFolder, path)
	}
	return nil
}
