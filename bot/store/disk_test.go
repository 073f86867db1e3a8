package store_test

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"

	"kitbell/bot/store"
	"kitbell/bot/store/storetest"
)

// TestFullDisk takes the room away by SQLite's own limit, which fails in the
// same way and with the same code as a disk without room.
func TestFullDisk(t *testing.T) {
	path := filepath.Join(t.TempDir(), "kitbell.db")
	db := mustOpen(t, path)
	limit := func(pages int) {
		t.Helper()
		must(t, db.Write(t.Context(), func(exec func(string, ...any) error) error {
			return exec(fmt.Sprintf("PRAGMA max_page_count = %d", pages))
		}))
	}
	limit(1) // SQLite makes it what the file has now
	event := storetest.Event("big")
	event.Text = strings.Repeat("x", 1<<20)
	release := holdWriter(t, db)
	var group sync.WaitGroup
	results := make([]error, 5)
	for i := range results { // those who share the commit hear of it too
		group.Go(func() {
			e := event
			e.ID = fmt.Sprint(i)
			_, results[i] = db.Receive(t.Context(), e)
		})
	}
	release()
	group.Wait()
	for _, err := range results {
		wantSentence(t, err, "disk is full")
	}
	if left, err := db.Unhandled(t.Context()); err != nil || len(left) != 0 {
		t.Errorf("%d events were stored, %v", len(left), err)
	}

	limit(1 << 30)
	fresh, err := db.Receive(t.Context(), event)
	if err != nil || !fresh {
		t.Errorf("with room again: %v, %v", fresh, err)
	}
}

func TestOpenWithoutPermission(t *testing.T) {
	for _, row := range []struct {
		name string
		err  error
	}{
		{"a folder of somebody else's", &fs.PathError{Op: "open", Err: syscall.EACCES}},
		{"a read-only disk", &fs.PathError{Op: "open", Err: syscall.EROFS}},
	} {
		t.Run(row.name, func(t *testing.T) {
			wantSentence(t, store.TranslateOpen(fmt.Errorf("open lock file: %w", row.err), "x.db"), "may not write")
		})
	}
	if other := errors.New("other"); !errors.Is(store.TranslateOpen(other, "x.db"), other) {
		t.Error("an error that nobody can mend was changed")
	}
}

func TestOpenInAReadOnlyFolder(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Skip("the administrator may write anywhere")
	}
	dir := t.TempDir()
	must(t, os.Chmod(dir, 0o500))
	_, err := store.Open(t.Context(), filepath.Join(dir, "kitbell.db"), store.Options{})
	wantSentence(t, err, "may not write")
}
