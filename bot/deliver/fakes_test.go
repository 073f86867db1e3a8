package deliver_test

import (
	"context"
	"errors"
	"slices"
	"sync"
	"time"

	"kitbell/bot"
	"kitbell/bot/deliver"
)

// memory is an outbox without a disk.
type memory struct {
	mu       sync.Mutex
	items    []deliver.Item
	outcomes map[int64]deliver.Outcome
	broken   error // what every call fails with, until it is nil
	posted   chan struct{}
}

func newMemory() *memory {
	return &memory{outcomes: map[int64]deliver.Outcome{}, posted: make(chan struct{}, 1)}
}

// post adds messages by key to a channel.
func (m *memory) post(channel string, keys ...string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, k := range keys {
		id := int64(len(m.items) + 1)
		m.items = append(m.items, deliver.Item{ID: id, Department: "d", Message: bot.Outgoing{Key: k,
			To: bot.Address{Platform: "fake", Channel: channel}, Reply: bot.Reply{Text: "secret " + k}}})
		m.outcomes[id] = deliver.Outcome{State: deliver.Waiting}
	}
	select {
	case m.posted <- struct{}{}:
	default:
	}
}

// edit makes a posted message one that changes another.
func (m *memory) edit(key string, ref bot.MessageRef) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for i := range m.items {
		if m.items[i].Message.Key == key {
			m.items[i].Message.Edit = &ref
		}
	}
}

func (m *memory) Posted() <-chan struct{} { return m.posted }

func (m *memory) Ready(_ context.Context, now time.Time, n int) (ready []deliver.Item, next time.Time, err error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	seen := map[string]bool{}
	for _, item := range m.items {
		o, lane := m.outcomes[item.ID], item.Message.To.Lane()
		if seen[lane] || o.State != deliver.Waiting && o.State != deliver.Sending {
			continue
		}
		seen[lane] = true
		item.Tries, item.NotBefore = o.Tries, o.NotBefore
		switch {
		case o.State == deliver.Sending:
		case o.NotBefore.After(now):
			if next.IsZero() || o.NotBefore.Before(next) {
				next = o.NotBefore
			}
		case len(ready) < n:
			ready = append(ready, item)
		}
	}
	return ready, next, m.broken
}

func (m *memory) Interrupted(context.Context) (items []deliver.Item, err error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, item := range m.items {
		if m.outcomes[item.ID].State == deliver.Sending {
			items = append(items, item)
		}
	}
	return items, m.broken
}

func (m *memory) MarkSending(_ context.Context, id int64) error {
	return m.change(id, deliver.Waiting, deliver.Outcome{State: deliver.Sending})
}

func (m *memory) Settle(_ context.Context, id int64, o deliver.Outcome) error {
	return m.change(id, deliver.Sending, o)
}

func (m *memory) change(id int64, from deliver.State, o deliver.Outcome) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.broken != nil {
		return m.broken
	}
	if m.outcomes[id].State != from {
		return bot.ErrConflict
	}
	m.outcomes[id] = o
	return nil
}

func (m *memory) breakWith(err error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.broken = err
}

// outcome is how the message with a key stands.
func (m *memory) outcome(key string) deliver.Outcome {
	m.mu.Lock()
	defer m.mu.Unlock()
	i := slices.IndexFunc(m.items, func(item deliver.Item) bool { return item.Message.Key == key })
	return m.outcomes[m.items[i].ID]
}

// platform is an adapter that does what its script says.
type platform struct {
	pace       time.Duration
	idempotent bool
	answer     func(ctx context.Context, o bot.Outgoing, try int) error // nil: all goes well

	mu   sync.Mutex
	keys []string // tries, in order
	now  int      // tries going on
	most int      // the most of them at one time
}

func (p *platform) Name() string                           { return "fake" }
func (p *platform) Idempotent() bool                       { return p.idempotent }
func (p *platform) Capabilities() bot.Capabilities         { return bot.Capabilities{Pace: p.pace} }
func (p *platform) Run(context.Context, bot.Handler) error { return errors.New("not called") }
func (p *platform) Send(ctx context.Context, o bot.Outgoing) (bot.MessageRef, error) {
	p.mu.Lock()
	p.keys = append(p.keys, o.Key)
	p.now++
	p.most = max(p.most, p.now)
	try := 0
	for _, k := range p.keys {
		if k == o.Key {
			try++
		}
	}
	p.mu.Unlock()
	defer func() { p.mu.Lock(); p.now--; p.mu.Unlock() }()
	if p.answer != nil {
		if err := p.answer(ctx, o, try); err != nil {
			return bot.MessageRef{}, err
		}
	}
	return bot.MessageRef{Address: o.To, ID: "ref-" + o.Key}, nil
}

func (p *platform) tries() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Clone(p.keys)
}
