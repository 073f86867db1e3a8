package schedule

import (
	"context"
	"log/slog"
	"maps"
	"slices"
	"time"

	"kitbell/bot"
)

// The pause after a step that failed: it begins short, doubles each time, and
// stays below the most.
const (
	FirstPause = time.Second
	MostPause  = 5 * time.Minute
)

// idle is how long the loop waits when a step names no next instant.
const idle = 24 * time.Hour

// Step does what is due at now and says when there will be something again; a
// zero next means that nothing is known to come. It is called from the loop's
// goroutine, one call at a time, and may block on the store. An error is
// logged and the step tried again after a pause, so it must be safe to repeat.
type Step func(ctx context.Context, now time.Time) (next time.Time, err error)

// Loop calls a step whenever something is due. What is due must be stored by
// the step: the loop itself remembers nothing, so it can be stopped at any time.
type Loop struct {
	clock bot.Clock
	log   *slog.Logger
	wake  chan struct{}
}

// NewLoop is a loop that waits by clock and logs failed steps to log.
func NewLoop(clock bot.Clock, log *slog.Logger) *Loop {
	return &Loop{clock: clock, log: log, wake: make(chan struct{}, 1)}
}

// Wake makes the loop look again at once, because the department file or what
// waits has changed. Any goroutine; never blocks; several calls before the
// loop looks are one.
func (l *Loop) Wake() {
	select {
	case l.wake <- struct{}{}:
	default:
	}
}

// Run calls step, waits until the instant it named or a Wake, and so on. It
// blocks until ctx ends and returns its error; no error of a step ends it.
func (l *Loop) Run(ctx context.Context, step Step) error {
	pause := FirstPause
	for ctx.Err() == nil {
		now := l.clock.Now()
		next, err := step(ctx, now)
		switch {
		case ctx.Err() != nil:
		case err != nil:
			l.log.ErrorContext(ctx, "step of the schedule failed, trying again", "pause", pause, "err", err)
			l.rest(ctx, pause)
			pause = min(2*pause, MostPause)
		default:
			pause = FirstPause
			if next.IsZero() {
				next = now.Add(idle)
			}
			l.await(ctx, next)
		}
	}
	return ctx.Err()
}

// await waits for an instant by the department's clock, or for a Wake.
func (l *Loop) await(ctx context.Context, until time.Time) {
	ctx, cancel := context.WithCancel(ctx)
	done := make(chan struct{})
	go func() {
		defer close(done)
		select {
		case <-l.wake:
			cancel()
		case <-ctx.Done():
		}
	}()
	// Both a reached instant and an ended wait mean: look again.
	_ = l.clock.Wait(ctx, until)
	cancel()
	<-done
}

// rest waits in the machine's own time: a pause is about a busy disk, not about
// the department, whose clock may stand still in a demo.
func (l *Loop) rest(ctx context.Context, pause time.Duration) {
	timer := time.NewTimer(pause)
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-l.wake:
	case <-ctx.Done():
	}
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
