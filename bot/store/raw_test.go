package store_test

import (
	"database/sql"
	"testing"
)

// rawExec changes a database behind the store's back.
func rawExec(t testing.TB, path string, statements ...string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	must(t, err)
	defer db.Close()
	for _, s := range statements {
		if _, err := db.ExecContext(t.Context(), s); err != nil {
			t.Fatalf("%s: %v", s, err)
		}
	}
}
