package discord

import (
	"context"
	"sync"
	"time"

	"kitbell/bot"
)

// A reply token lives for 15 minutes (reference page "Receiving and Responding
// to Interactions").
const (
	tokenLasts  = 15 * time.Minute
	mostHandles = 10_000
)

// handle is the way to answer one interaction. Its token is a secret.
type handle struct {
	application, token string
	until              time.Time
	acked              chan struct{} // closed once the platform was answered, or could not be

	mu      sync.Mutex
	failed  bool // the platform did not take the first answer
	waiting bool // the first answer promised a message that has not come yet
	private bool // that message will be seen by one person only
	sent    map[string]bot.MessageRef
}

// ready waits until the first answer is with the platform and says whether the
// token can be used.
func (h *handle) ready(ctx context.Context) bool {
	if h == nil {
		return false
	}
	select {
	case <-h.acked:
	case <-ctx.Done():
		return false
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	return !h.failed
}

// answered says what the first answer was and lets those who wait go on.
func (h *handle) answered(waiting, private bool, err error) {
	h.mu.Lock()
	h.failed, h.waiting, h.private = err != nil, waiting, private
	h.mu.Unlock()
	close(h.acked)
}

// promise takes the promise of a message, if it is still open: whoever takes it
// must keep it or give it back.
func (h *handle) promise() (private, open bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	open, h.waiting = h.waiting, false
	return h.private, open
}

func (h *handle) giveBack() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.waiting = true
}

// before gives what a key was sent as, if it was.
func (h *handle) before(key string) (bot.MessageRef, bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	ref, ok := h.sent[key]
	return ref, ok && key != ""
}

func (h *handle) remember(key string, ref bot.MessageRef) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.sent[key] = ref
}

// handles keeps how an answer can be given by a token: by the id of the event,
// and by the id of a message that only one person saw. After a new start a
// direct message takes a token's place.
type handles struct {
	clock bot.Clock
	mu    sync.Mutex
	all   map[string]*handle
}

func newHandles(clock bot.Clock) *handles {
	return &handles{clock: clock, all: make(map[string]*handle)}
}

// open keeps a token under an event's id.
func (h *handles) open(event, application, token string) *handle {
	one := &handle{
		application: application, token: token, until: h.clock.Now().Add(tokenLasts), acked: make(chan struct{}),
		sent: make(map[string]bot.MessageRef),
	}
	h.keep(event, one)
	return one
}

func (h *handles) keep(id string, one *handle) {
	h.mu.Lock()
	defer h.mu.Unlock()
	now := h.clock.Now()
	for old, o := range h.all {
		if len(h.all) >= mostHandles || !now.Before(o.until) {
			delete(h.all, old)
		}
	}
	h.all[id] = one
}

// get gives the handle kept under an id, nil when there is none any more.
func (h *handles) get(id string) *handle {
	h.mu.Lock()
	defer h.mu.Unlock()
	one := h.all[id]
	if one != nil && !h.clock.Now().Before(one.until) {
		delete(h.all, id)
		return nil
	}
	return one
}
