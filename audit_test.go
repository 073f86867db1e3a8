package main

import (
	"database/sql"
	"path/filepath"
	"strings"
	"testing"

	_ "modernc.org/sqlite" // opens the file behind the program's back
)

// behindTheBack changes a department's file with no program between.
func behindTheBack(t *testing.T, dir string, statements ...string) {
	t.Helper()
	db, err := sql.Open("sqlite", filepath.Join(dir, databaseFile))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, s := range statements {
		if _, err := db.ExecContext(t.Context(), s); err != nil {
			t.Fatal(err)
		}
	}
}

// The audit is verified and shown; a changed row ends with 1 and is named.
func TestAudit(t *testing.T) {
	dir := started(t)
	if code, out := cli(t, "E1 shove knife missing\nL2 wood wedge broken\n", "run", "-c", dir); code != exitOK {
		t.Fatal(out)
	}
	for _, row := range []struct {
		name      string
		statement string
		args      []string
		code      int
		say       string
	}{
		{"sound", "", []string{"verify"}, exitOK, "none"},
		{"shown", "", []string{"show", "--last", "50"}, exitOK, "line-opened  line:2"},
		{"no rows to show", "", []string{"show", "--last", "0"}, exitUsage, "1 or more"},
		{"nothing to do", "", nil, exitUsage, "audit verify"},
		{"a text removed", "UPDATE audit_text SET salt = x'', old_text = '', new_text = '', blanked_at = 1795000000000000000 WHERE seq = 1", []string{"show", "--last", "50"}, exitOK, "(text removed on 2026-11-18)"},
		{"removed texts are sound", "", []string{"verify"}, exitOK, "none"},
		{"changed", "UPDATE audit SET actor = 'nobody' WHERE seq = 2", []string{"verify"}, exitError, "2: it was changed"},
	} {
		t.Run(row.name, func(t *testing.T) {
			if row.statement != "" {
				behindTheBack(t, dir, "DROP TRIGGER IF EXISTS audit_never_changed", row.statement)
			}
			if len(row.args) > 0 {
				row.args = append(row.args, "-c", dir)
			}
			code, out := cli(t, "", append([]string{"audit"}, row.args...)...)
			if code != row.code || !strings.Contains(out, row.say) {
				t.Errorf("ended with %d: %s\nwant %d and %q", code, out, row.code, row.say)
			}
		})
	}
}
