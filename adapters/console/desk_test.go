package console_test

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"kitbell/adapters/adaptertest"
	"kitbell/adapters/console"
	"kitbell/bot"
)

// desk stands for all that is behind the terminal: it answers what it knows an
// answer to, when it is asked to settle, and keeps what it heard.
type desk struct {
	*console.Adapter
	answers map[string]bot.Reply // by what was said or pressed
	heard   []bot.Event
	waiting []bot.Event
	settled int
	refuse  error
}

func (d *desk) Handle(_ context.Context, e bot.Event) error {
	d.heard = append(d.heard, e)
	if d.refuse == nil {
		d.waiting = append(d.waiting, e)
	}
	return d.refuse
}

func (d *desk) settle(ctx context.Context) error {
	d.settled++
	for _, e := range d.waiting {
		reply, ok := d.answers[e.Text+e.Press]
		if !ok {
			continue
		}
		if _, err := d.Send(ctx, bot.Outgoing{Key: "console/" + e.ID + "/0", To: e.Where, Reply: reply}); err != nil {
			return err
		}
	}
	d.waiting = nil
	return nil
}

// sitDown puts a desk behind a terminal made of options.
func sitDown(o console.Options, answers map[string]bot.Reply) *desk {
	d := &desk{answers: answers}
	o.Department, o.First, o.Settle = "tarn-harbor", ines, d.settle
	if o.Getenv == nil {
		o.Getenv = noEnv
	}
	d.Adapter = console.New(o)
	return d
}

// dialogue types lines into a pipe and gives all that was shown.
func dialogue(t *testing.T, o console.Options, answers map[string]bot.Reply, lines ...string) (shown string, d *desk) {
	t.Helper()
	screen := adaptertest.NewScreen()
	o.In, o.Out = strings.NewReader(strings.Join(lines, "\n")), screen
	d = sitDown(o, answers)
	if err := d.Run(t.Context(), d); err != nil {
		t.Fatal(err)
	}
	return screen.String(), d
}

// seat is a person at a terminal in raw mode.
type seat struct {
	*desk
	screen *adaptertest.Screen
	typed  *io.PipeWriter
	ended  chan error
}

func sitAtTerminal(t *testing.T, o console.Options, answers map[string]bot.Reply) *seat {
	t.Helper()
	in, typed := io.Pipe()
	s := &seat{screen: adaptertest.NewScreen(), typed: typed, ended: make(chan error, 1)}
	o.In, o.Out, o.Raw = in, s.screen, true
	s.desk = sitDown(o, answers)
	ctx, end := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() { defer close(done); s.ended <- s.Run(ctx, s.desk) }()
	t.Cleanup(func() { end(); <-done })
	return s
}

func (s *seat) keys(keys string) { io.WriteString(s.typed, keys) }

// said is what the desk heard in all, once the run has ended.
func (d *desk) said() []string {
	var texts []string
	for _, e := range d.heard {
		texts = append(texts, e.Text+e.Press)
	}
	return texts
}

func wantSaid(t *testing.T, d *desk, want ...string) {
	t.Helper()
	if got := d.said(); !slices.Equal(got, want) {
		t.Errorf("heard %q, want %q", got, want)
	}
}

func who(name string) (console.Person, error) {
	perrin := console.Person{Speaker: bot.Speaker{ID: "perrin-marsh", Member: "perrin-marsh", Name: "Perrin Marsh"}, Channel: "station-2"}
	for _, p := range []console.Person{ines, perrin} {
		if strings.EqualFold(name, p.Speaker.Name) || name == p.Speaker.ID {
			return p, nil
		}
	}
	return console.Person{}, &bot.UserError{Say: fmt.Sprintf("Nobody here is called %s. Is it Perrin Marsh?", name)}
}
