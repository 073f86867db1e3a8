package lease

import (
	"context"
	"log/slog"
	"strings"
	"sync"
	"time"
)

// DefaultSpan is how long a lease holds from each claim on. A process that dies
// is replaced after it, so it has to be well under the half minute that a
// gateway may be without an owner.
const DefaultSpan = 12 * time.Second

// Store keeps the leases. Both block for the disk; any goroutine.
type Store interface {
	// Claim takes or renews a lease for a span from now on; held is false when
	// another owner has it. term rises with every new owner.
	Claim(ctx context.Context, name, owner string, span time.Duration) (term int64, held bool, err error)
	// Release ends the owner's lease now.
	Release(ctx context.Context, name, owner string) error
}

// Options are what a keeper may be told. The zero value is fit for use but for
// its Log, which is needed.
type Options struct {
	Span time.Duration // of each claim; 0 for DefaultSpan
	Log  *slog.Logger
	// Count hears of what happens to leases of a kind (the name up to its first
	// colon): taken, lost. nil counts nothing. Any goroutine.
	Count func(kind, what string)
}

// Keeper holds the leases of one process. Its methods are safe for several
// goroutines.
type Keeper struct {
	store   Store
	owner   string
	options Options

	mu   sync.Mutex
	held map[string]*Held
}

// Held is a lease that this process has, or has had.
type Held struct {
	Name string
	Term int64
	lost chan struct{}
	once sync.Once
	good time.Time // until when the claim is surely good, on this machine's monotonic clock; guarded by Keeper.mu
}

// Lost is closed when the lease may be another's. What was begun under it has to
// stop; what is written under it is refused by the store in any case.
func (h *Held) Lost() <-chan struct{} { return h.lost }

func (h *Held) end() { h.once.Do(func() { close(h.lost) }) }

// NewKeeper makes a keeper for an owner, whose name no other process and no
// earlier run of this one may have.
func NewKeeper(store Store, owner string, o Options) *Keeper {
	if o.Span == 0 {
		o.Span = DefaultSpan
	}
	if o.Count == nil {
		o.Count = func(string, string) {}
	}
	return &Keeper{store: store, owner: owner, options: o, held: make(map[string]*Held)}
}

// Owner is whom the leases belong to.
func (k *Keeper) Owner() string { return k.owner }

// Span is how long a claim holds.
func (k *Keeper) Span() time.Duration { return k.options.Span }

// Take claims a lease; nil when another process has it. One that this process
// has already is claimed on and stays the same Held.
func (k *Keeper) Take(ctx context.Context, name string) (*Held, error) {
	began := time.Now() // the claim counts from before it was sent
	term, held, err := k.store.Claim(ctx, name, k.owner, k.options.Span)
	switch {
	case err != nil:
		return nil, err
	case !held:
		k.Drop(name)
		return nil, nil
	}
	return k.Keep(name, term, began), nil
}

// Keep takes charge of a lease that was claimed at the store by other means, at a
// moment or later.
func (k *Keeper) Keep(name string, term int64, claimed time.Time) *Held {
	k.mu.Lock()
	defer k.mu.Unlock()
	h := k.held[name]
	if h == nil || h.Term != term {
		if h != nil {
			h.end()
		}
		h = &Held{Name: name, Term: term, lost: make(chan struct{})}
		k.held[name] = h
		k.options.Count(Kind(name), "taken")
	}
	h.good = claimed.Add(k.options.Span)
	return h
}

// Give releases a lease. That the database does not hear of it only means that
// others wait until the lease ends by itself.
func (k *Keeper) Give(ctx context.Context, h *Held) {
	k.Drop(h.Name)
	if err := k.store.Release(ctx, h.Name, k.owner); err != nil && ctx.Err() == nil {
		k.options.Log.WarnContext(ctx, "lease not given back; it ends by itself", "lease", Kind(h.Name), "error", err)
	}
}

// Drop forgets a lease that was released by other means, or lost.
func (k *Keeper) Drop(name string) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if h := k.held[name]; h != nil {
		h.end()
		delete(k.held, name)
	}
}

// Holds says whether this process has a lease, as far as it knows.
func (k *Keeper) Holds(name string) bool {
	k.mu.Lock()
	defer k.mu.Unlock()
	h := k.held[name]
	return h != nil && time.Now().Before(h.good)
}

// Count is how many leases of each kind are held.
func (k *Keeper) Count() map[string]int {
	k.mu.Lock()
	defer k.mu.Unlock()
	count := make(map[string]int)
	for name := range k.held {
		count[Kind(name)]++
	}
	return count
}

// Kind is what a lease's name begins with.
func Kind(name string) string {
	kind, _, _ := strings.Cut(name, ":")
	return kind
}

// Run renews what is held until ctx ends, and then gives it all back. It runs on
// the machine's own time: leases are about processes, not about a department.
func (k *Keeper) Run(ctx context.Context) error {
	var running sync.WaitGroup
	running.Go(func() { k.every(ctx, k.options.Span/6, k.renew) })
	k.every(ctx, k.options.Span/12, k.watch) // beside it: a renewal may hang
	running.Wait()
	k.giveAll(context.WithoutCancel(ctx))
	return nil
}

func (k *Keeper) every(ctx context.Context, period time.Duration, do func(context.Context)) {
	tick := time.NewTicker(period)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			do(ctx)
		}
	}
}

// renew claims on every lease whose span is half over, side by side, so that one
// commit serves many.
func (k *Keeper) renew(ctx context.Context) {
	ctx, cancel := context.WithTimeout(ctx, k.options.Span/3)
	defer cancel()
	var renewing sync.WaitGroup
	for _, h := range k.due(k.options.Span / 2) {
		renewing.Go(func() { k.claimOn(ctx, h) })
	}
	renewing.Wait()
}

// watch lets go of leases that are nearly over, with two looks to spare.
func (k *Keeper) watch(ctx context.Context) {
	for _, h := range k.due(k.options.Span / 6) {
		k.lose(ctx, h, "could not be renewed in time")
	}
}

// due are the leases that are good for less than a span yet.
func (k *Keeper) due(left time.Duration) (due []*Held) {
	k.mu.Lock()
	defer k.mu.Unlock()
	for _, h := range k.held {
		if time.Until(h.good) < left {
			due = append(due, h)
		}
	}
	return due
}

func (k *Keeper) claimOn(ctx context.Context, h *Held) {
	began := time.Now()
	term, held, err := k.store.Claim(ctx, h.Name, k.owner, k.options.Span)
	k.mu.Lock()
	current, orphan := k.held[h.Name] == h, k.held[h.Name] == nil
	if current && err == nil && held && term == h.Term {
		h.good = began.Add(k.options.Span)
	}
	k.mu.Unlock()
	switch {
	case err != nil: // the next tick tries again
	case orphan && held: // given back meanwhile: the claim must not outlive it
		_ = k.store.Release(ctx, h.Name, k.owner) // else it ends by itself
	case !held || term != h.Term:
		k.lose(ctx, h, "another process has taken it over")
	}
}

func (k *Keeper) lose(ctx context.Context, h *Held, why string) {
	k.mu.Lock()
	current := k.held[h.Name] == h
	if current {
		delete(k.held, h.Name)
	}
	k.mu.Unlock()
	h.end()
	if current {
		k.options.Count(Kind(h.Name), "lost")
		k.options.Log.WarnContext(ctx, "lease lost", "lease", Kind(h.Name), "why", why)
	}
}

// giveAll releases everything, so that others need not wait.
func (k *Keeper) giveAll(ctx context.Context) {
	ctx, cancel := context.WithTimeout(ctx, k.options.Span/4)
	defer cancel()
	var giving sync.WaitGroup
	for _, h := range k.due(1 << 62) {
		giving.Go(func() { k.Give(ctx, h) })
	}
	giving.Wait()
}
