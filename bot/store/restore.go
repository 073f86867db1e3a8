package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"kitbell/bot"
)

// Restored is what Restore brought back.
type Restored struct {
	Backup          // as it is now, tables of this program's version
	From     int64  // version of the tables that were in the backup
	Unsummed bool   // no checksum stood beside it
	Unsent   int64  // messages that waited in the backup and may have been sent since
	Aside    string // where the database is that stood there before; empty when none did
}

const updateUnsent = `
UPDATE outbox SET state = 'possibly-sent', last_error = 'restored from a backup', changed_at = $1 WHERE state IN ('waiting', 'sending')`

// Restore puts a backup where a store is opened, and brings older tables up to
// date. It works on a copy and puts that in its place when all of it is done and
// checked. Messages that waited are marked as possibly sent, since nobody knows
// whether they went out after the backup. Each department's audit says what was
// restored. Refused are a damaged backup, one of a newer program, a place that a
// program works on, and one with a database: with replace, a file that is there is
// set aside under another name. A PostgreSQL database has to be empty.
func Restore(ctx context.Context, file, place string, replace bool, o Options) (_ Restored, err error) {
	o = o.filled()
	if IsPostgres(place) {
		return restoreServer(ctx, file, place, o)
	}
	if err := lookAt(place); err != nil {
		return Restored{}, err
	}
	held, err := lock(place)
	if err != nil {
		return Restored{}, err
	}
	defer func() { err = errors.Join(err, held.Close()) }()
	if _, err := os.Lstat(place); !errors.Is(err, fs.ErrNotExist) && !replace {
		return Restored{}, say(err, sayDatabaseThere, place)
	}
	desk, err := workFolder(filepath.Dir(place), ".kitbell-restore-")
	if err != nil {
		return Restored{}, translateOpen(fmt.Errorf("make folder to restore in: %w", err), place)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(desk)) }()
	part := filepath.Join(desk, "kitbell.db")
	r, err := prepare(ctx, file, part, o)
	if err != nil {
		return Restored{}, err
	}
	if r.Aside, err = setAside(ctx, place, o.Clock.Now()); err != nil {
		return Restored{}, translateOpen(err, place)
	}
	if err := errors.Join(os.Rename(part, place), syncPath(filepath.Dir(place))); err != nil {
		return Restored{}, translateOpen(fmt.Errorf("put restored database in its place: %w", err), place)
	}
	r.Path = place
	return r, nil
}

// restoreServer moves a backup into an empty PostgreSQL database.
func restoreServer(ctx context.Context, file, address string, o Options) (_ Restored, err error) {
	desk, err := os.MkdirTemp("", "kitbell-*")
	if err != nil {
		return Restored{}, fmt.Errorf("make folder to restore in: %w", translateOpen(err, os.TempDir()))
	}
	defer func() { err = errors.Join(err, os.RemoveAll(desk)) }()
	part := filepath.Join(desk, "kitbell.db")
	r, err := prepare(ctx, file, part, o)
	if err != nil {
		return Restored{}, err
	}
	moved, err := Move(ctx, part, address, o)
	if err != nil {
		return Restored{}, err
	}
	r.Path, r.Tables, r.Audits = PlaceName(address), moved.Tables, moved.Audits
	return r, nil
}

// prepare copies a backup to part, checks it, brings it up to date, notes the
// restoring, and checks it again.
func prepare(ctx context.Context, file, part string, o Options) (r Restored, err error) {
	if r.Sum, r.Unsummed, err = fetch(file, part); err != nil {
		return Restored{}, err
	}
	was, err := look(ctx, part)
	if err != nil {
		return Restored{}, badBackup(err, part, file)
	}
	r.From = was.Version
	db, err := open(ctx, part, o, durable)
	if err != nil {
		return Restored{}, err
	}
	r.Unsent, err = db.noteRestored(ctx, was.departments(), filepath.Base(file), r.Sum)
	if err = errors.Join(err, db.Close()); err != nil {
		return Restored{}, fmt.Errorf("bring %s up to date: %w", file, err)
	}
	sum := r.Sum
	if r.Backup, err = look(ctx, part); err != nil {
		return Restored{}, fmt.Errorf("check what was restored: %w", err)
	}
	r.Sum = sum
	return r, nil
}

// fetch copies a backup and compares it with the checksum beside it.
func fetch(file, part string) (sum string, unsummed bool, err error) {
	from, err := os.Open(file)
	if err != nil {
		return "", false, say(err, sayNoBackupFile, file)
	}
	defer from.Close()
	to, err := os.OpenFile(part, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return "", false, translateOpen(err, part)
	}
	h := sha256.New()
	_, err = io.Copy(io.MultiWriter(to, h), from)
	if err = errors.Join(err, to.Close()); err != nil {
		return "", false, translateOpen(fmt.Errorf("copy %s: %w", file, err), part)
	}
	sum = hex.EncodeToString(h.Sum(nil))
	want, err := sumBeside(file)
	if err != nil {
		return "", false, fmt.Errorf("read checksum of %s: %w", file, err)
	}
	if want != "" && !strings.EqualFold(want, sum) {
		return "", false, say(nil, sayBadSum, file)
	}
	return sum, want == "", nil
}

// badBackup says of a backup what is wrong with its copy. What is newer or not ours
// is said already.
func badBackup(err error, part, file string) error {
	var said *bot.UserError
	if errors.As(err, &said) && said.Say != sayDamaged {
		return say(err, "%s", strings.ReplaceAll(said.Say, part, file))
	}
	return say(err, sayBadBackup, file)
}

// noteRestored writes the restoring into the audits, and marks what waited to be
// sent.
func (db *DB) noteRestored(ctx context.Context, departments []string, name, sum string) (unsent int64, err error) {
	now := db.options.Clock.Now()
	err = db.write(ctx, noDepartment, func(s *session) error {
		for _, d := range departments {
			turn := bot.Turn{Department: d, Actor: "restore", At: now}
			if err := appendAudit(s, turn, bot.Record{Verb: "backup-restored", Subject: "backup:" + name, New: sum}); err != nil {
				return err
			}
		}
		unsent, err = s.exec(updateUnsent, nanos(now))
		return err
	})
	return unsent, err
}

// setAside gives the database at path another name, with its date. What is in its
// write-ahead log goes into it first, if it is sound enough for that.
func setAside(ctx context.Context, path string, now time.Time) (aside string, err error) {
	if _, err := os.Lstat(path); errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	settleLog(ctx, path)
	ending := filepath.Ext(path)
	aside = fmt.Sprintf("%s-before-%s%s", strings.TrimSuffix(path, ending), now.UTC().Format("20060102T150405Z"), ending)
	if _, err := os.Lstat(aside); !errors.Is(err, fs.ErrNotExist) {
		return "", say(err, sayBackupThere, aside)
	}
	for _, part := range []string{"-wal", "-shm", ""} {
		if err := os.Rename(path+part, aside+part); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return "", fmt.Errorf("set old database aside: %w", err)
		}
	}
	return aside, nil
}

// settleLog empties the write-ahead log into the file, which then stands alone. Of
// a damaged one it fails, and file and log are set aside as they are.
func settleLog(ctx context.Context, path string) {
	db, err := sql.Open("sqlite", dsn(path, "rw"))
	if err != nil {
		return
	}
	defer db.Close()
	_, _ = db.ExecContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)") // see above
}
