package store_test

import (
	"context"
	"database/sql"
	"path/filepath"
	"testing"

	_ "github.com/jackc/pgx/v5/stdlib" // the database/sql driver named pgx

	"kitbell/bot/store"
)

// onBoth runs a test on a new place for each database.
func onBoth(t *testing.T, test func(t *testing.T, place string)) {
	t.Run("SQLite", func(t *testing.T) { test(t, filepath.Join(t.TempDir(), "kitbell.db")) })
	t.Run("PostgreSQL", func(t *testing.T) { test(t, server.Database(t)) })
}

// rawOpen opens a database behind the store's back.
func rawOpen(t testing.TB, place string) *sql.DB {
	t.Helper()
	driver := "sqlite"
	if store.IsPostgres(place) {
		driver = "pgx"
	}
	db, err := sql.Open(driver, place)
	must(t, err)
	t.Cleanup(func() { db.Close() })
	return db
}

// rawExec changes a database behind the store's back.
func rawExec(t testing.TB, place string, statements ...string) {
	t.Helper()
	db := rawOpen(t, place)
	defer db.Close()
	for _, s := range statements {
		if _, err := db.ExecContext(context.Background(), s); err != nil {
			t.Fatalf("%s: %v", s, err)
		}
	}
}
