package store

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"strconv"
	"strings"

	"github.com/pressly/goose/v3"

	_ "modernc.org/sqlite" // the database/sql driver named sqlite
)

//go:embed migrations
var migrations embed.FS

// schema is the tables in the words of one database. Both have the same versions.
type schema struct {
	dialect goose.Dialect
	folder  string
}

var (
	onSQLite   = schema{goose.DialectSQLite3, "migrations/sqlite"}
	onPostgres = schema{goose.DialectPostgres, "migrations/postgres"}
)

const (
	selectVersion = `SELECT coalesce(max(version_id), 0) FROM schema_version`
	selectOurs    = `SELECT count(*) FROM sqlite_schema WHERE name = 'schema_version'`
	selectTables  = `SELECT count(*) FROM sqlite_schema`
)

// oldestSQLite is the first version without the fault by which a write-ahead
// log could be reset under a reader (3.7.0 to 3.51.2).
var oldestSQLite = [3]int{3, 51, 3}

// inspect looks at an existing file before anything is changed in it.
func inspect(ctx context.Context, path string) error {
	if info, err := os.Stat(path); err != nil || info.Size() == 0 {
		return nil // it will be made
	}
	reads, err := openPool(path, "rw")
	if err != nil {
		return err
	}
	defer reads.Close()
	return checkOurs(ctx, reads, path)
}

// checkOurs refuses a database that another program made.
func checkOurs(ctx context.Context, db *sql.DB, path string) error {
	var id, tables int64
	if err := db.QueryRowContext(ctx, "PRAGMA application_id").Scan(&id); err != nil {
		return fmt.Errorf("read application id: %w", err)
	}
	if err := db.QueryRowContext(ctx, selectTables).Scan(&tables); err != nil {
		return fmt.Errorf("count tables: %w", err)
	}
	if id != applicationID && (id != 0 || tables > 0) {
		return say(nil, sayNotOurs, path)
	}
	return nil
}

// checkReadable says whether a reader of this program understands the file.
func checkReadable(ctx context.Context, reads *sql.DB, path string) error {
	version, err := versionOf(ctx, reads, path)
	if err == nil && version < newestMigration() {
		return say(nil, sayOlder, path)
	}
	return err
}

// versionOf gives the version of a file's tables. One that another program made,
// that has no tables yet or that a newer program wrote is refused.
func versionOf(ctx context.Context, db *sql.DB, path string) (version int64, err error) {
	if err := checkSQLite(ctx, db); err != nil {
		return 0, translateOpen(err, path)
	}
	if err := checkOurs(ctx, db, path); err != nil {
		return 0, translateOpen(err, path)
	}
	var made int64
	if err := db.QueryRowContext(ctx, selectOurs).Scan(&made); err != nil {
		return 0, translateOpen(err, path)
	}
	if made == 0 {
		return 0, say(nil, sayNoDatabase, path)
	}
	if err := db.QueryRowContext(ctx, selectVersion).Scan(&version); err != nil {
		return 0, translateOpen(err, path)
	}
	if newest := newestMigration(); version > newest {
		return 0, say(nil, sayNewer, path, version, newest)
	}
	return version, nil
}

func checkSQLite(ctx context.Context, db *sql.DB) error {
	var text string
	if err := db.QueryRowContext(ctx, "SELECT sqlite_version()").Scan(&text); err != nil {
		return fmt.Errorf("read version of SQLite: %w", err)
	}
	if !recent(text) {
		return fmt.Errorf("SQLite %s can lose what was written; this program needs %d.%d.%d or newer",
			text, oldestSQLite[0], oldestSQLite[1], oldestSQLite[2])
	}
	return nil
}

func recent(version string) bool {
	for i, part := range strings.SplitN(version, ".", 3) {
		n, err := strconv.Atoi(part)
		if err != nil || n < oldestSQLite[i] {
			return false
		}
		if n > oldestSQLite[i] {
			return true
		}
	}
	return true
}

// migrate brings the tables up to this program's version, each step in a
// transaction of its own. Tables that are newer are refused and not touched.
func migrate(ctx context.Context, db *sql.DB, to schema, path string, log *slog.Logger) error {
	steps, err := fs.Sub(migrations, to.folder)
	if err != nil {
		return fmt.Errorf("read migrations: %w", err)
	}
	provider, err := goose.NewProvider(to.dialect, db, steps,
		goose.WithTableName("schema_version"), goose.WithDisableGlobalRegistry(true))
	if err != nil {
		return fmt.Errorf("prepare migrations: %w", err)
	}
	version, newest, err := provider.GetVersions(ctx)
	if err != nil {
		return fmt.Errorf("read version of tables: %w", err)
	}
	if version > newest {
		return say(nil, sayNewer, path, version, newest)
	}
	if version == newest {
		return nil
	}
	if _, err := provider.Up(ctx); err != nil {
		return fmt.Errorf("migrate from version %d to %d: %w", version, newest, err)
	}
	log.InfoContext(ctx, "tables migrated", "from", version, "to", newest)
	return nil
}

// querier is what a database and a connection of it have in common.
type querier interface {
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// oldestPostgres is the oldest version that the tests run with.
const oldestPostgres = 15

const (
	selectServerVersion = `SELECT current_setting('server_version_num')::int / 10000`

	selectServerTables = `
SELECT to_regclass('schema_version') IS NOT NULL AND to_regclass('audit_text') IS NOT NULL,
    (SELECT count(*) FROM pg_class WHERE relnamespace = current_schema()::regnamespace AND relkind IN ('r', 'p', 'v', 'm'))`
)

// version gives the version of a database's tables, 0 when it has none yet. One
// with another program's tables or with a newer program's is refused.
func (s server) version(ctx context.Context, db querier) (version int64, err error) {
	var major, tables int64
	if err := db.QueryRowContext(ctx, selectServerVersion).Scan(&major); err != nil {
		return 0, fmt.Errorf("read version of PostgreSQL: %w", err)
	}
	if major < oldestPostgres {
		return 0, say(nil, sayOldServer, s.name, major, oldestPostgres)
	}
	var ours bool
	if err := db.QueryRowContext(ctx, selectServerTables).Scan(&ours, &tables); err != nil {
		return 0, fmt.Errorf("count tables: %w", err)
	}
	switch {
	case tables == 0:
		return 0, nil
	case !ours:
		return 0, say(nil, sayNotOurServer, s.name)
	}
	if err := db.QueryRowContext(ctx, selectVersion).Scan(&version); err != nil {
		return 0, fmt.Errorf("read version of tables: %w", err)
	}
	if newest := newestMigration(); version > newest {
		return 0, say(nil, sayNewer, s.name, version, newest)
	}
	return version, nil
}

// newestMigration is the version that this program's tables have: the number
// that its last migration's name begins with.
func newestMigration() int64 {
	files, err := fs.Glob(migrations, onSQLite.folder+"/*.sql")
	if err != nil || len(files) == 0 {
		panic("store: no migrations embedded") // the build is broken
	}
	name := files[len(files)-1]
	number, _, _ := strings.Cut(name[strings.LastIndex(name, "/")+1:], "_")
	version, err := strconv.ParseInt(number, 10, 64)
	if err != nil {
		panic("store: name of migration " + name)
	}
	return version
}
