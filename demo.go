package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"log/slog"
	"os/signal"
	"slices"
	"strings"
	"syscall"
	"time"

	"kitbell/adapters/console"
	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
	"kitbell/bot/store"
	"kitbell/schedule"
	"kitbell/testdata/demo"
)

// runDemo plays the demo department in the terminal, on a throw-away store and
// a clock that stands still until it is moved.
func runDemo(ctx context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("demo", flag.ContinueOnError)
	plain := flags.Bool("plain", false, "for screen readers: no colour, one button a line")
	start := flags.String("start", "", "local time to begin at, such as 2026-11-23T07:45 (now)")
	pictures := flags.String("pictures", "", "folder for pictures (a new temporary one)")
	if err := parse(flags, args, 0, s); err != nil {
		return err
	}
	open, err := openDemoDesk()
	if err != nil {
		return err
	}
	d := open.desk.Department
	now, err := startTime(*start, d.Zone)
	if err != nil {
		return err
	}
	clock := bot.NewManualClock(now)
	log := slog.New(slog.NewTextHandler(s.err, &slog.HandlerOptions{Level: slog.LevelWarn}))
	o, err := openDemo(ctx, open.desk, clock, log)
	if err != nil {
		return err
	}
	defer o.db.Close()
	t := terminal{office: o, department: d, streams: s, plain: *plain, pictures: *pictures}
	t.moveClock = func(ctx context.Context, arg string) (string, error) { return t.move(ctx, clock, arg) }
	return t.talk(ctx, demoPerson(d), []string{
		d.Name + " is invented. Type as one of its crew, and kitbell answers. Nothing is kept.",
		"Try: E4 is missing the small hook  |  how do I slip a tight gap  |  :clock +7d",
		"Speak as somebody else with :as NAME, see more with help, leave with :quit.",
	}, nil)
}

// openDemo opens a throw-away store with the demo department's past in it.
func openDemo(ctx context.Context, desk *command.Desk, clock bot.Clock, log *slog.Logger) (*office, error) {
	db, err := store.OpenTemp(ctx, store.Options{Log: log, Clock: clock})
	if err != nil {
		return nil, err
	}
	for _, turn := range demo.History(desk.Department, clock.Now()) {
		if err := db.Apply(ctx, turn); err != nil {
			return nil, fmt.Errorf("write demo history: %w", err)
		}
	}
	if err := adoptAll(ctx, db, desk, clock.Now().AddDate(0, -6, 0)); err != nil {
		return nil, err
	}
	asked := *desk
	asked.AdoptsAll = false // it stands in the journal now, to be changed
	return newOffice(newDesks(&asked), db, clock, log), nil
}

// adoptAll has the chief of training adopt every card.
func adoptAll(ctx context.Context, db *store.DB, desk *command.Desk, at time.Time) error {
	d := desk.Department
	chief := slices.IndexFunc(d.Members, func(m department.Member) bool { return m.Has(department.Training) })
	if chief < 0 {
		return errors.New("the demo department has no chief of training")
	}
	by := d.Members[chief].ID
	turn := bot.Turn{Department: d.Slug, Actor: by, At: at, Changes: []bot.Change{command.Adoption(desk.Cards, by, at)}}
	if err := db.Apply(ctx, turn); err != nil {
		return fmt.Errorf("adopt the demo's cards: %w", err)
	}
	return nil
}

func startTime(text string, zone *time.Location) (time.Time, error) {
	if text == "" {
		return time.Now().Truncate(time.Minute), nil
	}
	for _, layout := range []string{"2006-01-02T15:04", "2006-01-02 15:04", time.DateOnly} {
		if t, err := time.ParseInLocation(layout, text, zone); err == nil {
			return t, nil
		}
	}
	return time.Time{}, usagef("--start %q is no time; write it like 2026-11-23T07:45", text)
}

// demoRig is the rig whose officer speaks first in the demo.
const demoRig = "engine-4"

// demoPerson is an officer of the demo's rig.
func demoPerson(d *department.Department) department.Member {
	for _, m := range d.Members {
		if m.Unit == demoRig && m.Has(department.Officer) {
			return m
		}
	}
	return d.Members[0]
}

// terminal is a conversation with a department at this terminal.
type terminal struct {
	*office
	department *department.Department
	streams    streams
	plain      bool
	pictures   string
	moveClock  func(ctx context.Context, arg string) (string, error)
}

// talk runs the terminal until it is left.
func (t terminal) talk(ctx context.Context, first department.Member, banner []string, loop *schedule.Loop) error {
	ctx, stop := signal.NotifyContext(ctx, syscall.SIGHUP) // the window was closed
	defer stop()
	t.office.adapters = append(t.office.adapters, t.adapter(first, banner))
	return t.serve(ctx, loop)
}

// adapter is this terminal, where a member speaks first.
func (t terminal) adapter(first department.Member, banner []string) *console.Adapter {
	return console.New(console.Options{
		In: t.streams.in, Out: t.streams.out, Plain: t.plain, Department: t.department.Slug, First: t.person(first), Banner: banner,
		Channels: t.channels(), Who: t.who, MoveClock: t.moveClock, Settle: t.settle, Draw: t.draw, PictureDir: t.pictures,
		Clock: t.clock, Zone: t.department.Zone, Log: t.log,
	})
}

// draw draws with the cards as they are now.
func (t terminal) draw(key string) ([]byte, error) {
	return t.desks.draw(t.department.Slug, key)
}

// person is a member as the terminal knows them.
func (t terminal) person(m department.Member) console.Person {
	p := console.Person{Speaker: bot.Speaker{ID: m.ID, Name: m.Name, Member: m.ID}}
	if u, ok := t.department.Unit(m.Unit); ok {
		if c, ok := t.department.Channel(console.Name, department.StationChannel, u.Station); ok {
			p.Channel = c.ID
		}
	}
	if p.Channel == "" {
		if c, ok := t.department.Channel(console.Name, department.ProgrammeChannel, ""); ok {
			p.Channel = c.ID
		}
	}
	return p
}

func (t terminal) channels() []string {
	var ids []string
	for _, c := range t.department.Channels {
		if c.Platform == console.Name {
			ids = append(ids, c.ID)
		}
	}
	return ids
}

// who finds a person for :as among those whom the file names by now.
func (t terminal) who(name string) (console.Person, error) {
	d := t.department
	if desk, ok := t.desks.desk(d.Slug); ok {
		d = desk.Department
	}
	m, err := memberCalled(d, name)
	return t.person(m), err
}

// memberCalled finds a member by id, name or a part of the name that is theirs
// alone.
func memberCalled(d *department.Department, name string) (department.Member, error) {
	want := strings.ToLower(strings.TrimSpace(name))
	var near []department.Member
	for _, m := range d.Members {
		if m.ID == want || strings.EqualFold(m.Name, want) {
			return m, nil
		}
		if want != "" && strings.Contains(strings.ToLower(m.Name), want) {
			near = append(near, m)
		}
	}
	switch len(near) {
	case 0:
		return department.Member{}, &bot.UserError{Say: fmt.Sprintf("Nobody here is called %s. Try one of: %s.", name, names(d.Members))}
	case 1:
		return near[0], nil
	}
	return department.Member{}, &bot.UserError{Say: fmt.Sprintf("More than one is called %s: %s.", name, names(near))}
}

func names(members []department.Member) string {
	var out []string
	for _, m := range members[:min(5, len(members))] {
		out = append(out, m.Name)
	}
	return strings.Join(out, ", ")
}

// move moves the demo's clock: +2d, +90m, or to a date with or without a time.
func (t terminal) move(ctx context.Context, clock *bot.ManualClock, arg string) (string, error) {
	zone := t.department.Zone
	if arg != "" {
		to, err := moveTo(arg, clock.Now(), zone)
		if err != nil {
			return "", err
		}
		if err := t.advance(ctx, clock, to); err != nil {
			return "", err
		}
	}
	now := clock.Now()
	return fmt.Sprintf("The clock shows %s. %s platoon is on.", now.In(zone).Format("Mon 2 Jan 2006 15:04 MST"), t.department.Rotation.PlatoonAt(now)), nil
}

// farthest is how far the demo's clock moves at once: each due moment on the
// way is worked through.
const farthest = 400 * 24 * time.Hour

func moveTo(arg string, now time.Time, zone *time.Location) (time.Time, error) {
	to, err := parseMove(arg, now.In(zone))
	switch {
	case err != nil:
		return to, &bot.UserError{Say: fmt.Sprintf("I cannot move the clock to %q. Say +2d, +3h, +90m, +1w or 2026-11-30 09:00.", arg)}
	case to.Before(now):
		return to, &bot.UserError{Say: "The demo's clock only goes forward. Start anew with --start to go back."}
	case to.Sub(now) > farthest:
		return to, &bot.UserError{Say: "That is too far at once. Move the clock by at most 400 days."}
	}
	return to, nil
}

func parseMove(arg string, now time.Time) (time.Time, error) {
	if rest, ok := strings.CutPrefix(arg, "+"); ok {
		var n int
		var unit string
		if _, err := fmt.Sscanf(strings.ReplaceAll(rest, " ", ""), "%d%s", &n, &unit); err != nil {
			return now, fmt.Errorf("read %q: %w", arg, err)
		}
		switch unit {
		case "m":
			return now.Add(time.Duration(n) * time.Minute), nil
		case "h":
			return now.Add(time.Duration(n) * time.Hour), nil
		case "d":
			return now.AddDate(0, 0, n), nil
		case "w":
			return now.AddDate(0, 0, 7*n), nil
		}
		return now, fmt.Errorf("unit %q", unit)
	}
	return startTime(arg, now.Location())
}
