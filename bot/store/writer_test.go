package store_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"

	"kitbell/bot"
	"kitbell/bot/store"
)

const keep = `INSERT INTO settings (department, name, value) VALUES ('d', $1, '')`

func kept(t *testing.T, db *store.DB, name string) bool {
	t.Helper()
	_, ok, err := db.Setting(t.Context(), "d", name)
	must(t, err)
	return ok
}

// holdWriter keeps the writer in a function until release is called, so that
// what is submitted meanwhile becomes one batch.
func holdWriter(t *testing.T, db *store.DB) (release func()) {
	t.Helper()
	entered, leave, done := make(chan struct{}), make(chan struct{}), make(chan error, 1)
	go func() {
		done <- db.Write(t.Context(), func(func(string, ...any) error) error {
			close(entered)
			<-leave
			return nil
		})
	}()
	<-entered
	return func() { close(leave); must(t, <-done) }
}

func TestOneFailureLeavesTheBatchWhole(t *testing.T) { onBoth(t, oneFailureLeavesTheBatchWhole) }

func oneFailureLeavesTheBatchWhole(t *testing.T, place string) {
	db := mustOpen(t, place)
	boom := errors.New("boom")
	for _, row := range []struct {
		name string
		end  func(exec func(string, ...any) error) error
		want func(error) bool
	}{
		{"an error", func(func(string, ...any) error) error { return boom }, func(err error) bool { return errors.Is(err, boom) }},
		{"a panic", func(func(string, ...any) error) error { panic("nil map") }, func(err error) bool {
			return err != nil && strings.Contains(err.Error(), "nil map")
		}},
		{"a clash", func(exec func(string, ...any) error) error { return exec(keep, "taken") }, func(err error) bool { return errors.Is(err, bot.ErrConflict) }},
		{"bad SQL", func(exec func(string, ...any) error) error { return exec("INSERT INTO nowhere VALUES (1)") }, func(err error) bool { return err != nil }},
	} {
		t.Run(row.name, func(t *testing.T) {
			_ = db.SetSetting(t.Context(), "d", "taken", "")
			release := holdWriter(t, db)
			var group sync.WaitGroup
			for i := range 9 {
				group.Go(func() {
					name := fmt.Sprint(row.name, i)
					err := db.Write(t.Context(), func(exec func(string, ...any) error) error {
						if err := exec(keep, name); err != nil || i != 4 {
							return err
						}
						return row.end(exec)
					})
					if i == 4 && !row.want(err) || i != 4 && err != nil {
						t.Errorf("function %d: %v", i, err)
					}
				})
			}
			release()
			group.Wait()
			for i := range 9 {
				if name := fmt.Sprint(row.name, i); kept(t, db, name) != (i != 4) {
					t.Errorf("function %d: kept %v", i, i == 4)
				}
			}
		})
	}
}

func TestACallerThatGivesUpDidNotWrite(t *testing.T) { onBoth(t, aCallerThatGivesUpDidNotWrite) }

func aCallerThatGivesUpDidNotWrite(t *testing.T, place string) {
	db := mustOpen(t, place)
	release := holdWriter(t, db)
	ctx, cancel := context.WithCancel(t.Context())
	gone := make(chan error, 1)
	go func() { gone <- db.SetSetting(ctx, "d", "gone", "") }()
	stays := make(chan error, 1)
	go func() { stays <- db.SetSetting(t.Context(), "d", "stays", "") }()
	cancel()
	if err := <-gone; !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
	release()
	must(t, <-stays)
	if kept(t, db, "gone") || !kept(t, db, "stays") {
		t.Error("the wrong one was kept")
	}
}

func TestACallerThatGivesUpTooLateHearsTheOutcome(t *testing.T) {
	onBoth(t, aCallerThatGivesUpTooLateHearsTheOutcome)
}

func aCallerThatGivesUpTooLateHearsTheOutcome(t *testing.T, place string) {
	db := mustOpen(t, place)
	ctx, cancel := context.WithCancel(t.Context())
	err := db.Write(ctx, func(exec func(string, ...any) error) error {
		cancel()
		return exec(keep, "late")
	})
	if err != nil || !kept(t, db, "late") {
		t.Errorf("got %v, kept %v", err, kept(t, db, "late"))
	}
}

// TestCloseDrains closes the store under load: every write either says that the
// store is closed, or is there when it opens again.
func TestCloseDrains(t *testing.T) { onBoth(t, closeDrains) }

func closeDrains(t *testing.T, place string) {
	db, err := store.Open(t.Context(), place, store.Options{})
	must(t, err)
	release := holdWriter(t, db)
	var group sync.WaitGroup
	results := make([]error, 100)
	for i := range results {
		group.Go(func() { results[i] = db.SetSetting(t.Context(), "d", fmt.Sprint(i), "") })
	}
	closed := make(chan error, 1)
	go func() { closed <- db.Close() }()
	release()
	must(t, <-closed)
	group.Wait()

	again := mustOpen(t, place)
	for i, err := range results {
		if kept(t, again, fmt.Sprint(i)) != (err == nil) {
			t.Errorf("write %d: %v, but kept: %v", i, err, err != nil)
		}
	}
}
