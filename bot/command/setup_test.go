package command_test

import (
	"context"
	"fmt"
	"log/slog"
	"sync"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
	"kitbell/bot/door"
	"kitbell/bot/store"
	"kitbell/bot/understand"
	"kitbell/knowledge"
	"kitbell/testdata/demo"
)

// monday is a working morning in the demo department's zone: 08:30, an hour
// after the change of tour.
func monday(d *department.Department) time.Time {
	return time.Date(2026, 11, 23, 8, 30, 0, 0, d.Zone)
}

// bench is the bot without platforms: a desk, a throw-away store and a clock.
type bench struct {
	t       *testing.T
	desk    *command.Desk
	db      *store.DB
	clock   *bot.ManualClock
	router  *command.Router
	bundler *command.Bundler
	intake  *command.Intake
	events  int
}

// said is what came of one message: the reply's words and buttons.
type said struct {
	text    string
	buttons []bot.Button
	posts   []command.Post
	outcome command.Outcome
}

func newBench(t *testing.T, commands ...command.Command) *bench {
	t.Helper()
	desk := demoDesk(t)
	clock := bot.NewManualClock(monday(desk.Department))
	db, err := store.OpenTemp(t.Context(), store.Options{Clock: clock})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return newBenchOn(t, desk, db, clock, commands...)
}

func newBenchOn(t *testing.T, desk *command.Desk, db *store.DB, clock *bot.ManualClock, commands ...command.Command) *bench {
	t.Helper()
	find := func(slug string) (*command.Desk, bool) { return desk, slug == desk.Department.Slug }
	log := slog.New(slog.DiscardHandler)
	router := &command.Router{Desks: find, Commands: commands, Books: db, Ledger: db, Clock: clock, Log: log}
	return &bench{
		t: t, desk: desk, db: db, clock: clock, router: router, intake: command.NewIntake(db, router, log, nil),
		bundler: &command.Bundler{Desks: func() []*command.Desk { return []*command.Desk{desk} }, Books: db, Ledger: db, Log: log},
	}
}

// demoDesk is the demo department with the embedded cards. What takes long is
// made once; what a store teaches is each bench's own.
func demoDesk(t *testing.T) *command.Desk {
	t.Helper()
	m, err := demoMakings()
	if err != nil {
		t.Fatal(err)
	}
	desk := m.desk
	desk.Doors, desk.Mix = command.NewPlanner(m.planner), m.planner.Assumptions().Doors
	return &desk
}

type makings struct {
	desk    command.Desk
	planner *door.Planner
}

var demoMakings = sync.OnceValues(func() (makings, error) {
	d := demo.Department()
	library, problems := knowledge.Load(knowledge.Cards())
	if len(problems) > 0 {
		return makings{}, problems[0]
	}
	index, err := knowledge.NewIndex(library)
	if err != nil {
		return makings{}, err
	}
	var names []understand.ItemName
	var techniques []door.Technique
	for _, c := range library.All() {
		if c.Kind == knowledge.Tool {
			names = append(names, understand.ItemName{ID: c.ID, Title: c.Title, Aliases: c.Aliases})
		}
		if len(c.Plan) > 0 {
			technique, err := door.ParseTechnique(c.ID, c.Title, c.Plan)
			if err != nil {
				return makings{}, err
			}
			techniques = append(techniques, technique)
		}
	}
	reader, err := understand.New(d, names)
	if err != nil {
		return makings{}, err
	}
	assumptions, err := door.DefaultAssumptions()
	if err != nil {
		return makings{}, err
	}
	planner, err := door.NewPlanner(assumptions, techniques)
	return makings{command.Desk{AdoptsAll: true, Department: d, Reader: reader, Cards: command.Shelf{Library: library, Index: func() *knowledge.Index { return index }}}, planner}, err
})

// speaker is the demo's officer on a rig, or an anonymous member.
func (b *bench) speaker(unit string) bot.Speaker {
	for _, m := range b.desk.Department.Members {
		if m.Unit == unit && m.Has(department.Officer) {
			return bot.Speaker{ID: m.ID, Member: m.ID}
		}
	}
	return bot.Speaker{ID: "anonymous"}
}

func (b *bench) event(from bot.Speaker, text string) bot.Event {
	b.events++
	return bot.Event{
		ID: fmt.Sprintf("e%d", b.events), Department: b.desk.Department.Slug, Kind: bot.Said, At: b.clock.Now(), Direct: true,
		From: from, Where: bot.Address{Platform: "console", Channel: "station-4"}, Text: text,
	}
}

// say puts a message through and gives what was answered.
func (b *bench) say(from bot.Speaker, text string) said {
	b.t.Helper()
	return b.handle(b.event(from, text))
}

func (b *bench) press(from bot.Speaker, value string) said {
	b.t.Helper()
	e := b.event(from, "")
	e.Kind, e.Press = bot.Pressed, value
	return b.handle(e)
}

func (b *bench) handle(e bot.Event) said {
	b.t.Helper()
	out, err := b.intake.Now(context.WithoutCancel(b.t.Context()), e)
	if err != nil {
		b.t.Fatalf("%q: %v", e.Text+e.Press, err)
	}
	s := said{posts: out.Posts, outcome: out}
	for _, p := range out.Posts {
		if p.To == (command.Place{}) {
			s.text += p.Reply.Plain() + "\n"
			s.buttons = append(s.buttons, p.Reply.Buttons...)
		}
	}
	return s
}

// button gives the value of the button with a label.
func (s said) button(t *testing.T, label string) string {
	t.Helper()
	for _, b := range s.buttons {
		if b.Label == label {
			return b.Value
		}
	}
	t.Fatalf("no button %q on %q: %v", label, s.text, s.buttons)
	return ""
}
