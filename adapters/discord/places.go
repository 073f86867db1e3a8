package discord

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"strconv"
	"sync"
	"time"

	"kitbell/bot"
)

// epoch is the first moment of the platform's ids, in Unix milliseconds
// (reference page "Snowflakes").
const epoch = 1420070400000

// IsID says whether a text looks like an id of the platform's: a server's, a
// channel's, a person's. They have had 17 digits and more since the first year.
func IsID(text string) bool { return isID(text) && len(text) >= 17 }

// isID says whether a text is an id of the platform's, and nothing else.
func isID(text string) bool {
	n, err := strconv.ParseUint(text, 10, 64)
	return err == nil && n > 0 && len(text) <= 20 && text[0] != '+'
}

// momentOf is when an id was made; the zero time for what is none.
func momentOf(id string) time.Time {
	n, err := strconv.ParseUint(id, 10, 64)
	if err != nil || n == 0 {
		return time.Time{}
	}
	return time.UnixMilli(int64(n>>22) + epoch).UTC()
}

// idAt is the least id of a moment.
func idAt(t time.Time) uint64 {
	ms := t.UnixMilli() - epoch
	if ms <= 0 {
		return 0
	}
	return uint64(ms) << 22
}

// typeDirect is a person's own line (reference page "Channel types").
const typeDirect = 1

// mostPlaces is how many channels are remembered.
const mostPlaces = 100_000

// places knows what the channels are that were heard of.
type places struct {
	mu  sync.Mutex
	all map[string]channel
}

func newPlaces() *places { return &places{all: make(map[string]channel)} }

func (p *places) learn(c channel) {
	if c.ID == "" || c.Type == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if len(p.all) >= mostPlaces {
		clear(p.all)
	}
	p.all[c.ID] = c
}

func (p *places) get(id string) (channel, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	c, ok := p.all[id]
	return c, ok
}

// direct lists the direct lines heard of.
func (p *places) direct() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	var ids []string
	for id, c := range p.all {
		if *c.Type == typeDirect {
			ids = append(ids, id)
		}
	}
	return ids
}

// learnFrom takes the channels that a payload tells of.
func (p *places) learnFrom(kind string, raw json.RawMessage) {
	if kind != "GUILD_CREATE" && kind != "THREAD_LIST_SYNC" {
		var c channel
		if json.Unmarshal(raw, &c) == nil {
			p.learn(c)
		}
		return
	}
	var g struct {
		ID       string    `json:"id"`
		Guild    string    `json:"guild_id"`
		Channels []channel `json:"channels"`
		Threads  []channel `json:"threads"`
	}
	if json.Unmarshal(raw, &g) != nil {
		return
	}
	if g.Guild == "" {
		g.Guild = g.ID
	}
	for _, c := range append(g.Channels, g.Threads...) {
		c.Guild = g.Guild
		p.learn(c)
	}
}

// place gives what a channel is, from memory or from the platform.
func (a *Adapter) place(ctx context.Context, id string) (channel, error) {
	if c, ok := a.places.get(id); ok {
		return c, nil
	}
	var c channel
	err := a.do(ctx, request{method: http.MethodGet, path: "channels/" + id}, &c)
	if errors.Is(err, bot.ErrNotFound) {
		unseen := 0 // asked once, and not for each message there
		a.places.learn(channel{ID: id, Type: &unseen})
	}
	if err != nil {
		return channel{}, err
	}
	a.places.learn(c)
	return c, nil
}

// mostRecent is how many messages are remembered, by their id alone.
const mostRecent = 10_000

// recent remembers who said what was handed on lately, without its words: the
// platform does not say whose a deleted message was, and what is fetched after a
// gap may have been heard before it.
type recent struct {
	mu    sync.Mutex
	said  map[string]author
	order []string
}

// author is who said a message, and whether to the bot.
type author struct {
	id     string
	direct bool
}

func newRecent() *recent { return &recent{said: make(map[string]author)} }

func (r *recent) add(message string, by author) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if _, ok := r.said[message]; ok {
		return
	}
	if len(r.order) >= mostRecent {
		delete(r.said, r.order[0])
		r.order = r.order[1:]
	}
	r.said[message] = by
	r.order = append(r.order, message)
}

// heard says whether a message was handed on.
func (r *recent) heard(message string) bool {
	_, ok := r.get(message)
	return ok
}

func (r *recent) get(message string) (author, bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	by, ok := r.said[message]
	return by, ok
}
