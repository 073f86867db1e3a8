package deliver

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"kitbell/bot"
)

const (
	// manySends is how many messages are being sent at the same time.
	manySends = 64
	// tryFor is how long one try may take before it counts as lost. It and grace
	// are about the connection, so they run on real time, not on the Clock.
	tryFor = 30 * time.Second
	// grace is how long a try that has begun may go on after the loop was told
	// to end. A try that is cut leaves a message of which nobody knows whether
	// it arrived.
	grace = 5 * time.Second
	// troubled is how long the loop waits after the store failed.
	troubled = 5 * time.Second
)

// Loop empties the outbox. Store, Adapters, Clock and Log are needed.
type Loop struct {
	Store    Store
	Adapters []bot.Adapter
	Clock    bot.Clock
	Log      *slog.Logger
	// Serial sends one message at a time over all lanes, in the order of the
	// outbox, for a platform that is one screen: a terminal.
	Serial bool
	// Shared says that other processes send from the same outbox. What one of them
	// left in the middle is then looked for all the time, and a message that
	// another has (bot.ErrConflict, bot.ErrNotHeld) is left to it without a word.
	Shared bool
	// GaveUp hears of every message that will not be tried again and may not
	// have arrived (Failed, PossiblySent), after that is stored. It is called
	// from the lane's goroutine and holds that lane up until it returns. nil
	// leaves it to the log.
	GaveUp func(ctx context.Context, item Item, o Outcome)
	// Barred hears of a try at which the platform refused the bot itself
	// (bot.ErrBarred), likewise.
	Barred func(ctx context.Context, platform string, err error)
}

// Idempotent is an Adapter whose platform drops a second message with the same
// key. What was interrupted on such a platform is sent again.
type Idempotent interface {
	bot.Adapter
	// Idempotent is constant and does no I/O; any goroutine.
	Idempotent() bool
}

// Run settles what an earlier run left in the middle, then sends until ctx ends,
// waits for what is being sent, and returns nil. An error is the store's, from
// before anything was sent. It is called once.
func (l *Loop) Run(ctx context.Context) error {
	if err := l.recover(ctx); err != nil && !l.Shared { // which looks again before every start
		if ctx.Err() != nil {
			return nil
		}
		return fmt.Errorf("recover interrupted messages: %w", err)
	}
	sends, cut := context.WithCancel(context.WithoutCancel(ctx))
	defer cut()
	r := &run{Loop: l, busy: make(map[string]bool), free: make(chan string), slots: make(chan struct{}, manySends)}
	for ctx.Err() == nil {
		r.idle(ctx, r.start(ctx, sends))
	}
	late := time.AfterFunc(grace, cut)
	defer late.Stop()
	r.lanes.Wait()
	return nil
}

// recover decides about the messages that were being sent when the last run
// ended: again where a second one does no harm, else never again.
func (l *Loop) recover(ctx context.Context) error {
	items, err := l.Store.Interrupted(ctx)
	if err != nil {
		return err
	}
	for _, item := range items {
		o := Outcome{State: PossiblySent, Tries: item.Tries, Reason: "the program ended while this was being sent"}
		if idempotent(l.adapter(item)) {
			o.State = Waiting
		}
		if err := l.settle(ctx, item, o); err != nil && !l.anothers(err) {
			return err
		}
	}
	return nil
}

// anothers says whether an error means that another process has a message.
func (l *Loop) anothers(err error) bool {
	return l.Shared && (errors.Is(err, bot.ErrConflict) || errors.Is(err, bot.ErrNotHeld))
}

func idempotent(a bot.Adapter) bool {
	i, ok := a.(Idempotent)
	return ok && i.Idempotent()
}

// adapter finds the adapter of an item's platform; nil when it is not there.
func (l *Loop) adapter(item Item) bot.Adapter {
	for _, a := range l.Adapters {
		if a.Name() == item.Message.To.Platform {
			return a
		}
	}
	return nil
}

// run is the state of one Run. Only its loop touches busy.
type run struct {
	*Loop
	busy  map[string]bool // lanes that have a goroutine
	free  chan string     // lanes whose goroutine is about to end
	slots chan struct{}   // one for each message that is being sent
	lanes sync.WaitGroup
}

// start gives every ready lane its goroutine and says when to look again; zero
// when only something new can change anything. sends is the context of the
// tries, which outlives ctx a little.
func (r *run) start(ctx, sends context.Context) (next time.Time) {
	now := r.Clock.Now()
	if r.Shared {
		if err := r.recover(ctx); err != nil && ctx.Err() == nil {
			r.Log.ErrorContext(ctx, "abandoned messages could not be settled", "error", err)
		}
	}
	// A lane that rests for its pace still has a first message that is ready.
	items, next, err := r.Store.Ready(ctx, now, manySends+len(r.busy))
	if err != nil {
		if ctx.Err() == nil {
			r.Log.ErrorContext(ctx, "outbox could not be read", "error", err)
		}
		return now.Add(troubled)
	}
	for _, item := range items {
		if r.Serial && len(r.busy) > 0 {
			break
		}
		if lane := item.Message.To.Lane(); !r.busy[lane] {
			r.busy[lane] = true
			r.lanes.Go(func() { r.carry(ctx, sends, lane, item) })
		}
	}
	return next
}

// idle waits until a lane is free, a message is added, or next has come.
func (r *run) idle(ctx context.Context, next time.Time) {
	ctx, cancel := context.WithCancel(ctx)
	due, ended := r.alarm(ctx, next)
	defer func() { cancel(); <-ended }()
	select {
	case lane := <-r.free:
		delete(r.busy, lane)
	case <-r.Store.Posted():
	case <-due:
	case <-ctx.Done():
	}
	for { // lanes often come free together: one look serves them all
		select {
		case lane := <-r.free:
			delete(r.busy, lane)
		default:
			return
		}
	}
}

// alarm closes due when the clock shows t; never for the zero t. ended is closed
// when nothing runs any more.
func (r *run) alarm(ctx context.Context, t time.Time) (due, ended <-chan struct{}) {
	rang := make(chan struct{})
	if t.IsZero() {
		close(rang)
		return nil, rang
	}
	go func() {
		defer close(rang)
		_ = r.Clock.Wait(ctx, t) // an error only says that ctx ended first
	}()
	return rang, rang
}

// carry sends one message, lets its lane rest, and frees it.
func (r *run) carry(ctx, sends context.Context, lane string, item Item) {
	r.rest(ctx, r.deliver(ctx, sends, item))
	select {
	case r.free <- lane:
	case <-ctx.Done():
	}
}

// deliver makes one try in a slot, from the mark before it to the outcome after
// it, and says how long the lane has to rest.
func (r *run) deliver(ctx, sends context.Context, item Item) (rest time.Duration) {
	select {
	case r.slots <- struct{}{}:
		defer func() { <-r.slots }()
	case <-ctx.Done():
		return 0
	}
	if err := r.Store.MarkSending(ctx, item.ID); err != nil {
		if r.anothers(err) {
			return 0
		}
		if ctx.Err() == nil {
			r.Log.ErrorContext(ctx, "message could not be marked", "message", item.ID, "error", err)
		}
		return troubled
	}
	r.insist(ctx, item, r.try(sends, item))
	if a := r.adapter(item); a != nil {
		return a.Capabilities().Pace
	}
	return 0
}

// insist stores an outcome, also when ctx ended meanwhile, and tries again while
// the store fails: what is not stored blocks its lane and looks interrupted to
// the next run.
func (r *run) insist(ctx context.Context, item Item, o Outcome) {
	for {
		err := r.settle(context.WithoutCancel(ctx), item, o)
		if err == nil {
			return
		}
		r.Log.ErrorContext(ctx, "outcome of a message could not be stored", "message", item.ID, "outcome", o.State, "error", err)
		if errors.Is(err, bot.ErrConflict) || errors.Is(err, bot.ErrNotHeld) {
			return
		}
		r.rest(ctx, troubled)
		if ctx.Err() != nil {
			return
		}
	}
}

// rest waits for d; the end of ctx ends it, which is the caller's to see.
func (l *Loop) rest(ctx context.Context, d time.Duration) {
	if d > 0 {
		_ = l.Clock.Wait(ctx, l.Clock.Now().Add(d))
	}
}

// try makes one try and says what it means.
func (l *Loop) try(ctx context.Context, item Item) Outcome {
	a := l.adapter(item)
	if a == nil {
		return failed(item, fmt.Errorf("no adapter for platform %q", item.Message.To.Platform), false, l.Clock.Now())
	}
	ctx, cancel := context.WithTimeout(ctx, tryFor)
	defer cancel()
	ref, err := send(ctx, a, item.Message)
	if err == nil {
		return Outcome{State: Sent, Ref: ref, Tries: item.Tries}
	}
	if errors.Is(err, bot.ErrBarred) && l.Barred != nil {
		l.Barred(context.WithoutCancel(ctx), a.Name(), err)
	}
	unsure := !idempotent(a) && (ctx.Err() != nil || maybeSent(err))
	return failed(item, err, unsure, l.Clock.Now())
}

// send makes a panic of one adapter an error of one message, and a new message of
// one whose place is gone.
func send(ctx context.Context, a bot.Adapter, o bot.Outgoing) (ref bot.MessageRef, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("adapter %s panicked: %v", a.Name(), p)
		}
	}()
	ref, err = a.Send(ctx, o)
	if o.Edit != nil && errors.Is(err, bot.ErrNotFound) {
		o.Edit = nil // the message to change is gone; what it was to say is not
		ref, err = a.Send(ctx, o)
	}
	return ref, err
}

// maybeSent says whether an adapter's error leaves open if the message arrived,
// as a connection that breaks after the request does. Such an error has a method
// MaybeSent() bool.
func maybeSent(err error) bool {
	var unsure interface{ MaybeSent() bool }
	return errors.As(err, &unsure) && unsure.MaybeSent()
}

// settle stores an outcome and tells whoever has to know.
func (l *Loop) settle(ctx context.Context, item Item, o Outcome) error {
	if err := l.Store.Settle(ctx, item.ID, o); err != nil {
		return err
	}
	switch o.State {
	case Waiting:
		l.Log.WarnContext(ctx, "message will be tried again", "message", item.ID, "lane", item.Message.To.Lane(),
			"tries", o.Tries, "at", o.NotBefore, "reason", o.Reason)
	case Failed, PossiblySent:
		l.Log.ErrorContext(ctx, "message given up", "message", item.ID, "department", item.Department,
			"lane", item.Message.To.Lane(), "outcome", o.State, "tries", o.Tries, "reason", o.Reason)
		if l.GaveUp != nil {
			l.GaveUp(ctx, item, o)
		}
	}
	return nil
}
