package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/deliver"
	"kitbell/bot/department"
	"kitbell/bot/store"
	"kitbell/bot/understand"
	"kitbell/knowledge"
	"kitbell/schedule"
	"kitbell/testdata/demo"
)

// commands lists everything that a crew can ask, in the order of help.
func commands() []command.Command {
	all := []command.Command{
		command.AskCommand(),
		command.DoorCommand(),
		command.ReportCommand(),
		command.ResolvedCommand(),
		command.CheckCommand(),
		command.SealCommand(),
		command.UsedCommand(),
		command.QueueCommand(),
		command.KitCommand(),
		command.MoveCommand(), command.LendCommand(), command.RestockCommand(),
		command.DrillCommand(), command.CrewTopicsCommand(),
		command.SessionCommand(), command.TaskBookCommand(), command.SharedDoorCommand(),
		command.IntroductionCommand(),
		command.DutyCommand(),
		command.RidingCommand(),
		command.WishCommand(),
		command.BudgetCommand(), command.FiguresCommand(),
		command.RecordsCommand(),
		command.HandoverCommand(),
		command.StopUseCommand(),
		command.RollOutCommand(),
		command.AdoptCommand(),
		command.ActingCommand(),
		command.TransferCommand(),
		command.ConvertCommand(),
		command.PieceCommand(),
		command.SpotAuditCommand(),
		command.OpenQuestionsCommand(),
		command.UndoCommand(),
		command.AccessCommand(), command.PhotoCommand(), command.FormCommand(),
	}
	return append(all, command.NoneCommand(), command.HelpCommand(all))
}

// newDesk gathers what the bot knows of a department: its file, its crews'
// words, its cards and its doors.
func newDesk(d *department.Department, cards *shelf) (*command.Desk, error) {
	reader, err := understand.New(d, itemNames(d, cards.library))
	if err != nil {
		return nil, fmt.Errorf("read vocabulary for %s: %w", d.Slug, err)
	}
	return &command.Desk{
		Department: d, Reader: reader, Doors: command.NewPlanner(cards.planner),
		Cards: command.Shelf{Library: cards.library, Index: cards.index}, Mix: cards.planner.Assumptions().Doors,
	}, nil
}

// opened is a department ready for work, with the shelf behind its desk.
type opened struct {
	desk   *command.Desk
	cards  *shelf
	folder string // empty for the demo
	mark   string // state of the folder's files before they were read
}

func desksOf(all []opened) []*command.Desk {
	desks := make([]*command.Desk, len(all))
	for i, o := range all {
		desks[i] = o.desk
	}
	return desks
}

// openDemoDesk opens the demo department with the program's own cards.
func openDemoDesk() (opened, error) {
	cards, err := embedded()
	if err != nil {
		return opened{}, err
	}
	desk, err := newDesk(demo.Department(), cards)
	if err != nil {
		return opened{}, err
	}
	desk.AdoptsAll = true
	return opened{desk: desk, cards: cards}, nil
}

// itemNames are the names that crews may use for what kits hold.
func itemNames(d *department.Department, library *knowledge.Library) []understand.ItemName {
	var names []understand.ItemName
	for _, c := range library.All() {
		if c.Kind == knowledge.Tool {
			names = append(names, understand.ItemName{ID: c.ID, Title: c.Title, Aliases: c.Aliases})
		}
	}
	for _, item := range d.Items {
		if item.Name != "" {
			names = append(names, understand.ItemName{ID: item.ID, Title: item.Name, Aliases: item.Aliases})
		}
	}
	return names
}

// desks are the departments as last loaded. A reload swaps the whole map, so
// that a message sees one state of it.
type desks struct {
	bySlug atomic.Pointer[map[string]*command.Desk]
	db     *store.DB // of pictures that were kept; set before anything is drawn
}

func newDesks(all ...*command.Desk) *desks {
	bySlug := make(map[string]*command.Desk, len(all))
	for _, desk := range all {
		bySlug[desk.Department.Slug] = desk
	}
	d := &desks{}
	d.bySlug.Store(&bySlug)
	return d
}

// replace swaps in one department's desk beside the others. Only one goroutine
// at a time may call it.
func (d *desks) replace(desk *command.Desk) {
	bySlug := maps.Clone(*d.bySlug.Load())
	bySlug[desk.Department.Slug] = desk
	d.bySlug.Store(&bySlug)
}

func (d *desks) desk(slug string) (*command.Desk, bool) {
	desk, ok := (*d.bySlug.Load())[slug]
	return desk, ok
}

func (d *desks) all() []*command.Desk {
	var all []*command.Desk
	for _, desk := range *d.bySlug.Load() {
		all = append(all, desk)
	}
	return all
}

// office is the bot at work: a store, what it knows, and the loops between.
type office struct {
	desks   *desks
	db      *store.DB
	outbox  *outbox
	clock   bot.Clock
	log     *slog.Logger
	router  *command.Router
	intake  *command.Intake
	bundler *command.Bundler

	adapters []bot.Adapter
	watch    *folderWatch // nil when the department has no folder
	lanes    bool         // messages go out side by side, not one after the other as on one screen
	roles    *roles       // what of the work is this process's; nil where it is alone on its database

	// What else runs while it serves.
	beside []func(context.Context) error
	// handled hears of each event worked through, gaveUp of each message that is
	// not tried again; nil hears nothing.
	handled func(bot.Event, command.Outcome, error)
	gaveUp  func(context.Context, deliver.Item, deliver.Outcome)
}

// newOffice wires the bot to a store and to the adapters that it will speak
// through; their capabilities decide how long replies are cut.
func newOffice(desks *desks, db *store.DB, clock bot.Clock, log *slog.Logger, adapters ...bot.Adapter) *office {
	desks.db = db
	o := &office{desks: desks, db: db, outbox: newOutbox(db), clock: clock, log: log, adapters: adapters}
	o.router = &command.Router{Desks: desks.desk, Commands: commands(), Books: db, Ledger: db, Clock: clock, Log: log, Split: o.split, Sent: o.sent, Edits: o.edits, Photos: photosOf(adapters, log)}
	o.intake = command.NewIntake(db, o.router, log, o.heard)
	o.bundler = &command.Bundler{Desks: desks.all, Books: db, Ledger: db, Log: log, Split: o.split}
	return o
}

// heard hears of each event that was worked through.
func (o *office) heard(e bot.Event, out command.Outcome, err error) {
	if o.handled != nil {
		o.handled(e, out, err)
	}
}

// split cuts a message into those that its platform takes.
func (o *office) split(m bot.Outgoing) []bot.Outgoing {
	for _, a := range o.adapters {
		if a.Name() == m.To.Platform {
			return deliver.Split(m, a.Capabilities())
		}
	}
	return []bot.Outgoing{m}
}

// sent finds a message on a platform that can change it.
func (o *office) sent(ctx context.Context, department, platform, key string) (bot.MessageRef, error) {
	if !o.edits(platform) {
		return bot.MessageRef{}, bot.ErrNotFound
	}
	return o.db.SentAs(ctx, department, key)
}

// edits says whether a platform can change a message.
func (o *office) edits(platform string) bool {
	return slices.ContainsFunc(o.adapters, func(a bot.Adapter) bool { return a.Name() == platform && a.Capabilities().Edits })
}

// serve runs the adapters with everything behind them until the adapters are
// done or ctx ends, and waits for it all. wake, where not nil, is the schedule
// loop to run; without one the caller steps the bundler itself.
func (o *office) serve(ctx context.Context, loop *schedule.Loop) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	var behind sync.WaitGroup
	defer behind.Wait()
	defer cancel()
	failed := make(chan error, 6+len(o.beside)) // one for each of those behind, so that none waits to fail
	background := func(run func(context.Context) error) {
		behind.Go(func() {
			if err := run(ctx); err != nil && ctx.Err() == nil {
				failed <- err
				cancel()
			}
		})
	}
	sender := &deliver.Loop{Store: o.outbox, Adapters: o.adapters, Clock: o.clock, Log: o.log, Serial: !o.lanes, GaveUp: o.gaveUp, Barred: o.tellOfPlatform}
	step := o.bundler.Step
	if o.roles != nil {
		sender.Store, sender.Shared, step = o.roles.outbox, true, o.roles.schedule(o.bundler)
	}
	background(o.warm)
	for _, run := range o.beside {
		background(run)
	}
	if o.watch != nil { // a department at work, not the demo
		background(o.watch.run)
		background(o.stand)
	}
	background(sender.Run)
	background(o.intake.Run)
	if loop != nil {
		background(func(ctx context.Context) error { return loop.Run(ctx, step) })
	}
	err := o.runAdapters(ctx)
	select {
	case behindErr := <-failed:
		return behindErr
	default:
		return err
	}
}

// warm makes what the first question would otherwise wait for, while the person
// reads the first lines.
func (o *office) warm(context.Context) error {
	for _, desk := range o.desks.all() {
		desk.Cards.Search("")
	}
	return nil
}

// runAdapters runs all adapters and returns when each of them has ended.
func (o *office) runAdapters(ctx context.Context) error {
	errs := make([]error, len(o.adapters))
	var running sync.WaitGroup
	for i, a := range o.adapters {
		running.Go(func() {
			if err := o.runAdapter(ctx, a); err != nil {
				errs[i] = fmt.Errorf("%s: %w", a.Name(), err)
				o.tellOfPlatform(ctx, a.Name(), err)
			}
		})
	}
	running.Wait()
	return errors.Join(errs...)
}

// runAdapter runs an adapter, or stands by for it where another process holds the
// platform's one link.
func (o *office) runAdapter(ctx context.Context, a bot.Adapter) error {
	if gateway, ok := a.(oneLink); ok && o.roles != nil {
		return o.roles.hold(ctx, gateway, o.intake)
	}
	return a.Run(ctx, o.intake)
}

// settle waits until everything said has been answered and everything in the
// outbox has been sent.
func (o *office) settle(ctx context.Context) error {
	if err := o.intake.Idle(ctx); err != nil {
		return err
	}
	return o.outbox.drained(ctx, o.clock.Now())
}

// advance moves a clock to an instant through every due moment on the way, so
// that each post goes out at its own time.
func (o *office) advance(ctx context.Context, clock *bot.ManualClock, to time.Time) error {
	for {
		next, err := o.bundler.Step(ctx, clock.Now())
		if err != nil {
			return fmt.Errorf("step schedule: %w", err)
		}
		if err := o.settle(ctx); err != nil {
			return err
		}
		if next.IsZero() || next.After(to) {
			break
		}
		clock.Set(later(next, clock.Now()))
	}
	if to.After(clock.Now()) {
		clock.Set(to)
	}
	_, err := o.bundler.Step(ctx, clock.Now())
	if err != nil {
		return fmt.Errorf("step schedule: %w", err)
	}
	return o.settle(ctx)
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}
