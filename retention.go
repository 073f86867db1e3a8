package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"text/tabwriter"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/store"
	"kitbell/schedule"
)

// runRetention shows what retention would remove now. It removes nothing.
func runRetention(ctx context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("retention", flag.ContinueOnError)
	home := homeFlags(flags, "folder of the department")
	if err := parse(flags, args, 0, s); err != nil {
		return err
	}
	all, err := openDesks(home.dir, s.err)
	if err != nil {
		return err
	}
	place, err := home.database(environment())
	if err != nil {
		return err
	}
	db, err := store.OpenReader(ctx, place, store.Options{})
	if err != nil {
		return err
	}
	defer db.Close()
	for _, o := range all {
		if err := showRetention(ctx, s.out, o.desk.Department, db, time.Now()); err != nil {
			return err
		}
	}
	return nil
}

// showRetention prints a department's kinds, and what of them is over its time.
func showRetention(ctx context.Context, w io.Writer, d *department.Department, db *store.DB, now time.Time) error {
	fmt.Fprintf(w, "%s, what run would remove now:\n", d.Name)
	table := tabwriter.NewWriter(w, 0, 8, 2, ' ', 0)
	fmt.Fprint(table, "kind\tdays\twould go\n")
	for _, kind := range department.KeptKinds() {
		days, ok := d.Retention.Days[kind]
		if !ok {
			fmt.Fprintf(table, "%s\tfor ever\t0\n", kind)
			continue
		}
		n, err := expired(ctx, db, d, kind, now)
		if err != nil {
			return err
		}
		fmt.Fprintf(table, "%s\t%d\t%d\n", kind, days, n)
	}
	table.Flush()
	if h := d.Retention.Hold; h.Holds(now) {
		fmt.Fprintf(w, "Nothing goes before %s: %s (%s).\n", h.Until.Format(time.DateOnly), h.Reason, h.By)
	}
	return nil
}

// sweepsOf are what the store removes for a kind.
func sweepsOf(kind department.Kept, before time.Time) []store.Sweep {
	entries := map[department.Kept][]string{
		department.KeptQuestions: {"unanswered", "question-settled"}, department.KeptNotes: {"note"}, department.KeptDrillAnswers: {"drill"},
		department.KeptRiding: {"riding"}, department.KeptSightings: {"seen"},
	}
	if kinds, ok := entries[kind]; ok {
		var all []store.Sweep
		for _, k := range kinds {
			all = append(all, store.Sweep{Of: store.SweepEntries, Kind: k, Before: before})
		}
		return all
	}
	return []store.Sweep{{Of: store.SweepOf(kind), Before: before}}
}

// expired counts what of a kind is over its time.
func expired(ctx context.Context, db *store.DB, d *department.Department, kind department.Kept, now time.Time) (sum int64, err error) {
	for _, sweep := range sweepsOf(kind, oldest(d, kind, now)) {
		n, err := db.Expired(ctx, d.Slug, sweep)
		if err != nil {
			return 0, err
		}
		sum += n
	}
	return sum, nil
}

// oldest is the moment from which on a kind is kept.
func oldest(d *department.Department, kind department.Kept, now time.Time) time.Time {
	return now.In(d.Zone).AddDate(0, 0, -d.Retention.Days[kind])
}

// lastRetention names the setting with the moment when retention was last applied.
const lastRetention = "last-retention"

// retainer removes each day what is over its time.
type retainer struct {
	office *office
	daily  schedule.Cron
	done   func(time.Time) // hears when a day's turn is over; nil hears nothing
}

// run removes until ctx ends. A turn that fails is made again after a pause.
func (r *retainer) run(ctx context.Context) error {
	for {
		now := r.office.clock.Now()
		next := r.next(ctx, now)
		if !next.After(now) {
			next = now.Add(afterFailure)
			if r.turn(ctx, now) {
				continue
			}
		}
		if r.office.clock.Wait(ctx, next) != nil {
			return nil
		}
	}
}

// next is when retention is due: at the quiet hour after the last turn, or now.
func (r *retainer) next(ctx context.Context, now time.Time) time.Time {
	text, _, err := r.office.db.Setting(ctx, "", lastRetention)
	last, badErr := time.Parse(time.RFC3339, text)
	if err != nil || badErr != nil || last.After(now) {
		return now
	}
	m, ok := r.daily.Next(last, r.office.firstZone())
	if !ok {
		return now
	}
	return m.At
}

// turn removes for every department what is over its time. ok is false when
// something could not be removed.
func (r *retainer) turn(ctx context.Context, now time.Time) (ok bool) {
	ok = true
	for _, desk := range r.office.desks.all() {
		if err := r.apply(ctx, desk.Department, now); err != nil {
			if ctx.Err() != nil {
				return false
			}
			r.office.log.ErrorContext(ctx, "retention not applied, trying again", "department", desk.Department.Slug, "error", err)
			ok = false
		}
	}
	if ok {
		if err := r.office.db.SetSetting(ctx, "", lastRetention, now.UTC().Format(time.RFC3339)); err != nil {
			r.office.log.ErrorContext(ctx, "retention not noted", "error", err)
			ok = false
		}
	}
	if r.done != nil {
		r.done(now)
	}
	return ok
}

// apply removes for one department, in small transactions, unless a hold lasts.
func (r *retainer) apply(ctx context.Context, d *department.Department, now time.Time) error {
	if err := r.noteHold(ctx, d, now); err != nil {
		return err
	}
	for _, kind := range department.KeptKinds() {
		if _, ok := d.Retention.Days[kind]; !ok {
			continue
		}
		for _, sweep := range sweepsOf(kind, oldest(d, kind, now)) {
			if r.heldNow(d.Slug, now) {
				return nil
			}
			n, err := r.sweep(ctx, d.Slug, sweep)
			if n > 0 {
				r.office.log.InfoContext(ctx, "removed by retention", "department", d.Slug, "kind", kind, "rows", n)
			}
			if err != nil {
				return err
			}
		}
	}
	return nil
}

// heldNow says whether a hold lasts by the file as it is now: one that somebody sets
// while much is removed stops the rest.
func (r *retainer) heldNow(slug string, now time.Time) bool {
	desk, ok := r.office.desks.desk(slug)
	return ok && desk.Department.Retention.Hold.Holds(now)
}

func (r *retainer) sweep(ctx context.Context, slug string, sweep store.Sweep) (sum int64, err error) {
	for {
		n, err := r.office.db.Expire(ctx, slug, sweep)
		sum += n
		if err != nil || n == 0 {
			return sum, err
		}
	}
}

// holdKind is the journal's word for a time in which nothing is removed.
const holdKind = "hold"

// heldSince is the body of an entry about it; without a last moment it was lifted.
type heldSince struct {
	Until  time.Time `json:"until,omitzero"`
	Reason string    `json:"reason,omitempty"`
}

// noteHold writes a hold that is new, changed or lifted into the journal, and so into
// the audit, with who set it.
func (r *retainer) noteHold(ctx context.Context, d *department.Department, now time.Time) error {
	entry, ok, err := r.office.db.Latest(ctx, d.Slug, holdKind, "retention")
	if err != nil {
		return err
	}
	var was heldSince
	if ok {
		if err := json.Unmarshal(entry.Body, &was); err != nil {
			return fmt.Errorf("read hold: %w", err)
		}
	}
	is := heldSince{Until: d.Retention.Hold.Until.UTC(), Reason: d.Retention.Hold.Reason}
	if d.Retention.Hold.Until.IsZero() {
		is.Until = time.Time{}
	}
	if is.Until.Equal(was.Until) && is.Reason == was.Reason {
		return nil
	}
	actor := d.Retention.Hold.By
	if actor == "" {
		actor = "department-file"
	}
	return r.office.db.Apply(ctx, bot.Turn{Department: d.Slug, Actor: actor, At: now,
		Changes: []bot.Change{bot.Written{Entry: bot.NewEntry(holdKind, "retention", d.Retention.Hold.By, now, is)}}})
}
