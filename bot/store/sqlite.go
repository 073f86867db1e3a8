package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
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

// openFile opens the file at path for writing.
func (db *DB) openFile(ctx context.Context, path string, d durability) error {
	if err := lookAt(path); err != nil {
		return err
	}
	held, err := lock(path)
	if err != nil {
		return err
	}
	db.closers = append(db.closers, held)
	if err := makePrivate(path); err != nil {
		return translateOpen(err, path)
	}
	if err := inspect(ctx, path); err != nil {
		return translateOpen(err, path)
	}
	if err := db.openFileWriter(ctx, path, d); err != nil {
		return translateOpen(err, path)
	}
	reads, err := openPool(path, "rw")
	if err != nil {
		return translateOpen(err, path)
	}
	db.readFrom(reads)
	return nil
}

// openFileReader opens the file at path for reading.
func (db *DB) openFileReader(ctx context.Context, path string) error {
	if err := lookAt(path); err != nil {
		return err
	}
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return say(err, sayNoDatabase, path)
	}
	reads, err := openPool(path, "ro")
	if err != nil {
		return translateOpen(err, path)
	}
	db.readFrom(reads)
	return checkReadable(ctx, reads, path)
}

// openFileWriter migrates the file and starts the writer on a connection of its
// own.
func (db *DB) openFileWriter(ctx context.Context, path string, d durability) error {
	writes, err := sql.Open("sqlite", dsn(path, "rwc", "journal_mode(WAL)", "synchronous("+string(d)+")"))
	if err != nil {
		return fmt.Errorf("open %s: %w", path, err)
	}
	db.closers = append(db.closers, writes)
	if err := mark(ctx, writes); err != nil {
		return err
	}
	if err := checkSQLite(ctx, writes); err != nil {
		return err
	}
	if err := migrate(ctx, writes, onSQLite, path, db.options.Log); err != nil {
		return err
	}
	session, err := newSession(ctx, dialect{begin: "BEGIN IMMEDIATE", now: sqliteNow}, func(ctx context.Context) (link, error) {
		conn, err := writes.Conn(ctx)
		return newPrepared(conn), err
	})
	if err != nil {
		return fmt.Errorf("open %s: %w", path, err)
	}
	db.writeWith(session)
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

func openPool(path, mode string) (*sql.DB, error) {
	reads, err := sql.Open("sqlite", dsn(path, mode, "query_only(1)"))
	if err != nil {
		return nil, fmt.Errorf("open %s: %w", path, err)
	}
	return reads, nil
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
