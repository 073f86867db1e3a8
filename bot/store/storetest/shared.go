package storetest

import (
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"

	"kitbell/bot"
	"kitbell/bot/kit"
	"kitbell/bot/store"
)

// RunShared checks what holds between several processes that write to one
// database. open opens the same place for each of them.
func RunShared(t *testing.T, open Opener) {
	for _, part := range []struct {
		name string
		test func(t *testing.T, one, other *store.DB)
	}{
		{"an event is new to one of them", sharedEventIsNewOnce},
		{"an event is handled by one of them", sharedEventIsHandledOnce},
		{"a line moves for one of them", sharedLineMovesOnce},
		{"numbers are never given twice", sharedNumbersAreGivenOnce},
		{"crews report to both", func(t *testing.T, one, other *store.DB) { crewsReportTo(t, one, other) }},
		{"a lease is held by one of them", sharedLeaseIsHeldByOne},
		{"what a lost lease wrote is refused", sharedFencesHold},
		{"lanes are held while they send", sharedLanesAreHeld},
		{"a message read before a failed try waits", sharedRetriesAreNotEarly},
		{"old leases are forgotten", sharedLeasesAreForgotten},
		{"nobody waits for ever", sharedDepartmentsDoNotCross},
	} {
		t.Run(part.name, func(t *testing.T) {
			place := t.TempDir()
			one, other := open(t, place), open(t, place)
			t.Cleanup(func() { check(t, errors.Join(one.Close(), other.Close())) })
			part.test(t, one, other)
		})
	}
}

// bothOften does one thing at both stores at the same time, many times over, and
// counts how often it is true.
func bothOften(t *testing.T, one, other *store.DB, do func(db *store.DB, i int) (bool, error)) int {
	t.Helper()
	var count atomic.Int64
	var group sync.WaitGroup
	for i := range 40 {
		for _, db := range []*store.DB{one, other} {
			group.Go(func() {
				did, err := do(db, i)
				if err != nil {
					t.Error(err)
				}
				if did {
					count.Add(1)
				}
			})
		}
	}
	group.Wait()
	return int(count.Load())
}

func sharedEventIsNewOnce(t *testing.T, one, other *store.DB) {
	fresh := bothOften(t, one, other, func(db *store.DB, i int) (bool, error) {
		return db.Receive(t.Context(), Event(fmt.Sprint(i)))
	})
	if fresh != 40 {
		t.Errorf("40 events were new %d times", fresh)
	}
}

func sharedEventIsHandledOnce(t *testing.T, one, other *store.DB) {
	for i := range 40 {
		received(t, one, fmt.Sprint(i))
	}
	bothOften(t, one, other, func(db *store.DB, i int) (bool, error) {
		turn := Turn(fmt.Sprint(i), bot.Written{Entry: entry("use", "k07", Noon)})
		return true, db.Apply(t.Context(), turn)
	})
	if mark, err := one.Mark(t.Context(), Department, "use"); err != nil || mark.Entries != 40 {
		t.Errorf("40 events wrote %d entries, %v", mark.Entries, err)
	}
	if rows, err := other.VerifyAudit(t.Context(), Department); err != nil || rows != 40 {
		t.Errorf("%d audit rows, %v", rows, err)
	}
}

func sharedLineMovesOnce(t *testing.T, one, other *store.DB) {
	opened := make([]kit.Line, 40)
	for i := range opened {
		opened[i] = filed(t, one, fmt.Sprint(i), Report(fmt.Sprint("item-", i))).New
	}
	moved := bothOften(t, one, other, func(db *store.DB, i int) (bool, error) {
		step, _ := kit.Close(opened[i:i+1], "k07", opened[i].Item, kit.Taken, "a", Noon)
		err := db.Apply(t.Context(), Turn("", step))
		if errors.Is(err, bot.ErrConflict) {
			return false, nil
		}
		return err == nil, err
	})
	if moved != 40 {
		t.Errorf("40 lines moved %d times", moved)
	}
}

func sharedNumbersAreGivenOnce(t *testing.T, one, other *store.DB) {
	var mu sync.Mutex
	given := make(map[int]bool)
	bothOften(t, one, other, func(db *store.DB, _ int) (bool, error) {
		number, err := db.NextNumber(t.Context(), Department)
		mu.Lock()
		defer mu.Unlock()
		given[number] = true
		return true, err
	})
	if len(given) != 80 {
		t.Errorf("80 calls got %d numbers", len(given))
	}
}

// sharedDepartmentsDoNotCross has both write for the same departments in opposite
// orders, many to a commit.
func sharedDepartmentsDoNotCross(t *testing.T, one, other *store.DB) {
	bothOften(t, one, other, func(db *store.DB, i int) (bool, error) {
		for n := range 10 {
			turn := Turn("", bot.Written{Entry: entry("use", "k07", Noon)})
			turn.Department = fmt.Sprint("department-", (i+n)%10)
			if db == other {
				turn.Department = fmt.Sprint("department-", (i+10-n)%10)
			}
			if err := db.Apply(t.Context(), turn); err != nil {
				return false, err
			}
		}
		return true, nil
	})
	for n := range 10 {
		if rows, err := one.VerifyAudit(t.Context(), fmt.Sprint("department-", n)); err != nil || rows != 80 {
			t.Errorf("department %d: %d audit rows, %v", n, rows, err)
		}
	}
}
