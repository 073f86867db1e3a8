package main

import (
	"context"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"

	"kitbell/bot"
	"kitbell/bot/store"
	"kitbell/schedule"
)

// scheduled is one process's part in the schedule.
type scheduled struct {
	db   *store.DB
	step schedule.Step
}

// openScheduled opens a department on a database, as one of several processes or
// as the only one.
func openScheduled(t *testing.T, dir, address string, clock bot.Clock, shared bool) scheduled {
	t.Helper()
	all, err := openDesks(dir, t.Output())
	if err != nil {
		t.Fatal(err)
	}
	db, err := store.Open(t.Context(), address, store.Options{Clock: clock, Shared: shared})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	log := slog.New(slog.DiscardHandler)
	o := newOffice(newDesks(desksOf(all)...), db, clock, log)
	if !shared {
		return scheduled{db, o.bundler.Step}
	}
	m := newMetrics(clock)
	end := o.share(newSharing(db, clock, log, m), m)
	t.Cleanup(end)
	return scheduled{db, o.roles.schedule(o.bundler)}
}

// scheduleRows is all that the schedule has written to a database.
func scheduleRows(t *testing.T, address string) (rows []string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	for _, query := range []string{
		"SELECT entry || ' ' || unit || ' ' || wall || ' missed ' || missed || ' carried by ' || bundle FROM due ORDER BY 1",
		"SELECT key || ' to ' || lane || ' ' || message FROM outbox ORDER BY id",
	} {
		found, err := conn.Query(t.Context(), query)
		if err != nil {
			t.Fatal(err)
		}
		more, err := pgx.CollectRows(found, pgx.RowTo[string])
		if err != nil {
			t.Fatal(err)
		}
		rows = append(rows, more...)
	}
	return rows
}

// Three processes that lose the schedule to each other again and again, without
// hearing of it, write in two weeks what one alone writes: each moment falls due
// once, each post is made once.
func TestScheduleOfSeveral(t *testing.T) {
	dir, together, alone := started(t), postgres.Empty(t), postgres.Empty(t)
	begin := time.Date(2026, 11, 1, 12, 30, 0, 0, time.UTC)
	clock := bot.NewManualClock(begin)
	only := openScheduled(t, dir, alone, clock, false)
	var several []scheduled
	for range 3 {
		several = append(several, openScheduled(t, dir, together, clock, true))
	}
	random := rand.New(rand.NewPCG(7, 7))
	lapses := 0
	for now := begin; now.Before(begin.AddDate(0, 0, 14)); now = now.Add(2 * time.Hour) {
		clock.Set(now)
		if _, err := only.step(t.Context(), now); err != nil {
			t.Fatal(err)
		}
		for _, i := range random.Perm(3) {
			if random.IntN(3) == 0 { // whoever has it stands still for longer than a lease
				lapse(t, together)
				lapses++
			}
			if _, err := several[i].step(t.Context(), now); err != nil {
				t.Fatalf("process %d: %v", i, err)
			}
		}
	}
	want, got := scheduleRows(t, alone), scheduleRows(t, together)
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("written by three, and not by one alone:\n%s", diff)
	}
	if len(want) < 8 {
		t.Errorf("only %d rows were written", len(want))
	}
	t.Logf("%d rows, the same after %d lapses", len(got), lapses)
}

// lapse ends the schedule's lease behind its owner's back.
func lapse(t *testing.T, address string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), address)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	if _, err := conn.Exec(t.Context(), fmt.Sprintf("UPDATE leases SET until = 0 WHERE name = '%s'", scheduleLease)); err != nil {
		t.Fatal(err)
	}
}
