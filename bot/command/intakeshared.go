package command

import (
	"context"
	"errors"
	"sync"
	"time"

	"kitbell/bot"
)

const (
	// lookEvery is how often a process looks for events that others left. It and
	// patience are about processes, so they run on the machine's time.
	lookEvery = 500 * time.Millisecond
	// patience is how long an event is left to the process that received it, which
	// may hold what its platform wants for the answer (a reply token).
	patience = 2 * time.Second
	// mostFailures is how often a shared event may fail before it is set aside, the
	// pause doubling from lookEvery: half a minute, in which a database that was
	// cut off comes back.
	mostFailures = 7
	// storeFor is how long an event is tried to be stored, longestRest the longest
	// pause meanwhile.
	storeFor    = time.Minute
	longestRest = 4 * time.Second
)

// Sharing gives each conversation to one of several processes at a time. Every
// method may block for the disk and is called from the conversation's goroutine.
type Sharing interface {
	// Take claims a conversation; held is false when another process has it.
	Take(ctx context.Context, conversation string) (held bool, err error)
	// Give lets others have it; called once after each Take that held.
	Give(ctx context.Context, conversation string)
	// Begin says whether an event still waits to be handled. What is written for
	// it from then until End is written only while the conversation is held;
	// else the writing fails with bot.ErrNotHeld.
	Begin(ctx context.Context, e bot.Event, conversation string) (waits bool, err error)
	// End ends what Begin began.
	End(e bot.Event)
}

// sharedQueue is what one process knows of the inbox that it shares. The inbox
// itself is the queue: this is only who goes first.
type sharedQueue struct {
	sharing Sharing

	mu       sync.Mutex
	mine     map[string]time.Time // events received here, and when
	seen     map[string]time.Time // events found in the inbox, and when first
	failures map[string]int       // by conversation: of its first event, in a row
	rests    map[string]time.Time // conversations that are left alone until then
	blind    bool                 // the inbox could not be read at the last look
}

// Share lets other processes work on the same inbox. It must be called before
// anything else.
func (in *Intake) Share(s Sharing) {
	in.shared = &sharedQueue{
		sharing: s, mine: make(map[string]time.Time), seen: make(map[string]time.Time),
		failures: make(map[string]int), rests: make(map[string]time.Time),
	}
}

// handleShared stores an event. A database on the network goes away for a while
// now and then, and not every platform brings an event again, so it is tried for a
// while.
func (in *Intake) handleShared(ctx context.Context, e bot.Event) error {
	if err := in.admit(e); err != nil {
		return err
	}
	in.shared.received(e)
	for began, rest := time.Now(), lookEvery; ; rest = min(2*rest, longestRest) {
		_, err := in.store(ctx, e)
		if err == nil {
			in.ring()
			return nil
		}
		if time.Since(began) > storeFor || !waited(ctx, rest) {
			return err
		}
		in.log.WarnContext(ctx, "event not stored, trying again", "platform", e.Where.Platform, "error", err)
	}
}

// waited waits and says whether ctx let it.
func waited(ctx context.Context, d time.Duration) bool {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return true
	case <-ctx.Done():
		return false
	}
}

func (q *sharedQueue) received(e bot.Event) {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.mine[eventKey(e)] = time.Now()
}

// runShared works off what waits in the inbox until ctx ends: what was received
// here at once, what others received when they leave it.
func (in *Intake) runShared(ctx context.Context) error {
	slots := make(chan struct{}, workers)
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	var running sync.WaitGroup
	defer running.Wait()
	for {
		for key, events := range in.sweep(ctx) {
			running.Go(func() {
				slots <- struct{}{}
				defer func() { <-slots }()
				in.workShared(ctx, key, events)
			})
		}
		select {
		case <-ctx.Done():
			return nil
		case <-in.wake:
		case <-tick.C:
		}
	}
}

// sweep reads the inbox and gives the conversations to begin, each with its
// events in order.
func (in *Intake) sweep(ctx context.Context) map[string][]bot.Event {
	left, err := in.inbox.Unhandled(ctx)
	if err != nil {
		in.blinded(ctx, err)
		return nil
	}
	in.blinded(ctx, nil)
	waiting := make(map[string][]bot.Event)
	for _, e := range left {
		if _, ours := in.router.Desks(e.Department); ours { // another process may serve other departments
			key := conversationOf(e)
			waiting[key] = append(waiting[key], e)
		}
	}
	in.shared.choose(left, waiting)
	in.mu.Lock()
	defer in.mu.Unlock()
	for key := range waiting {
		if in.begun[key] {
			delete(waiting, key)
		} else {
			in.begun[key] = true
		}
	}
	return waiting
}

// blinded logs that the inbox cannot be read, once until it can again.
func (in *Intake) blinded(ctx context.Context, err error) {
	if ctx.Err() == nil && err != nil && !in.shared.blind {
		in.log.ErrorContext(ctx, "inbox cannot be read; looking again and again", "error", err)
	}
	in.shared.blind = err != nil
}

// choose takes out of waiting what is not to be begun now.
func (q *sharedQueue) choose(left []bot.Event, waiting map[string][]bot.Event) {
	q.mu.Lock()
	defer q.mu.Unlock()
	now := time.Now()
	q.remember(left, now)
	for key, events := range waiting {
		if now.Before(q.rests[key]) || !q.ready(events, now) {
			delete(waiting, key)
		}
	}
}

// ready says whether a conversation has an event that was received here, or one
// that whoever received it has left. mu is held.
func (q *sharedQueue) ready(events []bot.Event, now time.Time) bool {
	for _, e := range events {
		if _, mine := q.mine[eventKey(e)]; mine || now.Sub(q.seen[eventKey(e)]) >= patience {
			return true
		}
	}
	return false
}

// remember notes when events were first seen, and forgets those that are gone. mu
// is held.
func (q *sharedQueue) remember(left []bot.Event, now time.Time) {
	seen := make(map[string]time.Time, len(left))
	for _, e := range left {
		key := eventKey(e)
		seen[key] = now
		if first, known := q.seen[key]; known {
			seen[key] = first
		}
	}
	q.seen = seen
	for key, since := range q.mine {
		if _, waits := seen[key]; !waits && now.Sub(since) > time.Minute { // it is stored and handled
			delete(q.mine, key)
		}
	}
	for key, until := range q.rests {
		if now.Sub(until) > time.Minute {
			delete(q.rests, key)
			delete(q.failures, key)
		}
	}
}

// workShared takes a conversation and handles its events in order.
func (in *Intake) workShared(ctx context.Context, key string, events []bot.Event) {
	defer in.end(key)
	held, err := in.shared.sharing.Take(ctx, key)
	if err != nil || !held {
		in.shared.rest(key, lookEvery)
		return
	}
	defer in.ring() // for what came meanwhile
	defer in.shared.sharing.Give(context.WithoutCancel(ctx), key)
	for _, e := range events {
		if ctx.Err() != nil || !in.handleHeld(ctx, key, e) {
			return
		}
	}
}

// handleHeld handles one event under its conversation's lease and says whether
// the next may follow.
func (in *Intake) handleHeld(ctx context.Context, key string, e bot.Event) (goOn bool) {
	waits, err := in.shared.sharing.Begin(ctx, e, key)
	if err != nil || !waits {
		return err == nil
	}
	defer in.shared.sharing.End(e)
	out, err := in.router.Handle(ctx, e)
	for n := 1; errors.Is(err, bot.ErrConflict) && n < mostLosses; n++ {
		out, err = in.router.Handle(ctx, e)
	}
	switch {
	case err == nil:
		in.shared.succeeded(key)
	case ctx.Err() != nil || errors.Is(err, bot.ErrNotHeld):
		return false // it is there for the next start, or for another process
	case in.shared.failed(key) < mostFailures:
		in.log.WarnContext(ctx, "event not handled, trying again", "event", e.ID, "platform", e.Where.Platform, "error", err)
		return false
	default:
		in.setAside(ctx, e, err)
		in.shared.succeeded(key)
	}
	in.done(e, out, err)
	return true
}

func (q *sharedQueue) rest(key string, pause time.Duration) {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.rests[key] = time.Now().Add(pause)
}

func (q *sharedQueue) succeeded(key string) {
	q.mu.Lock()
	defer q.mu.Unlock()
	delete(q.failures, key)
	delete(q.rests, key)
}

// failed counts a failure of a conversation's first event, and lets the
// conversation rest.
func (q *sharedQueue) failed(key string) int {
	q.mu.Lock()
	defer q.mu.Unlock()
	n := q.failures[key]
	q.failures[key]++
	q.rests[key] = time.Now().Add(lookEvery << n)
	return q.failures[key]
}
