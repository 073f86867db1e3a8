package store_test

import (
	"context"
	"fmt"
	"log/slog"
	"sync"
	"testing"

	"kitbell/bot"
	"kitbell/bot/deliver"
	"kitbell/bot/store/storetest"
)

// counter is a platform that takes everything and remembers the order.
type counter struct {
	mu   sync.Mutex
	keys map[string][]string // by channel
	left int
	done chan struct{}
}

func (*counter) Name() string                                 { return "console" }
func (*counter) Capabilities() bot.Capabilities               { return bot.Capabilities{} }
func (*counter) Run(ctx context.Context, _ bot.Handler) error { return nil }

func (c *counter) Send(_ context.Context, o bot.Outgoing) (bot.MessageRef, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.keys[o.To.Channel] = append(c.keys[o.To.Channel], o.Key)
	if c.left--; c.left == 0 {
		close(c.done)
	}
	return bot.MessageRef{Address: o.To, ID: o.Key}, nil
}

// TestTheLoopEmptiesTheOutbox runs the deliver loop on a real store, with posts
// that come in while it runs.
func TestTheLoopEmptiesTheOutbox(t *testing.T) { onBoth(t, theLoopEmptiesTheOutbox) }

func theLoopEmptiesTheOutbox(t *testing.T, place string) {
	const lanes, each = 5, 8
	db := mustOpen(t, place)
	platform := &counter{keys: map[string][]string{}, left: lanes * each, done: make(chan struct{})}
	loop := deliver.Loop{Store: db, Adapters: []bot.Adapter{platform}, Clock: bot.SystemClock{}, Log: slog.New(slog.DiscardHandler)}
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- loop.Run(ctx) }()
	for i := range each {
		turn := storetest.Turn("")
		for lane := range lanes {
			turn.Posts = append(turn.Posts, storetest.Post(fmt.Sprintf("%d/%d", lane, i), fmt.Sprint(lane)))
		}
		must(t, db.Apply(t.Context(), turn))
	}
	<-platform.done
	cancel()
	must(t, <-ended)
	for lane := range lanes {
		for i, key := range platform.keys[fmt.Sprint(lane)] {
			if want := fmt.Sprintf("%d/%d", lane, i); key != want {
				t.Errorf("lane %d: message %d is %s", lane, i, key)
			}
		}
	}
	if _, err := db.SentAs(t.Context(), storetest.Department, fmt.Sprintf("%d/%d", lanes-1, each-1)); err != nil {
		t.Error(err)
	}
	if left, err := db.Interrupted(t.Context()); err != nil || len(left) != 0 {
		t.Errorf("left in the middle: %v, %v", left, err)
	}
}
