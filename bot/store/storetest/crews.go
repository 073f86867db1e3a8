package storetest

import (
	"errors"
	"fmt"
	"sync"
	"testing"

	"kitbell/bot"
	"kitbell/bot/kit"
	"kitbell/bot/store"
)

// crewsReportAtOnce has many crews report the same few items at the same time,
// each deciding again on a conflict. Every report is counted in one line.
func crewsReportAtOnce(t *testing.T, open Opener) { crewsReportTo(t, fresh(t, open)) }

// crewsReportTo lets the crews report to one store or to several of one place.
func crewsReportTo(t *testing.T, stores ...*store.DB) {
	db := stores[0]
	const crews, reports, items = 8, 9, 3
	var group sync.WaitGroup
	for crew := range crews {
		group.Go(func() {
			for i := range reports {
				r := Report(fmt.Sprint("item-", i%items))
				if err := report(t, stores[crew%len(stores)], fmt.Sprintf("%d-%d", crew, i), r); err != nil {
					t.Error(err)
					return
				}
			}
		})
	}
	group.Wait()

	lines, err := db.OpenLines(t.Context(), Department)
	check(t, err)
	total := 0
	for _, l := range lines {
		total += l.Reports
	}
	if len(lines) != items || total != crews*reports {
		t.Errorf("%d lines with %d reports, want %d with %d", len(lines), total, items, crews*reports)
	}
	if n, err := db.VerifyAudit(t.Context(), Department); n != crews*reports || err != nil {
		t.Errorf("%d audit rows, %v", n, err)
	}
	if left, err := db.Unhandled(t.Context()); err != nil || len(left) != 0 {
		t.Errorf("%d events unhandled, %v", len(left), err)
	}
}

// report takes one event through the store, as the router does.
func report(t testing.TB, db *store.DB, event string, r kit.Report) error {
	if _, err := db.Receive(t.Context(), Event(event)); err != nil {
		return err
	}
	for {
		open, err := db.OpenLines(t.Context(), Department)
		if err != nil {
			return err
		}
		number, err := db.NextNumber(t.Context(), Department)
		if err != nil {
			return err
		}
		err = db.Apply(t.Context(), Turn(event, kit.File(open, r, number)))
		if !errors.Is(err, bot.ErrConflict) {
			return err
		}
	}
}
