package adaptertest

import (
	"bytes"
	"context"
	"fmt"
	"strings"
	"sync"
	"testing"

	"kitbell/bot"
)

// Platform is an adapter that has not run yet and the far side of it: what a
// person does there, and what they see. The functions are called from the
// test's goroutine. Those that are nil are things that the platform never does.
type Platform struct {
	Adapter bot.Adapter
	Here    bot.Address // where Say is heard
	There   bot.Address // another channel

	Say   func(text string)  // the person types a message, to kitbell
	Press func(label string) // the person presses the last button with this label

	// Shown is all that was shown so far, oldest first, as characters that a
	// person reads: layout and escapes of the platform's are undone.
	Shown func() string
	// Await blocks until Shown holds text, or ctx ends and then returns why.
	Await func(ctx context.Context, text string) error

	// Answered waits, while the handler is held up, until what was pressed last has
	// its first answer where the platform gives up within seconds; release lets the
	// handler go, which a platform that is answered only after storing needs first.
	Answered func(ctx context.Context, release func()) error
	// Reopen makes a new adapter on the same platform, after the first has ended.
	Reopen func() bot.Adapter

	Repeat func() // the platform delivers the last event once more
	End    func() // the platform has nothing more to say

	// Once says that a key sent again is not shown again. A platform that knows
	// no keys cannot promise it.
	Once bool
}

// Open makes a platform with a new adapter on it and closes it when the test
// ends.
type Open func(t *testing.T) Platform

// Changes lets goroutines wait until something about a server holds. It is safe
// for several goroutines; NewChanges makes one.
type Changes struct {
	mu   sync.Mutex
	next chan struct{} // closed at the next change
}

// NewChanges makes one that has seen no change.
func NewChanges() *Changes { return &Changes{next: make(chan struct{})} }

// Tell lets all who wait look again.
func (c *Changes) Tell() {
	c.mu.Lock()
	defer c.mu.Unlock()
	close(c.next)
	c.next = make(chan struct{})
}

// AwaitThat waits until done holds, or ctx ends. done is looked at at once and
// after every change.
func (c *Changes) AwaitThat(ctx context.Context, done func() bool) error {
	for {
		c.mu.Lock()
		next := c.next
		c.mu.Unlock()
		if done() {
			return nil
		}
		select {
		case <-next:
		case <-ctx.Done():
			return fmt.Errorf("wait at server: %w", ctx.Err())
		}
	}
}

// Screen keeps what is written to it. It is safe for several goroutines; the
// zero Screen is not ready, NewScreen makes one.
type Screen struct {
	changes *Changes
	mu      sync.Mutex
	text    bytes.Buffer
}

// NewScreen makes an empty screen.
func NewScreen() *Screen { return &Screen{changes: NewChanges()} }

// Write adds to what was shown. It never fails.
func (s *Screen) Write(p []byte) (int, error) {
	defer s.changes.Tell()
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.Write(p)
}

// String is what was shown so far.
func (s *Screen) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.String()
}

// Await blocks until the screen holds text, or until ctx ends: its error then
// says what was shown instead.
func (s *Screen) Await(ctx context.Context, text string) error {
	if err := s.changes.AwaitThat(ctx, func() bool { return strings.Contains(s.String(), text) }); err != nil {
		return fmt.Errorf("wait for %q among %q: %w", text, s, err)
	}
	return nil
}

// Handler is a bot.Handler that keeps events for a test to take. It is safe
// for several goroutines.
type Handler struct {
	events chan bot.Event
	answer func(bot.Event) error
}

// NewHandler makes a handler; answer, which may be nil, is what Handle returns.
func NewHandler(answer func(bot.Event) error) *Handler {
	const room = 1024 // more than any test here sends
	if answer == nil {
		answer = func(bot.Event) error { return nil }
	}
	return &Handler{events: make(chan bot.Event, room), answer: answer}
}

// Handle keeps the event.
func (h *Handler) Handle(ctx context.Context, e bot.Event) error {
	select {
	case h.events <- e:
		return h.answer(e)
	case <-ctx.Done():
		return ctx.Err()
	}
}

// Next is the next event; the test fails when none comes before ctx ends.
func (h *Handler) Next(ctx context.Context, t *testing.T) bot.Event {
	t.Helper()
	select {
	case e := <-h.events:
		return e
	case <-ctx.Done():
		t.Fatal("no event came")
		return bot.Event{}
	}
}

// Left is how many events have not been taken.
func (h *Handler) Left() int { return len(h.events) }
