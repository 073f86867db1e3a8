package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/store"
)

// most a rehearsal can be asked for.
const (
	mostRehearsed   = 3660 // days
	mostDepartments = 5000
)

// runRehearse runs the next days on a simulated clock and prints every post that
// would go out. It works on a copy of the database; nothing is sent, and nobody
// answers.
func runRehearse(ctx context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("rehearse", flag.ContinueOnError)
	home := homeFlags(flags, "folder of the department (the demo department)")
	days := flags.Int("days", 7, "how many days")
	start := flags.String("start", "", "local time to begin at, such as 2026-11-23T07:00 (now)")
	asJSON := flags.Bool("json", false, "print one JSON object for each part of a post")
	departments := flags.Int("departments", 1, "how many departments like it, for load")
	if err := parse(flags, args, 0, s); err != nil {
		return err
	}
	switch {
	case *days < 1 || *days > mostRehearsed:
		return usagef("--days is 1 to %d, not %d", mostRehearsed, *days)
	case *departments < 1 || *departments > mostDepartments:
		return usagef("--departments is 1 to %d, not %d", mostDepartments, *departments)
	}
	all, err := pocketDesks(home.dir, s.err)
	if err != nil {
		return err
	}
	begin, err := rehearsalStart(*start, all[0].desk.Department.Zone)
	if err != nil {
		return err
	}
	r := rehearsal{clock: bot.NewManualClock(begin), told: make(map[string]bool)}
	if r.db, err = r.open(ctx, home); err != nil {
		return err
	}
	defer r.db.Close()
	for _, o := range all {
		r.desks = append(r.desks, manyOf(o.desk, *departments)...)
	}
	if *asJSON {
		r.show = jsonParts(s.out)
	} else {
		r.show = textParts(s.out, *departments > 1 || len(all) > 1)
	}
	return r.run(ctx, begin.AddDate(0, 0, *days))
}

// rehearsalStart is the local time named, or now.
func rehearsalStart(text string, zone *time.Location) (time.Time, error) {
	if text == "" {
		return time.Now().In(zone).Truncate(time.Minute), nil
	}
	for _, layout := range []string{"2006-01-02T15:04", time.DateOnly, time.RFC3339} {
		if at, err := time.ParseInLocation(layout, text, zone); err == nil {
			return at, nil
		}
	}
	return time.Time{}, usagef("--start is a local time such as 2026-11-23T07:00, not %q", text)
}

// manyOf is a desk n times, under slugs of their own.
func manyOf(desk *command.Desk, n int) []*command.Desk {
	if n == 1 {
		return []*command.Desk{desk}
	}
	desks := make([]*command.Desk, n)
	for i := range desks {
		desks[i] = desk.As(fmt.Sprintf("%s-%d", desk.Department.Slug, i+1))
	}
	return desks
}

// rehearsal is the schedule at work on a copy.
type rehearsal struct {
	desks []*command.Desk
	db    *store.DB
	clock *bot.ManualClock
	told  map[string]bool // what was held and has been said
	show  func(command.Part) error
	err   error // of show
}

func (r *rehearsal) open(ctx context.Context, h *home) (*store.DB, error) {
	options := store.Options{Clock: r.clock}
	if h.dir == "" {
		return store.OpenTemp(ctx, options)
	}
	return h.openCopy(ctx, options)
}

// run steps through every moment at which something may go out.
func (r *rehearsal) run(ctx context.Context, until time.Time) error {
	bundler := &command.Bundler{
		Desks: func() []*command.Desk { return r.desks }, Books: r.db, Ledger: r.db, Log: slog.New(slog.DiscardHandler), Told: r.tell,
	}
	for {
		next, err := bundler.Step(ctx, r.clock.Now())
		if err != nil {
			return fmt.Errorf("rehearse %s: %w", r.clock.Now(), err)
		}
		if r.err != nil {
			return r.err
		}
		if next.IsZero() || next.After(until) {
			return nil
		}
		r.clock.Set(later(next, r.clock.Now().Add(time.Second)))
	}
}

// tell shows a part. What is held is said once, not at every look.
func (r *rehearsal) tell(p command.Part) {
	if p.Skipped != "" {
		key := fmt.Sprintf("%s/%d/%s", p.Department, p.Due, p.Skipped)
		if r.told[key] {
			return
		}
		r.told[key] = true
	}
	if r.err == nil {
		r.err = r.show(p)
	}
}

// rehearsedPart is a part as --json prints it.
type rehearsedPart struct {
	At         string `json:"at"` // RFC 3339, with the zone's offset
	Department string `json:"department"`
	Platform   string `json:"platform"`
	Channel    string `json:"channel"`
	Unit       string `json:"unit"`
	Platoon    string `json:"platoon"`
	Kind       string `json:"kind"`
	Topic      string `json:"topic"`
	Why        string `json:"why"`
	Skipped    string `json:"skipped"`
}

func jsonParts(w io.Writer) func(command.Part) error {
	encoder := json.NewEncoder(w)
	encoder.SetEscapeHTML(false)
	return func(p command.Part) error {
		to := p.To
		if len(to) == 0 {
			to = []bot.Address{{}}
		}
		for _, a := range to {
			err := encoder.Encode(rehearsedPart{p.At.Format(time.RFC3339), p.Department, a.Platform, a.Channel, p.Unit, p.Platoon, p.Kind, p.Topic, p.Why, p.Skipped})
			if err != nil {
				return fmt.Errorf("print part: %w", err)
			}
		}
		return nil
	}
}

func textParts(w io.Writer, named bool) func(command.Part) error {
	last := ""
	return func(p command.Part) error {
		head := p.At.Format("Mon 2 Jan 2006 15:04 MST") + ", "
		if named {
			head += p.Department + ", "
		}
		head += p.Crew()
		for _, a := range p.To {
			head += ", " + a.Channel
		}
		if head != last {
			last = head
			fmt.Fprintln(w, head)
		}
		what := p.Kind
		if p.Topic != "" {
			what += " " + p.Topic
		}
		line := "  " + what + ": " + p.Why
		if p.Skipped != "" {
			line = "  not now: " + what + ": " + p.Skipped + " (" + p.Why + ")"
		}
		if _, err := fmt.Fprintln(w, line); err != nil {
			return fmt.Errorf("print part: %w", err)
		}
		return nil
	}
}
