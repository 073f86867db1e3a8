package lease_test

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"kitbell/bot/lease"
)

// rows are leases without a database, by the test's time.
type rows struct {
	mu     sync.Mutex
	leases map[string]row
	broken error
	claims int
}

type row struct {
	owner string
	until time.Time
	term  int64
}

var errBroken = errors.New("no database")

func (r *rows) Claim(_ context.Context, name, owner string, span time.Duration) (int64, bool, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.claims++
	l := r.leases[name]
	switch {
	case r.broken != nil:
		return 0, false, r.broken
	case l.owner != owner && time.Now().Before(l.until):
		return 0, false, nil
	case l.owner != owner:
		l.term++
	}
	r.leases[name] = row{owner, time.Now().Add(span), l.term}
	return l.term, true, nil
}

func (r *rows) Release(_ context.Context, name, owner string) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if l := r.leases[name]; l.owner == owner && r.broken == nil {
		r.leases[name] = row{owner, time.Time{}, l.term}
	}
	return r.broken
}

func (r *rows) breakWith(err error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.broken = err
}

// bench is two keepers of one set of leases, of which the first runs.
type bench struct {
	*rows
	one, other *lease.Keeper
	counted    map[string]int
	stop       func()
}

const span = 12 * time.Second

func newBench(t *testing.T) *bench {
	b := &bench{rows: &rows{leases: make(map[string]row)}, counted: make(map[string]int)}
	var mu sync.Mutex
	log := slog.New(slog.DiscardHandler)
	b.one = lease.NewKeeper(b.rows, "one", lease.Options{Span: span, Log: log, Count: func(kind, what string) {
		mu.Lock()
		defer mu.Unlock()
		b.counted[kind+" "+what]++
	}})
	b.other = lease.NewKeeper(b.rows, "other", lease.Options{Span: span, Log: log})
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan struct{})
	go func() { defer close(ended); _ = b.one.Run(ctx) }()
	b.stop = func() { cancel(); <-ended }
	return b
}

func take(t *testing.T, k *lease.Keeper, name string) *lease.Held {
	t.Helper()
	h, err := k.Take(t.Context(), name)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func lost(h *lease.Held) bool {
	select {
	case <-h.Lost():
		return true
	default:
		return false
	}
}

// A lease is renewed for as long as its keeper runs, and given back at the end.
func TestLeaseIsRenewed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := newBench(t)
		h := take(t, b.one, "gateway:a")
		for range 100 {
			time.Sleep(span / 2)
			if take(t, b.other, "gateway:a") != nil || lost(h) {
				t.Fatal("a lease at work was lost")
			}
		}
		synctest.Wait()     // a renewal may be under way
		if b.claims > 250 { // the other's 100, ours about each half span
			t.Errorf("%d claims", b.claims)
		}
		b.stop()
		if !lost(h) || take(t, b.other, "gateway:a") == nil {
			t.Error("a keeper that ended keeps its lease")
		}
	})
}

// One whose database is gone counts its lease as lost before anybody else can
// have it.
func TestLeaseIsLostInTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := newBench(t)
		defer b.stop()
		h := take(t, b.one, "schedule")
		b.breakWith(errBroken)
		for !lost(h) {
			b.breakWith(nil)
			if take(t, b.other, "schedule") != nil {
				t.Fatal("two have the schedule")
			}
			b.breakWith(errBroken)
			time.Sleep(span / 50)
		}
		synctest.Wait()
		if b.one.Holds("schedule") || b.counted["schedule lost"] != 1 {
			t.Errorf("holds %v, counted %v", b.one.Holds("schedule"), b.counted)
		}
		b.breakWith(nil)
		time.Sleep(span)
		if again := take(t, b.other, "schedule"); again == nil || again.Term != 2 {
			t.Errorf("the next owner has %+v", again)
		}
	})
}

// One that stood still learns that another has taken over.
func TestTakenOverLeaseIsLost(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := newBench(t)
		defer b.stop()
		h := take(t, b.one, "gateway:a")
		b.mu.Lock()
		b.leases["gateway:a"] = row{"other", time.Now().Add(time.Hour), 2}
		b.mu.Unlock()
		time.Sleep(span)
		if !lost(h) || b.one.Holds("gateway:a") {
			t.Error("a lease that another has is not lost")
		}
	})
}

// What is given back is free at once, and a renewal under way does not bring it
// back.
func TestGivenLeaseIsFree(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b := newBench(t)
		defer b.stop()
		h := take(t, b.one, "talk:a")
		if same := take(t, b.one, "talk:a"); same != h {
			t.Error("a lease claimed again is another")
		}
		if got := b.one.Count(); got["talk"] != 1 {
			t.Errorf("counts %v", got)
		}
		b.one.Give(t.Context(), h)
		if take(t, b.other, "talk:a") == nil {
			t.Error("a lease that was given back is not free")
		}
		if len(b.one.Count()) != 0 {
			t.Errorf("counts %v", b.one.Count())
		}
	})
}
