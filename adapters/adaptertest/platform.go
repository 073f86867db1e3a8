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

	Repeat func() // the platform delivers the last event once more
	End    func() // the platform has nothing more to say

	// Once says that a key sent again is not shown again. A platform that knows
	// no keys cannot promise it.
	Once bool
}

// Open makes a platform with a new adapter on it and closes it when the test
// ends.
type Open func(t *testing.T) Platform

// Screen keeps what is written to it. It is safe for several goroutines; the
// zero Screen is not ready, NewScreen makes one.
type Screen struct {
	mu      sync.Mutex
	text    bytes.Buffer
	changed chan struct{}
}

// NewScreen makes an empty screen.
func NewScreen() *Screen { return &Screen{changed: make(chan struct{})} }

// Write adds to what was shown. It never fails.
func (s *Screen) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	close(s.changed)
	s.changed = make(chan struct{})
	return s.text.Write(p)
}

// String is what was shown so far.
func (s *Screen) String() string {
	text, _ := s.look()
	return text
}

// Await blocks until the screen holds text, or until ctx ends: its error then
// says what was shown instead.
func (s *Screen) Await(ctx context.Context, text string) error {
	for {
		shown, changed := s.look()
		if strings.Contains(shown, text) {
			return nil
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return fmt.Errorf("wait for %q among %q: %w", text, shown, ctx.Err())
		}
	}
}

func (s *Screen) look() (shown string, changed <-chan struct{}) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.String(), s.changed
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
