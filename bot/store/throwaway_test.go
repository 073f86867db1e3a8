package store_test

import (
	"path/filepath"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/store"
)

// A copy has what the database has, also what is only in the write-ahead log,
// and what is written to it stays away from the database.
func TestOpenCopy(t *testing.T) {
	ctx := t.Context()
	path := filepath.Join(t.TempDir(), "kitbell.db")
	db, err := store.Open(ctx, path, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	at := time.Date(2026, 11, 23, 9, 0, 0, 0, time.UTC)
	write := func(db *store.DB, subject string) {
		t.Helper()
		entry := bot.NewEntry("wish", subject, "ines-okafor", at, "more")
		if err := db.Apply(ctx, bot.Turn{Department: "tarn-harbor", Actor: "ines-okafor", At: at, Changes: []bot.Change{bot.Written{Entry: entry}}}); err != nil {
			t.Fatal(err)
		}
	}
	count := func(db *store.DB) int {
		t.Helper()
		entries, err := db.Entries(ctx, "tarn-harbor", "wish", "", time.Time{})
		if err != nil {
			t.Fatal(err)
		}
		return len(entries)
	}
	write(db, "first")
	copied, err := store.OpenCopy(ctx, path, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	write(copied, "second")
	if got := count(copied); got != 2 {
		t.Errorf("the copy has %d entries, want 2", got)
	}
	if err := copied.Close(); err != nil {
		t.Error(err)
	}
	if got := count(db); got != 1 {
		t.Errorf("the database has %d entries, want 1", got)
	}
}

func TestOpenCopyOfNothing(t *testing.T) {
	db, err := store.OpenCopy(t.Context(), filepath.Join(t.TempDir(), "kitbell.db"), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Error(err)
	}
}
