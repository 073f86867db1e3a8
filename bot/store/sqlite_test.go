package store_test

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"kitbell/bot/store"
	"kitbell/bot/store/storetest"
)

// TestContract also collects every statement that the contract made the stores
// run, and looks at their plans.
func TestContract(t *testing.T) {
	var statements []string
	storetest.Run(t, func(t testing.TB, place string) *store.DB {
		db, err := store.Open(t.Context(), filepath.Join(place, "kitbell.db"), store.Options{})
		must(t, err)
		t.Cleanup(func() { statements = append(statements, db.Statements()...) })
		return db
	})
	t.Run("no statement reads a whole table", func(t *testing.T) { noWideStatement(t, statements) })
}

// TestEveryConnectionHasItsSettings reads them back, since SQLite takes a
// misspelt pragma without a word. Values: sqlite.org/pragma.html.
func TestEveryConnectionHasItsSettings(t *testing.T) {
	db := mustOpen(t, filepath.Join(t.TempDir(), "kitbell.db"))
	for _, row := range []struct{ pragma, reads, writes string }{
		{"journal_mode", "wal", "wal"}, {"synchronous", "", "2"}, {"foreign_keys", "1", "1"},
		{"busy_timeout", "5000", "5000"}, {"query_only", "1", "0"}, {"secure_delete", "2", "2"},
	} {
		reads, writes, err := db.Pragma(t.Context(), row.pragma)
		must(t, err)
		if writes != row.writes || row.reads != "" && reads != row.reads {
			t.Errorf("%s: %s for reading, %s for writing", row.pragma, reads, writes)
		}
	}
}

func TestRecent(t *testing.T) {
	for version, want := range map[string]bool{
		"3.51.3": true, "3.51.10": true, "3.52.0": true, "4.0.0": true, "3.51.2": false, "3.9.99": false, "2.99.99": false, "": false, "new": false,
	} {
		if store.Recent(version) != want {
			t.Errorf("%q: %v", version, !want)
		}
	}
}

// TestWordsGoWhenTheyAreHandled looks for them in the files themselves.
func TestWordsGoWhenTheyAreHandled(t *testing.T) {
	path := filepath.Join(t.TempDir(), "kitbell.db")
	db, err := store.Open(t.Context(), path, store.Options{})
	must(t, err)
	event := storetest.Event("1")
	event.Text = "the sentence to be forgotten"
	_, err = db.Receive(t.Context(), event)
	must(t, err)
	must(t, db.Apply(t.Context(), storetest.Turn("1")))
	must(t, db.Close()) // writes the log back into the file
	files, err := filepath.Glob(path + "*")
	must(t, err)
	for _, f := range files {
		if raw, err := os.ReadFile(f); err != nil || bytes.Contains(raw, []byte("forgotten")) {
			t.Errorf("%s still holds them (%v)", filepath.Base(f), err)
		}
	}
}
