package store_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/pressly/goose/v3"

	"kitbell/bot/store"
)

// older makes the tables of an older version at a place, and a line that was taken
// in it.
func older(t *testing.T, place string, version int64) {
	t.Helper()
	dialect, folder := goose.DialectSQLite3, "migrations/sqlite"
	if store.IsPostgres(place) {
		dialect, folder = goose.DialectPostgres, "migrations/postgres"
	}
	db := rawOpen(t, place)
	defer db.Close()
	steps, err := goose.NewProvider(dialect, db, os.DirFS(folder), goose.WithTableName("schema_version"), goose.WithDisableGlobalRegistry(true))
	must(t, err)
	_, err = steps.UpTo(t.Context(), version)
	must(t, err)
	const line = `('dept', 41, 2, 'k07', 'engine-4', 'latch-film', 'missing', 2, 'taken', 'a', 'A', '', 1, 1000, 2000`
	rawExec(t, place,
		`INSERT INTO lines (department, number, version, kit, unit, item, condition, count, state, member, platoon, note, reports, opened_at, changed_at) VALUES `+line+`)`,
		`INSERT INTO line_steps (department, number, version, kit, unit, item, condition, count, state, member, platoon, note, reports, opened_at, changed_at, verb, actor, at, event) VALUES `+line+`, 'line-moved', 'b', 2000, 'e1')`)
	if !store.IsPostgres(place) {
		rawExec(t, place, fmt.Sprintf("PRAGMA application_id = %d", store.ApplicationID))
	}
}

// Each version that was released is brought up to date with what is in it.
func TestOlderTablesAreMigrated(t *testing.T) {
	file := func() string { return filepath.Join(t.TempDir(), "kitbell.db") }
	for _, row := range []struct {
		name  string
		place func() string
		open  func(context.Context, string, store.Options) (*store.DB, error)
	}{
		{"a file", file, store.Open},
		{"a copy of a file", file, store.OpenCopy},
		{"a PostgreSQL database", func() string { return server.Empty(t) }, store.Open},
	} {
		for version := range store.NewestMigration() {
			if version == 0 {
				continue
			}
			t.Run(fmt.Sprintf("%s, version %d", row.name, version), func(t *testing.T) {
				place := row.place()
				older(t, place, version)
				db, err := row.open(t.Context(), place, store.Options{})
				must(t, err)
				defer db.Close()
				keptFromBefore(t, db)
			})
		}
	}
}

// keptFromBefore checks the line that older wrote, and that the store works.
func keptFromBefore(t *testing.T, db *store.DB) {
	t.Helper()
	line, err := db.Line(t.Context(), "dept", 41)
	must(t, err)
	if line.State != "taken" || !line.Expected.IsZero() || line.Received != 0 {
		t.Errorf("%+v", line)
	}
	history, err := db.History(t.Context(), "dept", 41)
	must(t, err)
	if len(history) != 1 || history[0].New != line {
		t.Errorf("%+v", history)
	}
	if photos, err := db.Photos(t.Context(), "dept", 41); err != nil || len(photos) != 0 {
		t.Errorf("%+v, %v", photos, err)
	}
	if number, err := db.NextNumber(t.Context(), "dept"); err != nil || number != 42 {
		t.Errorf("the next line is %d, %v", number, err)
	}
}

// What version 2 added to a line of version 1 is filled in.
func TestOlderLinesKnowSinceWhen(t *testing.T) {
	for _, place := range []string{filepath.Join(t.TempDir(), "kitbell.db"), server.Empty(t)} {
		older(t, place, 1)
		line, err := mustOpen(t, place).Line(t.Context(), "dept", 41)
		must(t, err)
		if !line.StateAt.Equal(line.ChangedAt) || line.StateAt.IsZero() {
			t.Errorf("%+v", line)
		}
	}
}

// Both databases have the same versions, under the same names.
func TestVersionsAreTheSame(t *testing.T) {
	names := func(folder string) (all []string) {
		files, err := os.ReadDir(folder)
		must(t, err)
		for _, f := range files {
			all = append(all, f.Name())
		}
		return all
	}
	if diff := cmp.Diff(names("migrations/sqlite"), names("migrations/postgres")); diff != "" {
		t.Error(diff)
	}
}
