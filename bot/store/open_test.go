package store_test

import (
	"context"
	"encoding/binary"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"kitbell/bot"
	"kitbell/bot/store"
)

func mustOpen(t testing.TB, path string) *store.DB {
	t.Helper()
	db, err := store.Open(t.Context(), path, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	})
	return db
}

// wantSentence checks that err is a sentence for the person with part in it.
func wantSentence(t *testing.T, err error, part string) {
	t.Helper()
	var user *bot.UserError
	if !errors.As(err, &user) {
		t.Fatalf("got %v, want a sentence for the person", err)
	}
	if !strings.Contains(user.Say, part) {
		t.Errorf("got %q, want something about %q", user.Say, part)
	}
}

func TestOpenRefuses(t *testing.T) {
	for _, row := range []struct {
		name    string
		prepare func(t *testing.T, path string) // makes what stands at path
		say     string
	}{
		{"a missing folder", func(t *testing.T, path string) { must(t, os.Remove(filepath.Dir(path))) }, "is not there"},
		{"a folder in its place", func(t *testing.T, path string) { must(t, os.Mkdir(path, 0o700)) }, "is a folder"},
		{"a file that is no database", func(t *testing.T, path string) {
			must(t, os.WriteFile(path, []byte(strings.Repeat("minutes of the meeting\n", 100)), 0o600))
		}, "not a kitbell database"},
		{"a short file that is no database", func(t *testing.T, path string) {
			must(t, os.WriteFile(path, []byte("hello"), 0o600))
		}, "not a kitbell database"},
		{"another program's database", otherProgram, "not a kitbell database"},
		{"a newer kitbell's database", newerTables, "newer kitbell"},
		{"a file in use", func(t *testing.T, path string) { mustOpen(t, path) }, "Another kitbell (process"},
	} {
		t.Run(row.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "sub", "kitbell.db")
			must(t, os.Mkdir(filepath.Dir(path), 0o700))
			row.prepare(t, path)
			before, _ := os.ReadFile(path)
			db, err := store.Open(t.Context(), path, store.Options{})
			if err == nil {
				db.Close()
			}
			wantSentence(t, err, row.say)
			if after, _ := os.ReadFile(path); string(before) != string(after) {
				t.Error("the file was changed")
			}
		})
	}
}

func TestOpenReaderRefuses(t *testing.T) {
	for _, row := range []struct {
		name    string
		prepare func(t *testing.T, path string)
		say     string
	}{
		{"no database yet", func(*testing.T, string) {}, "no database"},
		{"an empty file", func(t *testing.T, path string) { must(t, os.WriteFile(path, nil, 0o600)) }, "no database"},
		{"another program's database", otherProgram, "not a kitbell database"},
		{"a newer kitbell's database", newerTables, "newer kitbell"},
	} {
		t.Run(row.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "kitbell.db")
			row.prepare(t, path)
			_, err := store.OpenReader(t.Context(), path, store.Options{})
			wantSentence(t, err, row.say)
		})
	}
}

func TestReaderRunsBesideTheWriter(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a # strange ? name %41.db")
	writer := mustOpen(t, path)
	reader, err := store.OpenReader(t.Context(), path, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer reader.Close()
	must(t, writer.SetSetting(t.Context(), "d", "last", "7"))
	value, ok, err := reader.Setting(t.Context(), "d", "last")
	if err != nil || !ok || value != "7" {
		t.Errorf("got %q, %v, %v", value, ok, err)
	}
	if err := reader.SetSetting(t.Context(), "d", "last", "8"); err == nil {
		t.Error("a reader wrote")
	}
	if _, err := os.Stat(path); err != nil {
		t.Error("the file has another name:", err)
	}
}

func TestCloseLetsTheNextOneIn(t *testing.T) {
	path := filepath.Join(t.TempDir(), "kitbell.db")
	for range 3 {
		db, err := store.Open(t.Context(), path, store.Options{})
		if err != nil {
			t.Fatal(err)
		}
		must(t, db.Close())
		must(t, db.Close()) // twice does no harm
		if err := db.SetSetting(t.Context(), "d", "a", "b"); err == nil {
			t.Error("a closed store took a write")
		}
	}
}

func TestOpenTempLeavesNothing(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	db, err := store.OpenTemp(t.Context(), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	must(t, db.SetSetting(t.Context(), "d", "a", "b"))
	must(t, db.Close())
	if left, _ := os.ReadDir(os.TempDir()); len(left) != 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestOpenHeedsItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	path := filepath.Join(t.TempDir(), "kitbell.db")
	if _, err := store.Open(ctx, path, store.Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
	mustOpen(t, path) // the lock was let go
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func otherProgram(t *testing.T, path string) { rawExec(t, path, "CREATE TABLE songs (title TEXT)") }

func newerTables(t *testing.T, place string) {
	db, err := store.Open(t.Context(), place, store.Options{})
	must(t, err)
	must(t, db.Close())
	rawExec(t, place, "INSERT INTO schema_version (version_id, is_applied) VALUES (9001, '1')")
}

// TestFileIsMarked reads the mark where SQLite's file format puts it: four bytes
// at offset 68 (sqlite.org/fileformat2.html, "application ID").
func TestFileIsMarked(t *testing.T) {
	path := filepath.Join(t.TempDir(), "kitbell.db")
	db, err := store.Open(t.Context(), path, store.Options{})
	must(t, err)
	must(t, db.Close())
	header, err := os.ReadFile(path)
	must(t, err)
	if got := binary.BigEndian.Uint32(header[68:]); got != 0x6b697462 {
		t.Errorf("mark is %x", got)
	}
}
