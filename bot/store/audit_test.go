package store_test

import (
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
				_, err := db.VerifyAudit(t.Context(), storetest.Department)
				if err == nil || !strings.Contains(err.Error(), row.fault) {
					t.Errorf("got %v, want %q", err, row.fault)
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
	return []string{"DROP TRIGGER audit_never_changed", "DROP TRIGGER audit_never_removed"}
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
