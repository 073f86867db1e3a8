package discord

import (
	"sync"
	"time"

	"kitbell/bot"
)

// The platform resets a token after 1,000 sessions begun in a day; this many are
// begun at most (PLATFORMS.md).
const (
	mostSessions = 800
	daySessions  = 1000
	day          = 24 * time.Hour
)

// budget counts the sessions begun in the last day.
type budget struct {
	clock bot.Clock
	mu    sync.Mutex
	begun []time.Time // oldest first
	until time.Time   // none before this, the platform says
}

func newBudget(clock bot.Clock) *budget { return &budget{clock: clock} }

// told takes what the platform says of the day's sessions, of an earlier run's
// too.
func (b *budget) told(remaining int, resetAfter time.Duration) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.until = time.Time{}
	if remaining <= daySessions-mostSessions {
		b.until = b.clock.Now().Add(resetAfter)
	}
}

// take counts one session, or says when to ask again.
func (b *budget) take() (wait time.Time, ok bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	now := b.clock.Now()
	for len(b.begun) > 0 && now.Sub(b.begun[0]) >= day {
		b.begun = b.begun[1:]
	}
	switch {
	case now.Before(b.until):
		return b.until, false
	case len(b.begun) >= mostSessions:
		return b.begun[0].Add(day), false
	}
	b.begun = append(b.begun, now)
	return time.Time{}, true
}
