package main

import (
	"context"
	"sync"
	"time"

	"kitbell/bot/deliver"
	"kitbell/bot/store"
)

// outbox is the store as the deliver loop sees it, with a way to wait until it
// is empty. A terminal that reads from a pipe needs that, to show each answer
// before it reads the next line.
type outbox struct {
	*store.DB
	mu      sync.Mutex
	settled chan struct{} // closed and made anew whenever a message was settled
}

func newOutbox(db *store.DB) *outbox { return &outbox{DB: db, settled: make(chan struct{})} }

// Settle stores the outcome of a message and tells whoever waits.
func (o *outbox) Settle(ctx context.Context, id int64, outcome deliver.Outcome) error {
	err := o.DB.Settle(ctx, id, outcome)
	o.mu.Lock()
	defer o.mu.Unlock()
	close(o.settled)
	o.settled = make(chan struct{})
	return err
}

// drained waits until nothing is being sent and nothing could be sent at now.
func (o *outbox) drained(ctx context.Context, now time.Time) error {
	for {
		change := o.change()
		moving, err := o.Moving(ctx, now)
		if err != nil || !moving {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-change:
		}
	}
}

func (o *outbox) change() <-chan struct{} {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.settled
}
