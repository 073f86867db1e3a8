package deliver_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"kitbell/bot"
	"kitbell/bot/deliver"
)

var noon = time.Date(2026, 11, 23, 12, 0, 0, 0, time.UTC)

// stage is a running loop with everything around it.
type stage struct {
	store    *memory
	platform *platform
	clock    *bot.ManualClock
	log      *bytes.Buffer
	gaveUp   []string // key and state
	stop     func()   // ends the loop and waits for it
}

// play runs test with a loop in a bubble of its own, in which no real time
// passes.
func play(t *testing.T, p *platform, prepare func(*memory), test func(t *testing.T, s *stage), options ...func(*deliver.Loop)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		s := &stage{store: newMemory(), platform: p, clock: bot.NewManualClock(noon), log: &bytes.Buffer{}}
		if prepare != nil {
			prepare(s.store)
		}
		loop := deliver.Loop{Store: s.store, Adapters: []bot.Adapter{p}, Clock: s.clock, Log: slog.New(slog.NewTextHandler(s.log, nil)),
			GaveUp: func(_ context.Context, item deliver.Item, o deliver.Outcome) {
				s.gaveUp = append(s.gaveUp, fmt.Sprint(item.Message.Key, " ", o.State))
			}}
		for _, set := range options {
			set(&loop)
		}
		ctx, cancel := context.WithCancel(t.Context())
		ended := make(chan error, 1)
		go func() { ended <- loop.Run(ctx) }()
		s.stop = func() {
			cancel()
			if err, ok := <-ended; ok && err != nil {
				t.Error(err)
			}
			close(ended)
			s.stop = func() {}
		}
		synctest.Wait()
		test(t, s)
		s.stop()
		if strings.Contains(s.log.String(), "secret") {
			t.Error("the log holds a message's text")
		}
	})
}

// pass moves the clock and lets everything that follows from it happen.
func (s *stage) pass(d time.Duration) {
	s.clock.Set(s.clock.Now().Add(d))
	synctest.Wait()
}

func wantTries(t *testing.T, s *stage, want ...string) {
	t.Helper()
	if got := s.platform.tries(); !slices.Equal(got, want) {
		t.Errorf("tried %v, want %v", got, want)
	}
}

func wantState(t *testing.T, s *stage, key string, want deliver.State) {
	t.Helper()
	if got := s.store.outcome(key); got.State != want {
		t.Errorf("%s is %s (%s), want %s", key, got.State, got.Reason, want)
	}
}

func TestSendsInOrderAndKeepsTheReference(t *testing.T) {
	play(t, &platform{}, func(m *memory) { m.post("a", "1", "2", "3") }, func(t *testing.T, s *stage) {
		wantTries(t, s, "1", "2", "3")
		if got := s.store.outcome("2"); got.Ref.ID != "ref-2" {
			t.Errorf("reference %v", got.Ref)
		}
		s.store.post("a", "4")
		synctest.Wait()
		wantTries(t, s, "1", "2", "3", "4")
	})
}

func TestPaceHoldsInOneLaneOnly(t *testing.T) {
	play(t, &platform{pace: time.Second}, func(m *memory) { m.post("a", "1", "2"); m.post("b", "3") }, func(t *testing.T, s *stage) {
		got := s.platform.tries()
		slices.Sort(got)
		if !slices.Equal(got, []string{"1", "3"}) {
			t.Errorf("tried %v at once, want the first of each lane", got)
		}
		s.pass(999 * time.Millisecond)
		wantState(t, s, "2", deliver.Waiting)
		s.pass(time.Millisecond)
		wantState(t, s, "2", deliver.Sent)
	})
}

func TestManyLanesSideBySide(t *testing.T) {
	var hold chan struct{}
	p := &platform{answer: func(context.Context, bot.Outgoing, int) error { <-hold; return nil }}
	prepare := func(m *memory) {
		hold = make(chan struct{}) // belongs to the bubble
		for i := range 200 {
			m.post(fmt.Sprint("channel ", i), fmt.Sprint("key ", i))
		}
	}
	play(t, p, prepare, func(t *testing.T, s *stage) {
		if p.most != 64 {
			t.Errorf("%d at one time, want 64", p.most)
		}
		close(hold)
		synctest.Wait()
		if got := len(p.tries()); got != 200 {
			t.Errorf("sent %d of 200", got)
		}
	})
}

func TestOneScreenIsServedInOrder(t *testing.T) {
	prepare := func(m *memory) {
		for i := range 30 {
			m.post(fmt.Sprint("channel ", i%4), fmt.Sprint(i))
		}
	}
	play(t, &platform{}, prepare, func(t *testing.T, s *stage) {
		for i, key := range s.platform.tries() {
			if key != fmt.Sprint(i) {
				t.Errorf("message %d is %s", i, key)
			}
		}
		if s.platform.most != 1 || len(s.platform.tries()) != 30 {
			t.Errorf("%d at one time, %d in all", s.platform.most, len(s.platform.tries()))
		}
	}, func(l *deliver.Loop) { l.Serial = true })
}

func TestAnEndBeforeTheBeginningIsNoError(t *testing.T) {
	m := newMemory()
	m.breakWith(context.Canceled)
	ctx, cancel := context.WithCancel(t.Context())
	loop := deliver.Loop{Store: m, Clock: bot.NewManualClock(noon), Log: slog.New(slog.DiscardHandler)}
	if err := loop.Run(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("a store that fails: %v", err)
	}
	cancel()
	if err := loop.Run(ctx); err != nil {
		t.Errorf("a loop that was ended: %v", err)
	}
}

func TestFailures(t *testing.T) {
	boom := errors.New("boom")
	for _, row := range []struct {
		name   string
		answer error // of the first try of message 1
		state  deliver.State
		tries  int
		early  time.Duration // the second try is not made before this
		late   time.Duration // but until this
		gaveUp []string
	}{
		{"some error", boom, deliver.Waiting, 1, 700 * time.Millisecond, 1300 * time.Millisecond, nil},
		{"a pause of stated length is no failed try", &bot.RateLimitError{After: 40 * time.Second}, deliver.Waiting, 0, 39 * time.Second, 40 * time.Second, nil},
		{"a pause of unstated length", fmt.Errorf("send: %w", &bot.RateLimitError{}), deliver.Waiting, 1, 700 * time.Millisecond, 1300 * time.Millisecond, nil},
		{"a pause of absurd length", &bot.RateLimitError{After: 1000 * time.Hour}, deliver.Waiting, 0, 59 * time.Minute, time.Hour, nil},
		{"a channel that is gone", fmt.Errorf("send: %w", bot.ErrNotFound), deliver.Failed, 1, 0, 0, []string{"1 failed"}},
		{"a thing it cannot do", bot.ErrUnsupported, deliver.Failed, 1, 0, 0, []string{"1 failed"}},
		{"an error that leaves it open", unsure{boom}, deliver.PossiblySent, 1, 0, 0, []string{"1 possibly-sent"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			p := &platform{answer: func(_ context.Context, o bot.Outgoing, try int) error {
				if o.Key == "1" && try == 1 {
					return row.answer
				}
				return nil
			}}
			play(t, p, func(m *memory) { m.post("a", "1", "2") }, func(t *testing.T, s *stage) {
				wantState(t, s, "1", row.state)
				if got := s.store.outcome("1"); got.Tries != row.tries || got.Reason == "" {
					t.Errorf("%d tries, reason %q", got.Tries, got.Reason)
				}
				if !slices.Equal(s.gaveUp, row.gaveUp) {
					t.Errorf("heard of %v", s.gaveUp)
				}
				if row.late > 0 {
					wantState(t, s, "2", deliver.Waiting) // order holds: it waits behind 1
					s.pass(row.early)
					wantState(t, s, "1", deliver.Waiting)
					s.pass(row.late - row.early)
					wantState(t, s, "1", deliver.Sent)
				}
				wantState(t, s, "2", deliver.Sent)
			})
		})
	}
}

// A message whose place to be changed is gone is posted anew: what it says is
// not gone.
func TestAChangeOfWhatIsGoneIsPosted(t *testing.T) {
	var sent []bool // whether each try was a change
	p := &platform{answer: func(_ context.Context, o bot.Outgoing, _ int) error {
		sent = append(sent, o.Edit != nil)
		if o.Edit != nil {
			return fmt.Errorf("change: %w", bot.ErrNotFound)
		}
		return nil
	}}
	change := func(m *memory) {
		m.post("a", "1")
		m.edit("1", bot.MessageRef{ID: "m1"})
	}
	play(t, p, change, func(t *testing.T, s *stage) {
		wantState(t, s, "1", deliver.Sent)
		if !slices.Equal(sent, []bool{true, false}) {
			t.Errorf("tries were changes: %v", sent)
		}
	})
}

// Where the platform refuses the bot itself, the message waits for a person, and
// whoever has to know hears of it.
func TestBarred(t *testing.T) {
	refused := true
	p := &platform{answer: func(context.Context, bot.Outgoing, int) error {
		if refused {
			return fmt.Errorf("send: %w", bot.ErrBarred)
		}
		return nil
	}}
	var heard []string
	play(t, p, func(m *memory) { m.post("a", "1") }, func(t *testing.T, s *stage) {
		wantState(t, s, "1", deliver.Waiting)
		if len(heard) != 1 || len(s.gaveUp) > 0 {
			t.Errorf("heard %v, gave up %v", heard, s.gaveUp)
		}
		refused = false
		s.pass(3 * time.Minute)
		wantState(t, s, "1", deliver.Waiting)
		s.pass(4 * time.Minute)
		wantState(t, s, "1", deliver.Sent)
	}, func(l *deliver.Loop) {
		l.Barred = func(_ context.Context, platform string, _ error) { heard = append(heard, platform) }
	})
}

// unsure is an error after which nobody knows.
type unsure struct{ error }

func (unsure) MaybeSent() bool { return true }

func TestGivesUpAfterAboutTwoHours(t *testing.T) {
	p := &platform{answer: func(_ context.Context, o bot.Outgoing, _ int) error {
		if o.Key == "1" {
			return errors.New("boom")
		}
		return nil
	}}
	play(t, p, func(m *memory) { m.post("a", "1", "2") }, func(t *testing.T, s *stage) {
		var last time.Duration
		for s.store.outcome("1").State == deliver.Waiting {
			wait := s.store.outcome("1").NotBefore.Sub(s.clock.Now())
			if wait < last*3/4 && wait < 4*time.Minute || wait > 6*time.Minute {
				t.Errorf("a pause of %v after one of %v", wait, last)
			}
			last = wait
			s.pass(wait)
		}
		wantState(t, s, "1", deliver.Failed)
		wantState(t, s, "2", deliver.Sent)
		if got := len(s.platform.tries()) - 1; got != deliver.MostTries {
			t.Errorf("%d tries", got)
		}
		if spent := s.clock.Now().Sub(noon); spent < 90*time.Minute || spent > 150*time.Minute {
			t.Errorf("gave up after %v", spent)
		}
		if !slices.Equal(s.gaveUp, []string{"1 failed"}) || !strings.Contains(s.log.String(), "given up") {
			t.Errorf("heard of %v; log %s", s.gaveUp, s.log)
		}
	})
}

func TestInterruptedMessages(t *testing.T) {
	for _, row := range []struct {
		name       string
		idempotent bool
		tries      []string
		state      deliver.State
	}{
		{"are not repeated", false, []string{"2"}, deliver.PossiblySent},
		{"are repeated where that does no harm", true, []string{"1", "2"}, deliver.Sent},
	} {
		t.Run(row.name, func(t *testing.T) {
			interrupted := func(m *memory) {
				m.post("a", "1", "2")
				_ = m.MarkSending(t.Context(), 1)
			}
			play(t, &platform{idempotent: row.idempotent}, interrupted, func(t *testing.T, s *stage) {
				wantTries(t, s, row.tries...)
				wantState(t, s, "1", row.state)
			})
		})
	}
}

func TestATryThatNeverEnds(t *testing.T) {
	p := &platform{answer: func(ctx context.Context, o bot.Outgoing, _ int) error {
		if o.Key == "1" {
			<-ctx.Done()
			return ctx.Err()
		}
		return nil
	}}
	play(t, p, func(m *memory) { m.post("a", "1", "2") }, func(t *testing.T, s *stage) {
		time.Sleep(time.Minute) // the bubble's time
		wantState(t, s, "1", deliver.PossiblySent)
		wantState(t, s, "2", deliver.Sent)
	})
}

func TestTheEndWaitsForATryThatHasBegun(t *testing.T) {
	p := &platform{answer: func(ctx context.Context, _ bot.Outgoing, _ int) error {
		select {
		case <-time.After(2 * time.Second):
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	}}
	play(t, p, func(m *memory) { m.post("a", "1", "2") }, func(t *testing.T, s *stage) {
		s.stop()
		wantState(t, s, "1", deliver.Sent)
		wantState(t, s, "2", deliver.Waiting)
	})
}

func TestAPanickingAdapterHarmsOneMessage(t *testing.T) {
	p := &platform{answer: func(_ context.Context, o bot.Outgoing, try int) error {
		if o.Key == "1" && try == 1 {
			panic("nil map")
		}
		return nil
	}}
	play(t, p, func(m *memory) { m.post("a", "1") }, func(t *testing.T, s *stage) {
		s.pass(2 * time.Second)
		wantTries(t, s, "1", "1")
		wantState(t, s, "1", deliver.Sent)
	})
}

func TestAStoreThatFailsForAWhile(t *testing.T) {
	play(t, &platform{}, nil, func(t *testing.T, s *stage) {
		s.store.breakWith(errors.New("disk full"))
		s.store.post("a", "1")
		synctest.Wait()
		wantTries(t, s)
		s.store.breakWith(nil)
		s.pass(time.Minute)
		wantTries(t, s, "1")
	})
}

func TestAnOutcomeIsNotForgotten(t *testing.T) {
	var m *memory
	p := &platform{answer: func(context.Context, bot.Outgoing, int) error {
		m.breakWith(errors.New("disk full"))
		return nil
	}}
	play(t, p, func(store *memory) { m = store; m.post("a", "1") }, func(t *testing.T, s *stage) {
		wantState(t, s, "1", deliver.Sending)
		s.store.breakWith(nil)
		s.pass(time.Minute)
		wantTries(t, s, "1")
		wantState(t, s, "1", deliver.Sent)
	})
}

func TestAPlatformThatIsNotThere(t *testing.T) {
	play(t, &platform{}, nil, func(t *testing.T, s *stage) {
		s.store.mu.Lock()
		s.store.items = append(s.store.items, deliver.Item{ID: 1, Message: bot.Outgoing{Key: "1", To: bot.Address{Platform: "other", Channel: "a"}}})
		s.store.outcomes[1] = deliver.Outcome{State: deliver.Waiting}
		s.store.mu.Unlock()
		s.store.post("a", "2")
		synctest.Wait()
		wantTries(t, s, "2")
		if got := s.store.outcome("1"); got.State != deliver.Waiting || !strings.Contains(got.Reason, `"other"`) {
			t.Errorf("got %+v", got)
		}
	})
}
