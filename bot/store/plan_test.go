package store_test

import (
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"kitbell/bot/store"
	"kitbell/bot/store/storetest"
)

// harmless are the steps of a plan that read a whole table or index that is
// small however long the department has been there.
var harmless = []string{
	"inbox USING INDEX inbox_new",       // a partial index: what is not handled yet
	"outbox USING INDEX outbox_sending", // likewise: what is being sent
	"lanes",                             // the recursion over lanes with open messages
	"written",                           // a person's writes of the last minutes
	"CONSTANT ROW",
}

// TestNoStatementReadsAWholeTable runs the contract, collects every statement
// that it made the store run, and reads SQLite's plan for each.
func TestNoStatementReadsAWholeTable(t *testing.T) {
	var statements []string
	storetest.Run(t, func(t testing.TB, place string) *store.DB {
		db, err := store.Open(t.Context(), filepath.Join(place, "kitbell.db"), store.Options{})
		must(t, err)
		t.Cleanup(func() { statements = append(statements, db.Statements()...) })
		return db
	})
	slices.Sort(statements)
	statements = slices.Compact(statements)
	if len(statements) < 40 {
		t.Fatalf("only %d statements seen", len(statements))
	}
	db := mustOpen(t, filepath.Join(t.TempDir(), "kitbell.db"))
	control := regexp.MustCompile(`^(BEGIN|COMMIT|ROLLBACK|SAVEPOINT|RELEASE|PRAGMA)\b`)
	for _, s := range statements {
		if control.MatchString(s) {
			continue
		}
		steps, err := db.Explain(t.Context(), s)
		must(t, err)
		for _, step := range steps {
			what, scans := strings.CutPrefix(step, "SCAN ")
			if scans && !slices.Contains(harmless, what) || strings.Contains(step, "AUTOMATIC") {
				t.Errorf("%s: %s", step, s)
			}
		}
	}
}
