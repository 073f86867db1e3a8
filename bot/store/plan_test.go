package store_test

import (
	"path/filepath"
	"regexp"
	"slices"
	"testing"
)

// harmless are the steps of a plan that read a whole table, a whole index or all
// that a department has in one, where that is little however long the department
// has been there, or is what the statement is for.
var harmless = []string{
	"SCAN inbox USING INDEX inbox_new",       // a partial index: what is not handled yet
	"SCAN outbox USING INDEX outbox_sending", // likewise: what is being sent
	"SCAN lanes",                             // the recursion over lanes with open messages
	"SCAN written",                           // a person's writes of the last minutes
	"SCAN CONSTANT ROW",
	"SEARCH lines USING INDEX lines_open (department=?)", // the open queue
	"SEARCH lines USING COVERING INDEX sqlite_autoindex_lines_1 (department=?)",  // max(number): its end only
	"SEARCH due USING INDEX due_waiting (department=?)",                          // what waits
	"SEARCH cursors USING INDEX sqlite_autoindex_cursors_1 (department=?)",       // one row an entry
	"SEARCH audit USING INDEX sqlite_autoindex_audit_1 (department=?)",           // its last row only
	"SEARCH a USING INDEX sqlite_autoindex_audit_1 (department=?)",               // verifying reads all of it
	"SEARCH line_steps USING INDEX sqlite_autoindex_line_steps_1 (department=?)", // the yearly request reads all that became of lines
}

// wide finds the steps that may read much.
var wide = regexp.MustCompile(`^SCAN |AUTOMATIC|\(department=\?\)$`)

// noWideStatement reads SQLite's plan for each of the statements that a store has
// run.
func noWideStatement(t *testing.T, statements []string) {
	slices.Sort(statements)
	statements = slices.Compact(statements)
	if len(statements) < 40 { // else the collecting is broken
		t.Fatalf("only %d statements seen", len(statements))
	}
	db := mustOpen(t, filepath.Join(t.TempDir(), "kitbell.db"))
	control := regexp.MustCompile(`^(?:/\* upkeep \*/|(?:BEGIN|COMMIT|ROLLBACK|SAVEPOINT|RELEASE|PRAGMA)\b)`)
	for _, s := range statements {
		if control.MatchString(s) {
			continue
		}
		steps, err := db.Explain(t.Context(), s)
		must(t, err)
		for _, step := range steps {
			if wide.MatchString(step) && !slices.Contains(harmless, step) {
				t.Errorf("%s: %s", step, s)
			}
		}
	}
}
