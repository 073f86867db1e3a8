package schedule_test

import (
	"context"
	"errors"
	"log/slog"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"kitbell/bot"
	"kitbell/schedule"
)

var (
	quietLog = slog.New(slog.DiscardHandler)
	noon     = time.Date(2026, 11, 24, 12, 0, 0, 0, time.UTC)
)

// looping runs a loop over step until the test ends it.
func looping(t *testing.T, clock bot.Clock, log *slog.Logger, step schedule.Step) (loop *schedule.Loop, stop func() error) {
	ctx, cancel := context.WithCancel(t.Context())
	loop = schedule.NewLoop(clock, log)
	ended := make(chan error, 1)
	go func() { ended <- loop.Run(ctx, step) }()
	return loop, func() error { cancel(); return <-ended }
}

func TestLoopWaitsForTheInstant(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		clock := bot.NewManualClock(noon)
		var steps []time.Time
		loop, stop := looping(t, clock, quietLog, func(_ context.Context, now time.Time) (time.Time, error) {
			steps = append(steps, now)
			return now.Add(time.Hour), nil
		})
		look := func(what string, want int) {
			t.Helper()
			synctest.Wait()
			if len(steps) != want {
				t.Errorf("%s: %d steps, want %d", what, len(steps), want)
			}
		}
		look("at the start", 1)
		clock.Set(noon.Add(59 * time.Minute))
		look("too early", 1)
		clock.Set(noon.Add(time.Hour))
		look("the instant", 2)
		clock.Set(noon.AddDate(0, 0, 30))
		look("the clock jumps a month", 3)
		clock.Set(noon)
		look("the clock is set back", 3)
		loop.Wake()
		look("woken", 4)
		loop.Wake()
		loop.Wake()
		synctest.Wait()
		clock.Set(noon.Add(time.Hour))
		synctest.Wait()
		if err := stop(); !errors.Is(err, context.Canceled) {
			t.Errorf("ended with %v", err)
		}
	})
}

func TestLoopTriesAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var log strings.Builder
		var at []time.Duration
		began := time.Now()
		_, stop := looping(t, bot.NewManualClock(noon), slog.New(slog.NewTextHandler(&log, nil)),
			func(context.Context, time.Time) (time.Time, error) {
				at = append(at, time.Since(began))
				if len(at) < 4 {
					return time.Time{}, errors.New("disk is busy")
				}
				return time.Time{}, nil
			})
		time.Sleep(time.Hour) // the bubble's time: nobody waits
		synctest.Wait()
		want := []time.Duration{0, time.Second, 3 * time.Second, 7 * time.Second}
		if len(at) != len(want) {
			t.Fatalf("steps at %v", at)
		}
		for i := range want {
			if at[i] != want[i] {
				t.Errorf("steps at %v, want %v", at, want)
				break
			}
		}
		if n := strings.Count(log.String(), "disk is busy"); n != 3 {
			t.Errorf("%d errors logged", n)
		}
		_ = stop()
	})
}

func TestLoopPauseStaysBounded(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var steps atomic.Int64
		_, stop := looping(t, bot.SystemClock{}, quietLog, func(context.Context, time.Time) (time.Time, error) {
			steps.Add(1)
			return time.Time{}, errors.New("for ever")
		})
		time.Sleep(24 * time.Hour)
		synctest.Wait()
		before := steps.Load()
		time.Sleep(schedule.MostPause + time.Second)
		synctest.Wait()
		if steps.Load() == before {
			t.Errorf("no step within %s", schedule.MostPause)
		}
		_ = stop()
	})
}

func TestLoopWithTheMachinesClock(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var steps atomic.Int64
		_, stop := looping(t, bot.SystemClock{}, quietLog, func(_ context.Context, now time.Time) (time.Time, error) {
			steps.Add(1)
			return now.Add(30 * time.Minute), nil
		})
		time.Sleep(2*time.Hour + time.Minute)
		synctest.Wait()
		if steps.Load() != 5 {
			t.Errorf("%d steps in two hours, want 5", steps.Load())
		}
		_ = stop()
	})
}
