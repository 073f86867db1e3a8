package bot

import (
	"context"
	"sync"
	"time"
)

// Clock tells the time and waits for it. Everything that depends on time takes
// a Clock, so that a test or the demo can move it.
type Clock interface {
	// Now is the current instant; any goroutine.
	Now() time.Time
	// Wait blocks until the clock shows at least t, or until ctx ends and then
	// returns its error. A t in the past returns at once.
	Wait(ctx context.Context, t time.Time) error
}

// SystemClock is the machine's clock.
type SystemClock struct{}

// Now is time.Now.
func (SystemClock) Now() time.Time { return time.Now() }

// Wait sleeps on a timer. It looks at the clock again at least once a minute,
// so that a clock that was set is noticed.
func (c SystemClock) Wait(ctx context.Context, t time.Time) error {
	for {
		left := t.Round(0).Sub(c.Now().Round(0))
		if left <= 0 {
			return ctx.Err()
		}
		timer := time.NewTimer(min(left, time.Minute))
		select {
		case <-ctx.Done():
			timer.Stop()
			return ctx.Err()
		case <-timer.C:
		}
	}
}

// ManualClock stands still until it is moved.
type ManualClock struct {
	mu    sync.Mutex
	now   time.Time
	moved chan struct{}
}

// NewManualClock is a clock that shows now until it is moved.
func NewManualClock(now time.Time) *ManualClock {
	return &ManualClock{now: now, moved: make(chan struct{})}
}

// Now is the instant that the clock was last set to.
func (c *ManualClock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

// Set moves the clock, forward or back, and wakes whoever waits for it.
func (c *ManualClock) Set(t time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = t
	close(c.moved)
	c.moved = make(chan struct{})
}

// Wait blocks until the clock has been moved to t or past it.
func (c *ManualClock) Wait(ctx context.Context, t time.Time) error {
	for {
		c.mu.Lock()
		reached, moved := !c.now.Before(t), c.moved
		c.mu.Unlock()
		if reached {
			return ctx.Err()
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-moved:
		}
	}
}
