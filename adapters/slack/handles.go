package slack

import (
	"sync"
	"time"

	"kitbell/bot"
)

// A reply handle takes this many answers for this long (reference page "Handling
// user interaction": five times within 30 minutes).
const (
	handleUses  = 5
	handleLasts = 30 * time.Minute
	mostHandles = 10_000
)

// handles keeps where an answer to an event may be sent without being in its
// channel. A handle is a secret: it stays in memory, and after a new start a
// direct message takes its place.
type handles struct {
	clock bot.Clock
	mu    sync.Mutex
	all   map[string]*handle // by event id
}

type handle struct {
	url   string
	uses  int
	until time.Time
}

func newHandles(clock bot.Clock) *handles {
	return &handles{clock: clock, all: make(map[string]*handle)}
}

func (h *handles) keep(event, url string) {
	if url == "" {
		return
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	now := h.clock.Now()
	for id, one := range h.all {
		if len(h.all) >= mostHandles || !now.Before(one.until) {
			delete(h.all, id)
		}
	}
	h.all[event] = &handle{url: url, uses: handleUses, until: now.Add(handleLasts)}
}

// use takes one use of an event's handle.
func (h *handles) use(event string) (url string, ok bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	one := h.all[event]
	if one == nil || one.uses == 0 || !h.clock.Now().Before(one.until) {
		delete(h.all, event)
		return "", false
	}
	one.uses--
	return one.url, true
}
