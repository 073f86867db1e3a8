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
)

// SumSuffix ends the name of the file with a backup's checksum, which stands
// beside it in the form of sha256sum.
const SumSuffix = ".sha256"

// Backup is a file with everything of a store, and what was found in it when it
// was opened and checked.
type Backup struct {
	Path    string
	Sum     string // SHA-256 of the file, in hexadecimal
	Version int64  // of its tables
	Tables  []Copied
	Audits  []Audit // by department, all sound
}

// Save makes a backup of the store at a place in a folder. The store may be in use:
// the backup is what was committed at one moment. name gives the file's name from
// the departments with an audit; a file that is there is not written over. The
// backup is checked before it gets its name: a look at every page, a count of every
// table, every audit. One backup at a time goes into a folder.
func Save(ctx context.Context, place, folder string, name func(departments []string) string, o Options) (_ Backup, err error) {
	there, err := Exists(ctx, place)
	if err != nil {
		return Backup{}, err
	}
	if !there {
		return Backup{}, say(nil, sayNoDatabase, PlaceName(place))
	}
	held, err := lock(filepath.Join(folder, "kitbell-backup"))
	if err != nil {
		return Backup{}, say(err, sayNoBackup, folder)
	}
	defer func() { err = errors.Join(err, held.Close()) }()
	desk, err := workFolder(folder, ".kitbell-backup-")
	if err != nil {
		return Backup{}, translateOpen(fmt.Errorf("make folder for backup: %w", err), folder)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(desk)) }()
	part := filepath.Join(desk, "backup.db")
	if err := snapshot(ctx, place, part, o); err != nil {
		return Backup{}, err
	}
	b, err := look(ctx, part)
	if err != nil {
		return Backup{}, fmt.Errorf("check backup of %s: %w", PlaceName(place), err)
	}
	return b.put(part, filepath.Join(folder, name(b.departments())))
}

// workFolder makes a folder in one that is locked, and removes those of the same name
// that a killed program left there.
func workFolder(in, prefix string) (string, error) {
	left, err := filepath.Glob(filepath.Join(in, prefix+"*"))
	for _, path := range left {
		err = errors.Join(err, os.RemoveAll(path))
	}
	if err != nil {
		return "", err
	}
	return os.MkdirTemp(in, prefix+"*")
}

// snapshot writes everything that is committed at a place into a new file.
func snapshot(ctx context.Context, place, part string, o Options) error {
	if IsPostgres(place) {
		between := part + ".server"
		if err := copyServer(ctx, place, between, o); err != nil {
			return err
		}
		place = between
	}
	if err := makePrivate(part); err != nil {
		return translateOpen(err, part)
	}
	return copyInto(ctx, place, part)
}

func (b Backup) departments() []string {
	var names []string
	for _, a := range b.Audits {
		names = append(names, a.Department)
	}
	return names
}

// put gives a checked file its name and its checksum, once both are on the disk.
func (b Backup) put(part, to string) (_ Backup, err error) {
	if _, err := os.Lstat(to); !errors.Is(err, fs.ErrNotExist) {
		return Backup{}, say(err, sayBackupThere, to)
	}
	b.Path = to
	if b.Sum, err = sumOf(part); err != nil {
		return Backup{}, err
	}
	if err := writeDurably(to+SumSuffix, b.Sum+"  "+filepath.Base(to)+"\n"); err != nil {
		return Backup{}, translateOpen(err, to)
	}
	if err := errors.Join(syncPath(part), os.Rename(part, to), syncPath(filepath.Dir(to))); err != nil {
		return Backup{}, translateOpen(fmt.Errorf("put backup in its place: %w", err), to)
	}
	return b, nil
}

// look opens a backup for reading and checks it.
func look(ctx context.Context, path string) (_ Backup, err error) {
	db, err := openPool(path, "ro")
	if err != nil {
		return Backup{}, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	b := Backup{Path: path}
	if b.Version, err = versionOf(ctx, db, path); err != nil {
		return Backup{}, err
	}
	if err := checkPages(ctx, db); err != nil {
		return Backup{}, err
	}
	if b.Tables, err = countTables(ctx, db); err != nil {
		return Backup{}, err
	}
	b.Audits, err = soundAudits(ctx, db)
	return b, err
}

// checkPages has SQLite look at every page and every index.
func checkPages(ctx context.Context, db *sql.DB) error {
	var found string
	if err := db.QueryRowContext(ctx, "PRAGMA integrity_check(1)").Scan(&found); err != nil {
		return fmt.Errorf("check pages: %w", translate(err))
	}
	if found != "ok" {
		return say(errors.New(found), sayDamaged)
	}
	return nil
}

const selectTableThere = `SELECT name FROM sqlite_schema WHERE type = 'table' AND name = $1`

// countTables counts and sums up the tables that are there: an older version has
// fewer.
func countTables(ctx context.Context, db *sql.DB) ([]Copied, error) {
	var all []Copied
	for _, t := range allTables() {
		var name string
		there, err := found(db.QueryRowContext(ctx, selectTableThere, t.name).Scan(&name))
		if err != nil {
			return nil, err
		}
		if !there {
			continue
		}
		counted, err := eachRow(ctx, t, db, func([]string, []any) error { return nil })
		if err != nil {
			return nil, fmt.Errorf("count %s: %w", t.name, translate(err))
		}
		all = append(all, counted)
	}
	return all, nil
}

// sumOf is a file's SHA-256 in hexadecimal.
func sumOf(path string) (sum string, err error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", fmt.Errorf("sum up %s: %w", path, err)
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// sumBeside reads the checksum that stands beside a backup; empty when none does.
func sumBeside(path string) (sum string, err error) {
	raw, err := os.ReadFile(path + SumSuffix)
	if errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	sum, _, _ = strings.Cut(string(raw), " ")
	return strings.TrimSpace(sum), err
}

func writeDurably(path, text string) error {
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		return err
	}
	return syncPath(path)
}

// syncPath has a file, or the names in a folder, on the disk before it returns.
func syncPath(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	err = f.Sync()
	if info, statErr := f.Stat(); statErr == nil && info.IsDir() {
		err = nil // not every system can do that for a folder
	}
	return errors.Join(err, f.Close())
}
