package command_test

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/store"
)

// echo is a command that answers every message with its own text, so that the
// order of handling can be read off the answers.
func echo(name string) command.Command {
	return command.Command{Name: name, Run: func(_ context.Context, r *command.Request) (command.Result, error) {
		return command.Say("heard " + r.Event.Text), nil
	}}
}

func everyIntent() []command.Command {
	var all []command.Command
	for _, name := range []string{"ask", "none", "report", "queue", "door", "check", "used", "help", "resolved"} {
		all = append(all, echo(name))
	}
	return all
}

// Events of one conversation are handled one at a time and in order, whatever
// other conversations do.
func TestIntakeKeepsOrder(t *testing.T) {
	b := newBench(t, everyIntent()...)
	const conversations, messages = 8, 20
	var mu sync.Mutex
	handled := make(map[string][]string)
	intake := command.NewIntake(b.db, b.router, b.router.Log, func(e bot.Event, _ command.Outcome, err error) {
		if err != nil {
			t.Errorf("%s: %v", e.ID, err)
		}
		mu.Lock()
		defer mu.Unlock()
		handled[e.From.ID] = append(handled[e.From.ID], e.ID)
	})
	ctx, stop := context.WithCancel(t.Context())
	var running sync.WaitGroup
	running.Go(func() {
		if err := intake.Run(ctx); err != nil {
			t.Error(err)
		}
	})
	want := make(map[string][]string)
	for m := range messages {
		for c := range conversations {
			e := b.event(bot.Speaker{ID: fmt.Sprint("person-", c)}, fmt.Sprintf("hello %d", m))
			want[e.From.ID] = append(want[e.From.ID], e.ID)
			if err := intake.Handle(ctx, e); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := intake.Idle(ctx); err != nil {
		t.Fatal(err)
	}
	stop()
	running.Wait()
	for person, ids := range want {
		if !slices.Equal(handled[person], ids) {
			t.Errorf("%s: handled %v, want %v", person, handled[person], ids)
		}
	}
}

// What was received and not handled when the program stopped is handled by the
// next one; what comes twice is handled once.
func TestIntakeGoesOnAfterAStop(t *testing.T) {
	desk := demoDesk(t)
	clock := bot.NewManualClock(monday(desk.Department))
	path := filepath.Join(t.TempDir(), "kitbell.db")
	open := func() *store.DB {
		db, err := store.Open(t.Context(), path, store.Options{Clock: clock})
		if err != nil {
			t.Fatal(err)
		}
		return db
	}
	db := open()
	first := newBenchOn(t, desk, db, clock, everyIntent()...)
	e := first.event(bot.Speaker{ID: "a"}, "hello there")
	if err := first.intake.Handle(t.Context(), e); err != nil { // nobody runs the intake
		t.Fatal(err)
	}
	if err := first.intake.Handle(t.Context(), e); err != nil {
		t.Errorf("the same event again: %v", err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	db = open()
	defer db.Close()
	second := newBenchOn(t, desk, db, clock, everyIntent()...)
	handled := make(chan string, 2)
	intake := command.NewIntake(db, second.router, second.router.Log, func(e bot.Event, _ command.Outcome, _ error) { handled <- e.ID })
	ctx, stop := context.WithCancel(t.Context())
	var running sync.WaitGroup
	running.Go(func() { intake.Run(ctx) })
	if got := <-handled; got != e.ID {
		t.Errorf("handled %s, want %s", got, e.ID)
	}
	if err := intake.Idle(ctx); err != nil {
		t.Fatal(err)
	}
	stop()
	running.Wait()
	left, err := db.Unhandled(t.Context())
	if err != nil || len(left) > 0 || len(handled) > 0 {
		t.Errorf("left unhandled %v, handled again %d, %v", left, len(handled), err)
	}
}

// What must not be stored is refused with a sentence and leaves no row.
func TestIntakeScreens(t *testing.T) {
	b := newBench(t, everyIntent()...)
	err := b.intake.Handle(t.Context(), b.event(bot.Speaker{ID: "a"}, "gate code is 4711#"))
	var refused *bot.UserError
	if !errors.As(err, &refused) {
		t.Fatalf("got %v, want a refusal", err)
	}
	left, err := b.db.Unhandled(t.Context())
	if err != nil || len(left) > 0 {
		t.Errorf("stored %v, %v", left, err)
	}
}

// An event for a department that is not here is refused, not lost quietly.
func TestIntakeUnknownDepartment(t *testing.T) {
	b := newBench(t, everyIntent()...)
	e := b.event(bot.Speaker{ID: "a"}, "hello")
	e.Department = "elsewhere"
	if err := b.intake.Handle(t.Context(), e); !errors.Is(err, bot.ErrNotFound) {
		t.Errorf("got %v, want ErrNotFound", err)
	}
}

// A conversation that loses a race for a row is answered from the rows as they
// are now: the command runs again, once.
func TestRouterRunsAgainOnConflict(t *testing.T) {
	b := newBench(t)
	for _, row := range []struct {
		name      string
		conflicts int
		runs      int
		ok        bool
	}{{"no conflict", 0, 1, true}, {"one conflict", 1, 2, true}, {"two conflicts", 2, 2, false}} {
		t.Run(row.name, func(t *testing.T) {
			runs := 0
			count := command.Command{Name: "none", Run: func(context.Context, *command.Request) (command.Result, error) {
				runs++
				return command.Say("done"), nil
			}}
			ledger := &conflicting{DB: b.db, left: row.conflicts}
			router := &command.Router{Desks: b.router.Desks, Commands: []command.Command{count}, Books: b.db, Ledger: ledger, Clock: b.clock, Log: b.router.Log}
			e := b.event(bot.Speaker{ID: "a"}, "thanks")
			if _, err := b.db.Receive(t.Context(), e); err != nil {
				t.Fatal(err)
			}
			_, err := router.Handle(t.Context(), e)
			if (err == nil) != row.ok || runs != row.runs {
				t.Errorf("ran %d times, %v; want %d times", runs, err, row.runs)
			}
		})
	}
}

// conflicting is a ledger whose first turns lose a race.
type conflicting struct {
	*store.DB
	left int
}

func (c *conflicting) Apply(ctx context.Context, t bot.Turn) error {
	if c.left > 0 {
		c.left--
		return bot.ErrConflict
	}
	return c.DB.Apply(ctx, t)
}

// What goes wrong inside is not shown: the person gets a reference, and changes
// of the command are dropped.
func TestTroubleIsASentence(t *testing.T) {
	broken := command.Command{Name: "none", Run: func(context.Context, *command.Request) (command.Result, error) {
		entry := bot.NewEntry("wish", "x", "a", monday(demoDesk(t).Department), "x")
		return command.Result{Changes: []bot.Change{bot.Written{Entry: entry}}}, errors.New("disk on fire")
	}}
	b := newBench(t, broken)
	s := b.say(bot.Speaker{ID: "a"}, "thanks")
	if len(s.outcome.Turn.Changes) > 0 {
		t.Error("changes of a failed command were written")
	}
	if !strings.Contains(s.text, "reference") || strings.Contains(s.text, "disk on fire") {
		t.Errorf("said %q", s.text)
	}
}
