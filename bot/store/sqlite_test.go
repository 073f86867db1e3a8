package store_test

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"kitbell/bot"
	"kitbell/bot/kit"
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

// TestTamperingShows changes a stored audit behind the program's back.
func TestTamperingShows(t *testing.T) {
	free := []string{"DROP TRIGGER audit_never_changed", "DROP TRIGGER audit_never_removed"}
	for _, row := range []struct {
		name  string
		do    string
		fault string
	}{
		{"another actor", "UPDATE audit SET actor = 'someone-else' WHERE seq = 2", "row 2: it was changed"},
		{"another moment", "UPDATE audit SET at = at + 1 WHERE seq = 1", "row 1: it was changed"},
		{"a word moved to the next column", "UPDATE audit SET verb = verb || 'l', subject = substr(subject, 2) WHERE seq = 1", "row 1: it was changed"},
		{"a row gone", "DELETE FROM audit WHERE seq = 2", "row 2: it is missing"},
		{"the first rows gone", "DELETE FROM audit WHERE seq <= 2", "row 1: it is missing"},
		{"another hash", "UPDATE audit SET hash = zeroblob(32) WHERE seq = 3", "row 3: it was changed"},
		{"another hash before", "UPDATE audit SET prev = zeroblob(32) WHERE seq = 3", "row 3: it does not follow"},
		{"the text changed", "UPDATE audit_text SET new_text = 'nothing' WHERE seq = 2", "row 2: the text beside it was changed"},
		{"the text gone", "DELETE FROM audit_text WHERE seq = 2", "row 2: the text beside it is missing"},
	} {
		t.Run(row.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "kitbell.db")
			db := mustOpen(t, path)
			for i, item := range []string{"door-strap", "latch-film", "wood-wedge"} {
				must(t, db.Apply(t.Context(), storetest.Turn("", kit.File(nil, storetest.Report(item), i+1))))
			}
			rawExec(t, path, append(free, row.do)...)
			_, err := db.VerifyAudit(t.Context(), storetest.Department)
			if err == nil || !strings.Contains(err.Error(), row.fault) {
				t.Errorf("got %v, want %q", err, row.fault)
			}
		})
	}
}

func TestAuditRowsCannotBeChanged(t *testing.T) {
	db := mustOpen(t, filepath.Join(t.TempDir(), "kitbell.db"))
	must(t, db.Apply(t.Context(), storetest.Turn("", bot.Written{Entry: bot.NewEntry("use", "k07", "a", storetest.Noon, 1)})))
	for _, s := range []string{"UPDATE audit SET actor = 'b'", "DELETE FROM audit"} {
		if err := db.Write(t.Context(), func(exec func(string, ...any) error) error { return exec(s) }); err == nil {
			t.Errorf("%s went through", s)
		}
	}
}
