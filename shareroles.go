package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/lease"
	"kitbell/schedule"
)

// oneLink is an adapter of a platform that tells every link everything, so that
// one process holds a link for all.
type oneLink interface {
	bot.Adapter
	// Missed sets when the last event was stored: what was said since is fetched
	// by the next Run.
	Missed(since time.Time)
}

// roles are what of the common work is this process's: the schedule, the gateways,
// and the part of the outbox that it has taken. The nil roles are those of a
// process that is alone.
type roles struct {
	*sharing
	outbox   *sharedOutbox
	tookOver func(what string)

	mu       sync.Mutex
	gateways map[string]bool // by platform: whether its link is here
	turn     *lease.Held     // of the schedule
}

// share makes the office one of several on its database. What it gives back ends
// that, once the office works no more: by then nothing is under way that another
// process might think abandoned.
func (o *office) share(s *sharing, m *metrics) (end func()) {
	o.roles = &roles{sharing: s, outbox: newSharedOutbox(s, o.desks, o.adapters, m.tookOver), tookOver: m.tookOver, gateways: make(map[string]bool)}
	o.router.Ledger = s
	o.bundler.Ledger = scheduleLedger{o.roles}
	o.intake = command.NewIntake(s, o.router, o.log, o.heard)
	o.intake.Share(s)
	ctx, cancel := context.WithCancel(context.Background())
	var keeping sync.WaitGroup
	keeping.Go(func() { _ = s.keeper.Run(ctx) }) // it has no error but the end
	o.log.Info("working with others on one database", "process", s.keeper.Owner())
	return func() { cancel(); keeping.Wait() }
}

// speaks says whether this process tells a lead what every process notices.
func (r *roles) speaks() bool { return r == nil || r.keeper.Holds(scheduleLease) }

// standsBy says whether another process has a platform's one link.
func (r *roles) standsBy(p platform) bool {
	if r == nil {
		return false
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	here, one := r.gateways[p.Name()]
	return one && !here
}

// words say for what this process works and for what it stands by.
func (r *roles) words() string {
	if r == nil {
		return ""
	}
	word := map[bool]string{true: "works", false: "stands by"}
	var b strings.Builder
	fmt.Fprintf(&b, "schedule: %s\n", word[r.keeper.Holds(scheduleLease)])
	r.mu.Lock()
	defer r.mu.Unlock()
	for _, name := range chatPlatforms() {
		if here, one := r.gateways[name]; one {
			fmt.Fprintf(&b, "gateway of %s: %s\n", name, word[here])
		}
	}
	return b.String()
}

// under runs work while a lease is held, and ends it when the lease is lost.
func under(ctx context.Context, h *lease.Held, work func(context.Context) error) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	watching := make(chan struct{})
	go func() {
		defer close(watching)
		select {
		case <-h.Lost():
			cancel()
		case <-ctx.Done():
		}
	}()
	err := work(ctx)
	cancel()
	<-watching
	return err
}

// hold runs an adapter whenever this process has its platform's lease. The error
// is the adapter's, one that no trying mends.
func (r *roles) hold(ctx context.Context, a oneLink, h bot.Handler) error {
	name := gatewayLease + a.Name()
	r.link(a.Name(), false)
	for ctx.Err() == nil {
		held, err := r.keeper.Take(ctx, name)
		if err != nil && ctx.Err() == nil {
			r.log.WarnContext(ctx, "gateway not claimed", "platform", a.Name(), "error", err)
		}
		if held == nil {
			pause(ctx, claimAgain)
			continue
		}
		if err := r.holdOnce(ctx, a, h, held); err != nil {
			return err
		}
	}
	return nil
}

func (r *roles) holdOnce(ctx context.Context, a oneLink, h bot.Handler, held *lease.Held) error {
	defer r.keeper.Give(context.WithoutCancel(ctx), held)
	r.link(a.Name(), true)
	defer r.link(a.Name(), false)
	since, err := r.LastReceivedOn(ctx, a.Name())
	if err != nil {
		r.log.WarnContext(ctx, "not known when the last event came", "platform", a.Name(), "error", err)
		return nil // the next try asks again
	}
	now := r.clock.Now()
	if held.Term > 1 {
		r.tookOver("gateway")
	}
	a.Missed(missedFrom(since, now))
	r.log.InfoContext(ctx, "this process has the gateway", "platform", a.Name())
	return under(ctx, held, func(ctx context.Context) error { return a.Run(ctx, h) })
}

// clocksApart is how far the clocks of two processes' machines may differ.
const clocksApart = time.Minute

// missedFrom is from when on to fetch what was said, by when the last event was
// stored.
func missedFrom(last, now time.Time) time.Time {
	earliest := now.Add(-mostMissed)
	if last.IsZero() {
		return now.Add(-15 * time.Minute)
	}
	return later(last.Add(-clocksApart), earliest)
}

func (r *roles) link(platform string, here bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.gateways[platform] = here
}

// schedule makes the bundler's step one of the process that has the schedule. The
// others come back soon to see whether they may take it over.
func (r *roles) schedule(b *command.Bundler) schedule.Step {
	turn := &scheduleTurn{roles: r, step: b.Step}
	return turn.take
}

// scheduleTurn is the schedule's step under its lease. Only the loop's goroutine
// touches it.
type scheduleTurn struct {
	*roles
	step   schedule.Step
	held   *lease.Held
	asked  time.Time // when take asked to be called again
	next   time.Time // when something is due
	forgot time.Time // when old leases were last forgotten
}

// take makes the step when something is due, when the schedule is newly this
// process's, or when the loop was woken before its time.
func (t *scheduleTurn) take(ctx context.Context, now time.Time) (time.Time, error) {
	woken := now.Before(t.asked)
	t.asked = now.Add(claimAgain)
	err := t.try(ctx, now, woken)
	if errors.Is(err, bot.ErrNotHeld) { // lost without hearing of it; it may be free
		t.keeper.Drop(scheduleLease)
		t.held = nil
		err = t.try(ctx, now, woken)
	}
	if err != nil && t.keeper.Holds(scheduleLease) {
		return t.asked, err
	}
	return t.asked, nil // without the lease it is another's to do
}

func (t *scheduleTurn) try(ctx context.Context, now time.Time, woken bool) error {
	before := t.held
	if !t.claim(ctx) || !woken && t.held == before && now.Before(t.next) {
		return nil
	}
	t.forget(ctx, now)
	t.next = now // until the step says when it is next
	err := under(ctx, t.held, func(ctx context.Context) error {
		next, err := t.step(ctx, now)
		if err == nil {
			t.next = next
		}
		return err
	})
	switch {
	case err != nil:
		return err
	case t.next.IsZero():
		t.next = now.Add(24 * time.Hour)
	case t.next.Before(t.asked):
		t.asked = t.next
	}
	return nil
}

// claim says whether the schedule is this process's.
func (t *scheduleTurn) claim(ctx context.Context) bool {
	if t.keeper.Holds(scheduleLease) {
		return true // the keeper renews it
	}
	h, err := t.keeper.Take(ctx, scheduleLease)
	if err != nil && ctx.Err() == nil {
		t.log.WarnContext(ctx, "schedule not claimed", "error", err)
	}
	if h != nil && h != t.held {
		t.log.InfoContext(ctx, "this process has the schedule")
		if h.Term > 1 {
			t.tookOver("schedule")
		}
	}
	t.held = h
	t.setTurn(h)
	return h != nil
}

func (r *roles) setTurn(h *lease.Held) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.turn = h
}

// forget removes old leases once in a while.
func (t *scheduleTurn) forget(ctx context.Context, now time.Time) {
	if now.Sub(t.forgot) < time.Hour {
		return
	}
	t.forgot = now
	if err := t.ForgetLeases(ctx, oldLeases); err != nil {
		t.log.WarnContext(ctx, "old leases not forgotten", "error", err)
	}
}

// scheduleLedger writes the schedule's turns under its lease.
type scheduleLedger struct{ *roles }

// Apply is bot.ErrNotHeld once another process has the schedule.
func (l scheduleLedger) Apply(ctx context.Context, t bot.Turn) error {
	l.mu.Lock()
	h := l.turn
	l.mu.Unlock()
	if h == nil {
		return fmt.Errorf("apply turn of the schedule: %w", bot.ErrNotHeld)
	}
	l.expect(t)
	return l.ApplyUnder(ctx, t, l.fence(h))
}

func pause(ctx context.Context, d time.Duration) {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-ctx.Done():
	}
}
