package store_test

import (
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/pressly/goose/v3"

	"kitbell/bot/store"
)

// olderFile makes a database with the tables of an older version, and a line that
// was taken in it.
func olderFile(t *testing.T, version int64) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "kitbell.db")
	db, err := sql.Open("sqlite", path)
	must(t, err)
	defer db.Close()
	steps, err := goose.NewProvider(goose.DialectSQLite3, db, os.DirFS("migrations/sqlite"), goose.WithTableName("schema_version"), goose.WithDisableGlobalRegistry(true))
	must(t, err)
	_, err = steps.UpTo(t.Context(), version)
	must(t, err)
	const line = `('dept', 41, 2, 'k07', 'engine-4', 'latch-film', 'missing', 2, 'taken', 'a', 'A', '', 1, 1000, 2000`
	rawExec(t, path, fmt.Sprintf("PRAGMA application_id = %d", store.ApplicationID),
		`INSERT INTO lines (department, number, version, kit, unit, item, condition, count, state, member, platoon, note, reports, opened_at, changed_at) VALUES `+line+`)`,
		`INSERT INTO line_steps (department, number, version, kit, unit, item, condition, count, state, member, platoon, note, reports, opened_at, changed_at, verb, actor, at, event) VALUES `+line+`, 'line-moved', 'b', 2000, 'e1')`)
	return path
}

// Each version that was released is brought up to date with what is in it.
func TestOlderTablesAreMigrated(t *testing.T) {
	for name, open := range map[string]func(string) (*store.DB, error){
		"the file itself": func(path string) (*store.DB, error) { return store.Open(t.Context(), path, store.Options{}) },
		"a copy of it":    func(path string) (*store.DB, error) { return store.OpenCopy(t.Context(), path, store.Options{}) },
	} {
		t.Run(name+", one step behind", func(t *testing.T) {
			db, err := open(olderFile(t, 2))
			must(t, err)
			defer db.Close()
			photos, err := db.Photos(t.Context(), "dept", 41)
			must(t, err)
			if len(photos) != 0 {
				t.Errorf("%+v", photos)
			}
		})
		t.Run(name, func(t *testing.T) {
			db, err := open(olderFile(t, 1))
			must(t, err)
			defer db.Close()
			line, err := db.Line(t.Context(), "dept", 41)
			must(t, err)
			if line.State != "taken" || !line.StateAt.Equal(line.ChangedAt) || !line.Expected.IsZero() || line.Received != 0 {
				t.Errorf("%+v", line)
			}
			history, err := db.History(t.Context(), "dept", 41)
			must(t, err)
			if len(history) != 1 || history[0].New != line {
				t.Errorf("%+v", history)
			}
		})
	}
}
