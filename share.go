package main

import (
	"context"
	"crypto/rand"
	"fmt"
	"log/slog"
	"os"
	"sync"
	"time"

	"kitbell/bot"
	"kitbell/bot/lease"
	"kitbell/bot/store"
)

// Leases are named by what they are for; what stands behind the colon says which.
const (
	talkLease     = "talk:"
	scheduleLease = "schedule"
	gatewayLease  = "gateway:"
)

// claimAgain is how often a process that stands by looks whether it may take over.
// With lease.DefaultSpan it bounds how long nobody works.
const claimAgain = 3 * time.Second

// oldLeases is when a lease that ended is forgotten.
const oldLeases = 24 * time.Hour

// sharing is one process's part in working with others on one database. It stands
// between the store and those who write to it: what is written for an event goes
// through only while its conversation is this process's.
type sharing struct {
	*store.DB
	keeper *lease.Keeper
	clock  bot.Clock
	log    *slog.Logger

	mu    sync.Mutex
	talks map[string]*lease.Held // by conversation
	under map[string]store.Fence // by event, while it is worked on
	posts map[string]time.Time   // keys of posts that were written here, and when
}

// newSharing makes this process one of those that work on a database.
func newSharing(db *store.DB, clock bot.Clock, log *slog.Logger, m *metrics) *sharing {
	owner := ownerName()
	s := &sharing{
		DB: db, clock: clock, log: log.With("process", owner),
		talks: make(map[string]*lease.Held), under: make(map[string]store.Fence), posts: make(map[string]time.Time),
	}
	s.keeper = lease.NewKeeper(db, owner, lease.Options{Log: s.log, Count: m.leased})
	m.watchLeases(s.keeper)
	return s
}

// ownerName names this run of this process: an operator finds it, and no other
// run has it.
func ownerName() string {
	host, err := os.Hostname()
	if err != nil {
		host = "somewhere"
	}
	return fmt.Sprintf("%s/%d/%s", host, os.Getpid(), rand.Text()[:8])
}

// fence is a lease as the store has to find it.
func (s *sharing) fence(h *lease.Held) store.Fence {
	return store.Fence{Name: h.Name, Owner: s.keeper.Owner(), Term: h.Term}
}

// Take claims a conversation.
func (s *sharing) Take(ctx context.Context, conversation string) (bool, error) {
	h, err := s.keeper.Take(ctx, talkLease+conversation)
	if err != nil || h == nil {
		return false, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.talks[conversation] = h
	return true, nil
}

// Give lets another process have a conversation.
func (s *sharing) Give(ctx context.Context, conversation string) {
	s.mu.Lock()
	h := s.talks[conversation]
	delete(s.talks, conversation)
	s.mu.Unlock()
	s.keeper.Give(ctx, h)
}

// Begin says whether an event still waits, and fences what is written for it.
func (s *sharing) Begin(ctx context.Context, e bot.Event, conversation string) (waits bool, err error) {
	waits, err = s.Waits(ctx, e)
	if err != nil || !waits {
		return false, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.under[eventName(e.Department, e.Where.Platform, e.ID)] = s.fence(s.talks[conversation])
	return true, nil
}

// End takes an event's fence away.
func (s *sharing) End(e bot.Event) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.under, eventName(e.Department, e.Where.Platform, e.ID))
}

func eventName(department, platform, id string) string {
	return department + " " + platform + " " + id
}

func (s *sharing) fenceOf(department, platform, id string) (store.Fence, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	f, ok := s.under[eventName(department, platform, id)]
	if !ok {
		return f, fmt.Errorf("event %s: %w", id, bot.ErrNotHeld)
	}
	return f, nil
}

// Apply writes an event's turn under its conversation's lease. A turn of no event
// is of nobody in particular, and written as it is.
func (s *sharing) Apply(ctx context.Context, t bot.Turn) error {
	s.expect(t)
	if t.EventID == "" {
		return s.DB.Apply(ctx, t)
	}
	f, err := s.fenceOf(t.Department, t.Platform, t.EventID)
	if err != nil {
		return err
	}
	return s.ApplyUnder(ctx, t, f)
}

// Fail sets an event aside likewise.
func (s *sharing) Fail(ctx context.Context, e bot.Event, reference string) error {
	f, err := s.fenceOf(e.Department, e.Where.Platform, e.ID)
	if err != nil {
		return err
	}
	return s.FailUnder(ctx, e, reference, f)
}

// expect remembers the posts of a turn before it is written: the process that
// wrote them is the one to send them, since it may hold what the platform wants
// for an answer.
func (s *sharing) expect(t bot.Turn) {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := time.Now()
	for _, p := range t.Posts {
		s.posts[t.Department+" "+p.Key] = now
	}
}

// wrote says whether a post was written here.
func (s *sharing) wrote(department, key string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	_, ok := s.posts[department+" "+key]
	return ok
}

// forgetPost forgets that a post was written here: it is settled.
func (s *sharing) forgetPost(department, key string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.posts, department+" "+key)
}
