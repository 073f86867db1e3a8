package console

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"sync"

	"kitbell/bot"
)

// Name is the platform's word in addresses and events.
const Name = "console"

// remembered is how many keys of shown messages are kept, so that one that is
// tried again is not shown again. Tries follow each other closely.
const remembered = 256

// Adapter is a terminal. It implements bot.Adapter.
type Adapter struct {
	options Options
	look    look
	run     string        // what all event ids of this run begin with
	opened  chan struct{} // closed when the banner has been shown
	album   album
	events  int // made so far; Run's goroutine only

	mu      sync.Mutex // guards what follows; held while a message is written
	screen  screen     // nil until Run
	at      Person
	buttons buttons
	shown   []string // keys of the latest messages, oldest first
}

// New makes an adapter for one terminal. It does nothing to the terminal yet.
func New(o Options) *Adapter {
	o = o.withDefaults()
	return &Adapter{
		options: o,
		look:    lookOf(o),
		run:     rand.Text()[:13] + "-", // 65 random bits: no two runs on one database are alike
		opened:  make(chan struct{}),
		album:   album{dir: o.PictureDir, draw: o.Draw},
		at:      o.First,
	}
}

// Name is "console".
func (*Adapter) Name() string { return Name }

// Capabilities says that a message may be of any length, with pictures, that
// one can be for one person, and that nothing shown is changed afterwards.
func (*Adapter) Capabilities() bot.Capabilities {
	return bot.Capabilities{Private: true, Pictures: true}
}

// Run shows the banner, then takes lines until the input ends, the person
// leaves or ctx ends. In the first two cases everything said has been answered
// when it returns. However it ends, also by a panic of h, the terminal is given
// back as it was.
func (a *Adapter) Run(ctx context.Context, h bot.Handler) error {
	giveBack, err := a.open(ctx)
	if err != nil {
		return fmt.Errorf("open terminal: %w", err)
	}
	defer giveBack()
	err = a.show(a.options.Banner...)
	close(a.opened)
	for err == nil {
		err = a.turn(ctx, h)
	}
	if ctx.Err() != nil {
		return nil
	}
	if !errors.Is(err, io.EOF) {
		return err
	}
	giveBack() // before waiting, so that Ctrl-C is the system's again
	return a.settle(ctx)
}

// open takes the terminal. What it returns gives it back, once, however often
// it is called; messages can still be shown after that.
func (a *Adapter) open(ctx context.Context) (giveBack func(), err error) {
	s, restore, err := openScreen(a.options, newInput(ctx, a.options.In))
	if err != nil {
		return nil, err
	}
	a.setScreen(s)
	return sync.OnceFunc(func() {
		a.setScreen(s.left())
		if err := restore(); err != nil {
			a.options.Log.Error("terminal not given back", "error", err)
		}
	}), nil
}

func (a *Adapter) setScreen(s screen) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.screen = s
}

// turn takes one line. Its error ends the run: io.EOF when there is no more.
func (a *Adapter) turn(ctx context.Context, h bot.Handler) error {
	line, err := a.screen.readLine(a.prompt())
	switch {
	case errors.Is(err, errLineFull):
		return a.show(sayLineFull.With(maxTyped).Say)
	case err != nil:
		return fmt.Errorf("read line: %w", err)
	}
	if err := a.take(ctx, h, line); err != nil {
		return err
	}
	if a.screen.interactive() {
		return ctx.Err()
	}
	return a.settle(ctx)
}

func (a *Adapter) settle(ctx context.Context) error {
	if err := a.options.Settle(ctx); err != nil && ctx.Err() == nil {
		return fmt.Errorf("wait for answers: %w", err)
	}
	return ctx.Err()
}

// take does what a line asks: the terminal's own business, or the handler's.
func (a *Adapter) take(ctx context.Context, h bot.Handler, line string) error {
	if name, arg, own := ownLine(line); own {
		return a.own(ctx, name, arg)
	}
	e, err := a.event(line)
	if err == nil {
		err = h.Handle(ctx, e)
	}
	if err == nil || ctx.Err() != nil {
		return nil
	}
	return a.show(a.sentence(err, "event not taken in"))
}

// event makes of a line what the person did by it: said it, or pressed a
// button. A *bot.UserError says that the button is gone.
func (a *Adapter) event(line string) (bot.Event, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	button, at, err := a.buttons.pick(line)
	if err != nil {
		return bot.Event{}, err
	}
	a.events++
	e := bot.Event{
		ID: a.run + strconv.Itoa(a.events), Department: a.options.Department, At: a.options.Clock.Now(),
		From: a.at.Speaker, Where: bot.Address{Platform: Name, Channel: a.at.Channel}, Direct: true,
	}
	if button == nil {
		e.Kind, e.Text = bot.Said, line
		return e, nil
	}
	e.Kind, e.Press = bot.Pressed, button.Value
	if at.Channel != "" {
		e.Where.Channel = at.Channel
	}
	e.Where.Person = at.Person
	return e, nil
}

// Send shows one message; before Run has shown the banner it waits for that. A
// key that was shown lately is not shown again. Its errors are ErrUnsupported
// for an edit, ctx's, and those of writing.
func (a *Adapter) Send(ctx context.Context, o bot.Outgoing) (bot.MessageRef, error) {
	select {
	case <-ctx.Done():
	case <-a.opened:
	}
	if err := ctx.Err(); err != nil {
		return bot.MessageRef{}, fmt.Errorf("show message: %w", err)
	}
	if o.Edit != nil {
		return bot.MessageRef{}, fmt.Errorf("change message %s: %w", o.Edit.ID, bot.ErrUnsupported)
	}
	m := message{reply: o.Reply, heading: a.heading(o), files: a.save(o.Reply.Pictures)}
	if err := a.post(o, m); err != nil {
		return bot.MessageRef{}, fmt.Errorf("show message: %w", err)
	}
	return bot.MessageRef{Address: o.To, ID: o.Key}, nil
}

// post writes the message and makes its buttons the ones that numbers press, in
// one step: a number means what stands on the screen when it is typed.
func (a *Adapter) post(o bot.Outgoing, m message) error {
	a.mu.Lock()
	defer a.mu.Unlock()
	if o.Key != "" && slices.Contains(a.shown, o.Key) {
		return nil
	}
	if _, err := io.WriteString(a.screen, a.look.message(m, a.screen.columns())); err != nil {
		return err
	}
	a.shown = append(a.shown, o.Key)
	a.shown = a.shown[max(0, len(a.shown)-remembered):]
	a.buttons.follow(o, a.answers(o))
	return nil
}

// answers says whether the message comes of something typed here: its key then
// holds that event's id.
func (a *Adapter) answers(o bot.Outgoing) bool { return strings.Contains(o.Key, a.run) }

// save draws the pictures and gives the file of each, empty where there is
// none. The words beside a picture say it all, so trouble is for the log only.
func (a *Adapter) save(pictures []bot.Picture) []string {
	files := make([]string, len(pictures))
	for i, p := range pictures {
		var err error
		if files[i], err = a.album.save(p.Scene); err != nil {
			a.options.Log.Error("picture not saved", "scene", p.Scene, "error", err)
		}
	}
	return files
}

// heading says whom a message is for, where that is not plain: empty for an
// answer in the channel that the person types in.
func (a *Adapter) heading(o bot.Outgoing) string {
	a.mu.Lock()
	at := a.at
	a.mu.Unlock()
	switch {
	case o.To.Person != "" && o.To.Person != at.Speaker.ID:
		return a.look.onlyFor(a.name(o.To.Person))
	case o.To.Person != "" || o.Reply.Private:
		return a.look.onlyFor("you")
	case o.To.Channel == "" || o.To.Channel == at.Channel && a.answers(o):
		return ""
	}
	return a.look.postedIn(o.To.Channel, a.when())
}

// when is what the clock shows, for a post that nobody here asked for: after a
// move of the clock it says when each would have come.
func (a *Adapter) when() string {
	if a.options.Zone == nil {
		return ""
	}
	return a.options.Clock.Now().In(a.options.Zone).Format("Mon 2 Jan 15:04")
}

// name is the name behind a speaker's id, or the id where nobody knows.
func (a *Adapter) name(id string) string {
	if a.options.Who == nil {
		return id
	}
	p, err := a.options.Who(id)
	if err != nil || p.Speaker.ID != id {
		return id
	}
	return p.name()
}

// show writes lines of the terminal's own, with a gap behind them.
func (a *Adapter) show(lines ...string) error {
	if len(lines) == 0 {
		return nil
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	_, err := io.WriteString(a.screen, a.look.paragraph(lines, a.screen.columns()))
	return err
}

func (a *Adapter) prompt() string {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.look.prompt(a.at, a.screen.columns())
}
