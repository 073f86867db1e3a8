package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/tools/txtar"

	"kitbell/adapters/adaptertest"
	"kitbell/adapters/adaptertest/discordserver"
	"kitbell/adapters/adaptertest/slackserver"
	"kitbell/adapters/discord"
	"kitbell/adapters/slack"
	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/deliver"
	"kitbell/bot/department"
)

// Every dialogue means the same on the terminal, on Slack and on Discord: the
// same people say and press the same at the same times, and as much is shown to
// them, in the same words and with the same buttons, in the same places.
func TestThreeFaces(t *testing.T) {
	files, err := filepath.Glob("testdata/dialogues/*.txtar")
	if err != nil || len(files) == 0 {
		t.Fatalf("%d dialogues, %v", len(files), err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txtar"), func(t *testing.T) {
			t.Parallel()
			archive, err := txtar.ParseFile(file)
			if err != nil {
				t.Fatal(err)
			}
			typed := onTerminal(t, archive.Files[0].Data)
			for _, open := range []func(*testing.T, *department.Department, bot.Clock) face{slackFace, discordFace} {
				elsewhere(t, open, typed)
			}
		})
	}
}

// deed is one thing that was done in a dialogue, and what came of it.
type deed struct {
	event bot.Event // zero for a move of the clock
	label string    // of the button that was pressed
	move  string    // of the clock
	shown []bot.Outgoing
	said  string // by the adapter itself, of what was not taken in
	taken bool   // the handler has returned
}

// witness keeps what an adapter hears and shows. Everything that is shown until
// the next deed came of the one before it.
type witness struct {
	bot.Adapter
	*adaptertest.Changes
	mu    sync.Mutex
	deeds []deed
}

func newWitness(a bot.Adapter) *witness {
	return &witness{Adapter: a, Changes: adaptertest.NewChanges(), deeds: make([]deed, 1)}
}

// Capabilities leave out the platform's pace: the clock stands still here.
func (w *witness) Capabilities() bot.Capabilities {
	c := w.Adapter.Capabilities()
	c.Pace = 0
	return c
}

// Run puts the witness between the adapter and its handler.
func (w *witness) Run(ctx context.Context, h bot.Handler) error {
	return w.Adapter.Run(ctx, hearing{w, h})
}

type hearing struct {
	*witness
	h bot.Handler
}

// Handle notes the deed first: its answer may be on its way before it returns.
func (h hearing) Handle(ctx context.Context, e bot.Event) error {
	h.begin(deed{event: e, label: h.labelOf(e.Press)})
	err := h.h.Handle(ctx, e)
	defer h.Tell()
	h.mu.Lock()
	defer h.mu.Unlock()
	last := &h.deeds[len(h.deeds)-1]
	last.taken = true
	var refused *bot.UserError
	if errors.As(err, &refused) {
		last.said = refused.Say
	}
	return err
}

func (w *witness) Send(ctx context.Context, o bot.Outgoing) (bot.MessageRef, error) {
	ref, err := w.Adapter.Send(ctx, o)
	if err == nil {
		w.mu.Lock()
		defer w.mu.Unlock()
		last := &w.deeds[len(w.deeds)-1]
		last.shown = append(last.shown, o)
	}
	return ref, err
}

func (w *witness) begin(d deed) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.deeds = append(w.deeds, d)
}

// labelOf is what stands on the latest button of a value.
func (w *witness) labelOf(value string) string {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, d := range slices.Backward(w.deeds) {
		for _, o := range slices.Backward(d.shown) {
			for _, b := range o.Reply.Buttons {
				if b.Value == value {
					return b.Label
				}
			}
		}
	}
	return ""
}

// all are the deeds so far. The first is what was shown before any.
func (w *witness) all() []deed {
	w.mu.Lock()
	defer w.mu.Unlock()
	return slices.Clone(w.deeds)
}

// demoDesk is made once for all: reading cards and words takes longer than a
// dialogue.
var demoDesk = sync.OnceValues(openDemoDesk)

// demoAt is the demo's office on a clock that stands at the start of every
// dialogue, with a department of its own whose people may talk elsewhere.
func demoAt(t *testing.T) (*office, *bot.ManualClock, *department.Department) {
	t.Helper()
	open, err := demoDesk()
	if err != nil {
		t.Fatal(err)
	}
	desk, own := *open.desk, *open.desk.Department
	own.Members, own.Channels = slices.Clone(own.Members), slices.Clone(own.Channels)
	desk.Department = &own
	d := desk.Department
	now, err := startTime(dialogueStart, d.Zone)
	if err != nil {
		t.Fatal(err)
	}
	clock := bot.NewManualClock(now)
	o, err := openDemo(t.Context(), &desk, clock, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { o.db.Close() })
	return o, clock, d
}

// onTerminal types a dialogue at a terminal.
func onTerminal(t *testing.T, typed []byte) []deed {
	t.Helper()
	o, clock, d := demoAt(t)
	term := terminal{office: o, department: d, streams: streams{bytes.NewReader(typed), io.Discard, io.Discard}, plain: true, pictures: t.TempDir()}
	var w *witness
	term.moveClock = func(ctx context.Context, arg string) (string, error) {
		w.begin(deed{move: arg})
		return term.move(ctx, clock, arg)
	}
	w = newWitness(term.adapter(demoPerson(d), nil))
	o.adapters = []bot.Adapter{w}
	if err := o.serve(t.Context(), nil); err != nil {
		t.Fatal(err)
	}
	return w.all()
}

// face is a chat platform as the crew of the demo uses it.
type face struct {
	adapter bot.Adapter
	say     func(ctx context.Context, person string, where bot.Address, text string) error
	press   func(ctx context.Context, person, label string) error
	shown   func() string
}

// people gives every member an account on a platform, and every channel of the
// terminal a channel there.
func people(d *department.Department, platform, workspace string, account, channel func(int) string) {
	for i := range d.Members {
		d.Members[i].Accounts = map[string]string{platform: account(i)}
	}
	for i := range d.Channels {
		d.Channels[i].Platform, d.Channels[i].Workspace, d.Channels[i].ID = platform, workspace, channel(i)
	}
}

func accountOf(d *department.Department, platform, member string) string {
	m, _ := d.Member(member)
	return m.Accounts[platform]
}

func slackFace(t *testing.T, d *department.Department, clock bot.Clock) face {
	t.Helper()
	server := slackserver.Start()
	t.Cleanup(server.Close)
	server.Now = clock.Now
	people(d, slack.Name, slackserver.Team, func(i int) string { return fmt.Sprintf("U5%03d", i) }, func(i int) string { return fmt.Sprintf("C9%02d", i) })
	a, err := slack.New(slack.Options{
		AppToken: slackserver.AppToken, Token: slackserver.BotToken, API: server.URL(), Directory: one(d), Draw: noPicture, Clock: clock,
		Log: slog.New(slog.DiscardHandler), Links: 1,
	})
	if err != nil {
		t.Fatal(err)
	}
	return face{
		adapter: a, shown: server.Shown,
		say: func(ctx context.Context, person string, where bot.Address, text string) error {
			more := map[string]any{}
			if where.Thread != "" {
				more = slackserver.Thread(where.Thread)
			}
			_, _, err := server.As(accountOf(d, slack.Name, person)).Mention(ctx, where.Channel, text, more)
			return err
		},
		press: func(ctx context.Context, person, label string) error {
			_, err := server.As(accountOf(d, slack.Name, person)).Press(ctx, label)
			return err
		},
	}
}

func discordFace(t *testing.T, d *department.Department, clock bot.Clock) face {
	t.Helper()
	server := discordserver.Start()
	t.Cleanup(server.Close)
	server.Now = clock.Now
	people(d, discord.Name, discordserver.Guild, func(i int) string { return fmt.Sprintf("70000000000000%05d", i) }, discordserver.Further)
	a, err := discord.New(discord.Options{
		Token: discordserver.Token, API: server.URL(), Directory: one(d), Draw: noPicture, Clock: clock, Log: slog.New(slog.DiscardHandler),
	})
	if err != nil {
		t.Fatal(err)
	}
	return face{
		adapter: a, shown: server.Shown,
		say: func(ctx context.Context, person string, where bot.Address, text string) error {
			channel := where.Channel
			if where.Thread != "" {
				channel = where.Thread
			}
			_, err := server.As(accountOf(d, discord.Name, person)).Mention(ctx, channel, text)
			return err
		},
		press: func(ctx context.Context, person, label string) error {
			_, err := server.As(accountOf(d, discord.Name, person)).Press(ctx, label)
			return err
		},
	}
}

func one(d *department.Department) bot.Directory { return newDesks(&command.Desk{Department: d}).place }

func noPicture(string, string) ([]byte, error) { return nil, bot.ErrNotFound }

// elsewhere does what was done at the terminal on a platform, and compares.
func elsewhere(t *testing.T, open func(*testing.T, *department.Department, bot.Clock) face, typed []deed) {
	t.Helper()
	var f face
	var names map[string]string // of the platform's channels: the terminal's
	o, clock, d := demoAt(t)
	before := slices.Clone(d.Channels)
	f = open(t, d, clock)
	names = make(map[string]string)
	for _, m := range d.Members {
		names[m.Accounts[f.adapter.Name()]] = m.ID
	}
	for i, c := range d.Channels {
		names[before[i].ID], names[c.ID] = c.ID, before[i].ID
	}
	w := newWitness(f.adapter)
	o.adapters, o.lanes = []bot.Adapter{w}, true
	ctx, stop := context.WithTimeout(t.Context(), time.Minute)
	ended := make(chan error, 1)
	go func() { ended <- o.serve(ctx, nil) }()
	defer func() {
		stop()
		if err := <-ended; err != nil {
			t.Errorf("%s: %v", f.adapter.Name(), err)
		}
	}()
	term := terminal{office: o, department: d}
	thread := make(map[string]string) // by person and channel: where they were last answered
	for i, want := range typed[1:] {
		if want.event.Kind == bot.Said && strings.TrimSpace(want.event.Text) == "" {
			continue // there is no empty message on a platform; a bare mention asks for help
		}
		if want.move != "" {
			w.begin(deed{move: want.move})
			_, _ = term.move(ctx, clock, want.move) // what is wrong with a move, the terminal says
		} else if err := f.repeat(ctx, w, want, names, thread); err != nil {
			t.Fatalf("%s, deed %d %+v: %v", f.adapter.Name(), i+1, want.event, err)
		}
		if err := settleSoon(ctx, o); err != nil {
			t.Fatalf("%s, after deed %d: %v", f.adapter.Name(), i+1, err)
		}
		all := w.all()
		got := all[len(all)-1]
		for _, s := range got.shown {
			if s.To.Thread != "" {
				thread[want.event.From.Member+names[s.To.Channel]] = s.To.Thread
			}
			if missing, ok := adaptertest.InOrder(f.shown(), append(strings.Split(s.Reply.Plain(), "\n"), labels(s)...)); !ok {
				t.Errorf("%s, deed %d: %q was sent and is not shown", f.adapter.Name(), i+1, missing)
			}
		}
		if diff := cmp.Diff(meaning(want, nil), meaning(got, names)); diff != "" {
			t.Fatalf("%s, deed %d, %q%q%q (-terminal +here):\n%s", f.adapter.Name(), i+1, want.event.Text, want.label, want.move, diff)
		}
	}
}

// settleSoon settles as one who waits for an answer would wait.
func settleSoon(ctx context.Context, o *office) error {
	ctx, cancel := context.WithTimeout(ctx, 20*time.Second)
	defer cancel()
	return o.settle(ctx)
}

// repeat does one deed, and waits until it was heard.
func (f face) repeat(ctx context.Context, w *witness, d deed, names, thread map[string]string) error {
	before := len(w.all())
	who := d.event.From.Member
	var err error
	switch {
	case d.event.Kind == bot.Pressed && d.label == "":
		return errors.New("a button that was never shown was pressed at the terminal")
	case d.event.Kind == bot.Pressed:
		err = f.press(ctx, who, d.label)
	default:
		where := bot.Address{Channel: names[d.event.Where.Channel], Thread: thread[who+d.event.Where.Channel]}
		err = f.say(ctx, who, where, d.event.Text)
	}
	if err != nil {
		return err
	}
	return w.AwaitThat(ctx, func() bool { all := w.all(); return len(all) > before && all[len(all)-1].taken })
}

// meaning is what people take from what was shown: by channel or person the words and the
// buttons, whether new or in place of a message, in one message or in several.
func meaning(d deed, names map[string]string) map[string][]string {
	all := make(map[string][]string)
	for _, o := range d.shown {
		where := o.To.Channel
		if o.To.Person != "" { // there, or in their own line
			where = o.To.Person
		}
		if names != nil {
			var listed bool
			if where, listed = names[where]; !listed {
				where = names[d.event.From.ID] // their own line
			}
		}
		if o.Reply.Text != deliver.MoreChoices {
			all[where] = append(all[where], strings.Fields(o.Reply.Plain())...)
		}
		all[where] = append(all[where], labels(o)...)
	}
	if d.said != "" {
		all["refused"] = []string{d.said}
	}
	return all
}

func labels(o bot.Outgoing) []string {
	var all []string
	for _, b := range o.Reply.Buttons {
		all = append(all, b.Label)
	}
	return all
}
