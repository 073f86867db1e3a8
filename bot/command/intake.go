package command

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"

	"kitbell/bot"
)

// workers is how many conversations are worked on at once. The work is short
// and mostly waits for the disk, which commits many turns together.
const workers = 64

// A turn that the store would not take is tried a few times before the event is
// set aside. One that lost a race for a row is tried much longer: each loss is
// somebody else's success, so it ends when the others are through.
const (
	tries      = 3
	mostLosses = 100
)

// Intake takes events in from every platform and hands them to the router, one
// at a time for each conversation. It implements bot.Handler. An event is in
// the inbox before Handle returns, so a program that is stopped at any moment
// goes on with it when it starts again.
type Intake struct {
	inbox  Inbox
	router *Router
	log    *slog.Logger
	done   func(bot.Event, Outcome, error)
	wake   chan struct{}
	shared *sharedQueue // nil in a process that works alone

	mu      sync.Mutex
	started bool                   // Run has read what an earlier run left
	left    map[string]bool        // ids of what it read
	waiting map[string][]bot.Event // conversation → events not yet begun
	begun   map[string]bool        // conversations that a worker has
	idle    chan struct{}          // closed and made anew whenever nothing is left
}

// NewIntake makes an intake. done, which may be nil, is called after each
// event from the conversation's goroutine.
func NewIntake(inbox Inbox, router *Router, log *slog.Logger, done func(bot.Event, Outcome, error)) *Intake {
	if done == nil {
		done = func(bot.Event, Outcome, error) {}
	}
	return &Intake{
		inbox: inbox, router: router, log: log, done: done,
		wake: make(chan struct{}, 1), waiting: make(map[string][]bot.Event), begun: make(map[string]bool), idle: make(chan struct{}),
	}
}

// Handle refuses what must not be stored, stores the event and lets Run know.
// It is safe from any goroutine.
func (in *Intake) Handle(ctx context.Context, e bot.Event) error {
	if in.shared != nil {
		return in.handleShared(ctx, e)
	}
	fresh, err := in.receive(ctx, e)
	if err == nil && fresh {
		in.push(e)
	}
	return err
}

func (in *Intake) receive(ctx context.Context, e bot.Event) (fresh bool, err error) {
	if err := in.admit(e); err != nil {
		return false, err
	}
	return in.store(ctx, e)
}

func (in *Intake) store(ctx context.Context, e bot.Event) (fresh bool, err error) {
	fresh, err = in.inbox.Receive(ctx, e)
	if err != nil {
		return false, fmt.Errorf("store event %s: %w", e.ID, err)
	}
	return fresh, nil
}

// admit refuses what must not be stored.
func (in *Intake) admit(e bot.Event) error {
	desk, ok := in.router.Desks(e.Department)
	if !ok {
		return fmt.Errorf("take event in for department %s: %w", e.Department, bot.ErrNotFound)
	}
	if e.Kind == bot.Submitted {
		member, known := desk.Department.Member(e.From.Member)
		if !known {
			member, _ = desk.Department.MemberByAccount(e.Where.Platform, e.From.ID)
		}
		if _, err := desk.readForm(e, member.Unit); err != nil {
			return err
		}
	}
	if text, typed := typedText(e); typed {
		return Screen(text, desk.stationNames())
	}
	return nil
}

// typedText is what a person wrote, in a form too, or what a button stands for
// writing.
func typedText(e bot.Event) (text string, typed bool) {
	switch e.Kind {
	case bot.Said, bot.Edited:
		return e.Text, true
	case bot.Submitted:
		text = typedInto(e.Values)
		return text, text != ""
	}
	verb, ref := press(e.Press)
	return ref, e.Kind == bot.Pressed && verb == sayVerb
}

// Now handles one event at once, in the caller's goroutine, and returns what
// came of it. It is for callers that wait for the answer and send nothing else
// in the same conversation meanwhile. An event that was handled before gives an
// empty outcome.
func (in *Intake) Now(ctx context.Context, e bot.Event) (Outcome, error) {
	fresh, err := in.receive(ctx, e)
	if err != nil || !fresh {
		return Outcome{}, err
	}
	return in.handle(ctx, e)
}

// Run works events off until ctx ends, beginning with those that an earlier run
// left, and waits for its workers. The error says why it could not begin.
func (in *Intake) Run(ctx context.Context) error {
	if in.shared != nil {
		return in.runShared(ctx)
	}
	if err := in.resume(ctx); err != nil {
		return err
	}
	slots := make(chan struct{}, workers)
	var running sync.WaitGroup
	defer running.Wait()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-in.wake:
		}
		for _, key := range in.begin() {
			running.Go(func() {
				slots <- struct{}{}
				defer func() { <-slots }()
				in.work(ctx, key)
			})
		}
	}
}

// Idle waits until Run has begun and every event taken in so far has been
// handled.
func (in *Intake) Idle(ctx context.Context) error {
	for {
		in.mu.Lock()
		quiet, change := in.started && in.nothingLeft(), in.idle
		in.mu.Unlock()
		if quiet {
			return nil
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-change:
		}
	}
}

// resume takes up what is in the inbox. Until then Handle only stores, so that
// older events come first; an event that was stored just before and is in the
// inbox too is not taken twice.
func (in *Intake) resume(ctx context.Context) error {
	in.mu.Lock()
	defer in.mu.Unlock()
	left, err := in.inbox.Unhandled(ctx)
	if err != nil {
		return fmt.Errorf("read unhandled events: %w", err)
	}
	in.left = make(map[string]bool, len(left))
	for _, e := range left {
		in.add(e)
		in.left[eventKey(e)] = true
	}
	in.started = true
	in.tellIdle()
	return nil
}

func (in *Intake) push(e bot.Event) {
	in.mu.Lock()
	defer in.mu.Unlock()
	if in.started && !in.left[eventKey(e)] {
		in.add(e)
	}
}

// add must be called with mu held.
func (in *Intake) add(e bot.Event) {
	key := conversationOf(e)
	in.waiting[key] = append(in.waiting[key], e)
	in.ring()
}

func (in *Intake) ring() {
	select {
	case in.wake <- struct{}{}:
	default: // a wake-up is waiting already
	}
}

// conversationOf names an event's conversation among those of every department.
func conversationOf(e bot.Event) string { return e.Department + " " + e.Conversation() }

// eventKey is an event's id among those of every platform.
func eventKey(e bot.Event) string { return e.Where.Platform + "/" + e.ID }

// begin gives the conversations that have events and no worker yet.
func (in *Intake) begin() []string {
	in.mu.Lock()
	defer in.mu.Unlock()
	var keys []string
	for key := range in.waiting {
		if !in.begun[key] {
			in.begun[key] = true
			keys = append(keys, key)
		}
	}
	return keys
}

// work handles a conversation's events in order until none is left.
func (in *Intake) work(ctx context.Context, key string) {
	for {
		e, ok := in.next(key)
		if !ok || ctx.Err() != nil {
			in.end(key)
			return
		}
		out, err := in.handle(ctx, e)
		in.done(e, out, err)
	}
}

// handle tries an event a few times and then sets it aside, so that it does not
// come back at every start. When the store is in such trouble that not even
// that can be written, it stays where it is: what was said must not be lost.
func (in *Intake) handle(ctx context.Context, e bot.Event) (out Outcome, err error) {
	for n := 0; n < tries || errors.Is(err, bot.ErrConflict) && n < mostLosses; n++ {
		if out, err = in.router.Handle(ctx, e); err == nil || ctx.Err() != nil {
			return out, err
		}
	}
	in.setAside(ctx, e, err)
	return out, err
}

// setAside marks an event as one that cannot be handled.
func (in *Intake) setAside(ctx context.Context, e bot.Event, why error) {
	reference := newReference()
	in.log.Error("event set aside", "event", e.ID, "platform", e.Where.Platform, "reference", reference, "error", why)
	if failed := in.inbox.Fail(ctx, e, reference); failed != nil {
		in.log.Error("event kept for the next start", "event", e.ID, "reference", reference, "error", failed)
	}
}

// next takes a conversation's next event. When none is left the conversation is
// given up under the same lock, so that a later event finds it free.
func (in *Intake) next(key string) (bot.Event, bool) {
	in.mu.Lock()
	defer in.mu.Unlock()
	events := in.waiting[key]
	if len(events) == 0 {
		in.free(key)
		return bot.Event{}, false
	}
	if len(events) == 1 {
		delete(in.waiting, key)
	} else {
		in.waiting[key] = events[1:]
	}
	return events[0], true
}

func (in *Intake) end(key string) {
	in.mu.Lock()
	defer in.mu.Unlock()
	in.free(key)
}

// free must be called with mu held.
func (in *Intake) free(key string) {
	delete(in.begun, key)
	delete(in.waiting, key)
	in.tellIdle()
}

func (in *Intake) nothingLeft() bool { return len(in.begun) == 0 && len(in.waiting) == 0 }

// tellIdle must be called with mu held.
func (in *Intake) tellIdle() {
	if in.nothingLeft() {
		close(in.idle)
		in.idle = make(chan struct{})
	}
}
