package store_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"kitbell/bot"
	"kitbell/bot/kit"
	"kitbell/bot/store"
	"kitbell/bot/store/storetest"
)

// TestTamperingShows changes a stored audit behind the program's back.
func TestTamperingShows(t *testing.T) {
	for _, row := range []struct {
		name  string
		do    string
		fault string
	}{
		{"another actor", "UPDATE audit SET actor = 'someone-else' WHERE seq = 2", "row 2: it was changed"},
		{"another department", "UPDATE audit SET department = 'elsewhere' WHERE seq = 2", "row 2: it is missing"},
		{"another number", "UPDATE audit SET seq = 9 WHERE seq = 3", "row 3: it is missing"},
		{"another event", "UPDATE audit SET event = 'e9' WHERE seq = 2", "row 2: it was changed"},
		{"another verb", "UPDATE audit SET verb = 'line-undone' WHERE seq = 2", "row 2: it was changed"},
		{"another subject", "UPDATE audit SET subject = 'line:9' WHERE seq = 2", "row 2: it was changed"},
		{"another digest", "UPDATE audit SET digest = hash WHERE seq = 2", "row 2: it was changed"},
		{"another salt", "UPDATE audit_text SET salt = (SELECT hash FROM audit WHERE seq = 1) WHERE seq = 2", "row 2: the text beside it was changed"},
		{"the old text changed", "UPDATE audit_text SET old_text = 'something' WHERE seq = 2", "row 2: the text beside it was changed"},
		{"said to be removed", "UPDATE audit_text SET blanked_at = 7 WHERE seq = 2", "row 2: there is text beside it that was removed"},
		{"the last row gone", "DELETE FROM audit WHERE seq = 3", "row 3: it is missing, and its text is there"},
		{"another moment", "UPDATE audit SET at = at + 1 WHERE seq = 1", "row 1: it was changed"},
		{"a word moved to the next column", "UPDATE audit SET verb = verb || 'l', subject = substr(subject, 2) WHERE seq = 1", "row 1: it was changed"},
		{"a row gone", "DELETE FROM audit WHERE seq = 2", "row 2: it is missing"},
		{"the first rows gone", "DELETE FROM audit WHERE seq <= 2", "row 1: it is missing"},
		{"another hash", "UPDATE audit SET hash = prev WHERE seq = 3", "row 3: it was changed"},
		{"another hash before", "UPDATE audit SET prev = hash WHERE seq = 3", "row 3: it does not follow"},
		{"the text changed", "UPDATE audit_text SET new_text = 'nothing' WHERE seq = 2", "row 2: the text beside it was changed"},
		{"the text gone", "DELETE FROM audit_text WHERE seq = 2", "row 2: the text beside it is missing"},
	} {
		t.Run(row.name, func(t *testing.T) {
			onBoth(t, func(t *testing.T, place string) {
				db := mustOpen(t, place)
				for i, item := range []string{"door-strap", "latch-film", "wood-wedge"} {
					must(t, db.Apply(t.Context(), storetest.Turn("", kit.File(nil, storetest.Report(item), i+1))))
				}
				rawExec(t, place, append(freeAudit(place), row.do)...)
				audits, err := db.Audits(t.Context())
				must(t, err)
				i := slices.IndexFunc(audits, func(a store.Audit) bool { return a.Department == storetest.Department })
				if got := fmt.Sprintf("row %d: %s", audits[i].Sound+1, audits[i].Fault); !strings.HasPrefix(got, row.fault) {
					t.Errorf("got %q, want %q", got, row.fault)
				}
			})
		})
	}
}

// freeAudit lets audit rows be changed.
func freeAudit(place string) []string {
	if store.IsPostgres(place) {
		return []string{"ALTER TABLE audit DISABLE TRIGGER USER", "ALTER TABLE audit_text DROP CONSTRAINT audit_text_department_seq_fkey"}
	}
	return []string{"PRAGMA foreign_keys = OFF", "DROP TRIGGER audit_never_changed", "DROP TRIGGER audit_never_removed"}
}

func TestAuditRowsCannotBeChanged(t *testing.T) { onBoth(t, auditRowsCannotBeChanged) }

func auditRowsCannotBeChanged(t *testing.T, place string) {
	db := mustOpen(t, place)
	must(t, db.Apply(t.Context(), storetest.Turn("", bot.Written{Entry: bot.NewEntry("use", "k07", "a", storetest.Noon, 1)})))
	for _, s := range []string{"UPDATE audit SET actor = 'b'", "DELETE FROM audit"} {
		if err := db.Write(t.Context(), func(exec func(string, ...any) error) error { return exec(s) }); err == nil {
			t.Errorf("%s went through", s)
		}
	}
}
