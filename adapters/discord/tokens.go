package discord

import (
	"sync"
	"time"

	"kitbell/bot"
)

// tokenLasts is how long an interaction can be answered (reference page
// "Receiving and responding").
const tokenLasts = 15*time.Minute - 10*time.Second

const mostTokens = 10_000

// tokens keeps how an interaction can be answered. A token is a secret: it stays
// in memory, and after a new start a direct message takes its place.
type tokens struct {
	clock bot.Clock
	mu    sync.Mutex
	all   map[string]*token // by event id
}

type token struct {
	app, secret string
	until       time.Time
	waits       bool // the person sees that an answer is on its way
	private     bool // and only they will see it
}

func newTokens(clock bot.Clock) *tokens { return &tokens{clock: clock, all: make(map[string]*token)} }

func (t *tokens) keep(event string, one token) {
	t.mu.Lock()
	defer t.mu.Unlock()
	now := t.clock.Now()
	for id, old := range t.all {
		if len(t.all) >= mostTokens || !now.Before(old.until) {
			delete(t.all, id)
		}
	}
	one.until = now.Add(tokenLasts)
	t.all[event] = &one
}

// find gives an event's token. first is true once: for the answer that takes the
// place of "on its way".
func (t *tokens) find(event string) (one token, first, ok bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	found := t.all[event]
	if found == nil || !t.clock.Now().Before(found.until) {
		delete(t.all, event)
		return token{}, false, false
	}
	first, found.waits = found.waits, false
	return *found, first, true
}
