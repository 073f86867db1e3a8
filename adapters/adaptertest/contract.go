package adaptertest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"runtime"
	"runtime/pprof"
	"strings"
	"sync"
	"testing"
	"time"

	"pgregory.net/rapid"

	"kitbell/bot"
)

// patience is how long a test waits for what must come. Only a test that fails
// waits as long.
const patience = 20 * time.Second

// Run runs the whole contract, each part on a platform of its own.
func Run(t *testing.T, open Open) {
	for _, part := range []struct {
		name string
		test func(*testing.T, Open)
	}{
		{"capabilities are constant", CapabilitiesAreConstant},
		{"hears what is said, in order", HearsInOrder},
		{"hears a press", HearsAPress},
		{"a repeated event keeps its id", RepeatedEventKeepsItsID},
		{"a slow handler loses nothing", SlowHandlerLosesNothing},
		{"goes on after a new start", GoesOnAfterANewStart},
		{"says a refusal", SaysARefusal},
		{"goes on after trouble", GoesOnAfterTrouble},
		{"shows all that the plain text says", ShowsAllOfPlain},
		{"keeps the order of a lane", KeepsTheOrderOfALane},
		{"shows a key once", ShowsAKeyOnce},
		{"sends nothing once ctx has ended", SendsNothingOnceEnded},
		{"changes a message or says that it cannot", ChangesOrSaysItCannot},
		{"ends with ctx and leaves no goroutine", EndsWithContext},
		{"ends with the input", EndsWithTheInput},
	} {
		t.Run(part.name, func(t *testing.T) { part.test(t, open) })
	}
}

// running is a platform whose adapter runs.
type running struct {
	Platform
	handler *Handler
	ctx     context.Context // the test's, with patience
	stop    func() error    // ends the run and gives Run's error
	done    <-chan struct{}
}

// label marks the goroutines that come of a run.
const label = "adaptertest"

func start(t *testing.T, open Open, answer func(bot.Event) error) running {
	t.Helper()
	r := running{Platform: open(t), handler: NewHandler(answer)}
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	r.ctx = ctx
	runCtx, end := context.WithCancel(t.Context())
	done := make(chan struct{})
	var err error
	go pprof.Do(runCtx, pprof.Labels(label, t.Name()), func(ctx context.Context) {
		defer close(done)
		err = r.Adapter.Run(ctx, r.handler)
	})
	r.done = done
	r.stop = func() error { end(); <-done; return err }
	t.Cleanup(func() { end(); <-done; cancel() })
	return r
}

func (r running) next(t *testing.T) bot.Event {
	t.Helper()
	return r.handler.Next(r.ctx, t)
}

func (r running) await(t *testing.T, text string) {
	t.Helper()
	if err := r.Await(r.ctx, text); err != nil {
		t.Fatal(err)
	}
}

func (r running) send(t *testing.T, o bot.Outgoing) bot.MessageRef {
	t.Helper()
	ref, err := r.Adapter.Send(r.ctx, o)
	if err != nil {
		t.Fatalf("send %s: %v", o.Key, err)
	}
	return ref
}

// CapabilitiesAreConstant checks that name and capabilities are the same
// before, while and after the adapter runs, and that the name stands in its
// addresses.
func CapabilitiesAreConstant(t *testing.T, open Open) {
	p := open(t)
	name, can := p.Adapter.Name(), p.Adapter.Capabilities()
	if name == "" || p.Here.Platform != name || p.There.Platform != name {
		t.Errorf("name %q, addresses on %q and %q", name, p.Here.Platform, p.There.Platform)
	}
	r := start(t, func(*testing.T) Platform { return p }, nil)
	r.Say("hello")
	r.next(t)
	same := func(when string) {
		if p.Adapter.Name() != name || p.Adapter.Capabilities() != can {
			t.Errorf("%s: %q %+v, before it %q %+v", when, p.Adapter.Name(), p.Adapter.Capabilities(), name, can)
		}
	}
	same("while it runs")
	if err := r.stop(); err != nil {
		t.Error(err)
	}
	same("after it has run")
}

// HearsInOrder checks that each message becomes one event, complete, with an id
// of its own, in the order in which they were typed.
func HearsInOrder(t *testing.T, open Open) {
	r := start(t, open, nil)
	seen := make(map[string]bool)
	for i := range 30 {
		text := fmt.Sprintf("message %d: “wedge” & <strap>", i)
		r.Say(text)
		e := r.next(t)
		if e.Kind != bot.Said || e.Text != text || e.Where != r.Here {
			t.Errorf("said %q in %+v, heard %+v", text, r.Here, e)
		}
		if e.ID == "" || seen[e.ID] || e.Department == "" || e.From.ID == "" || e.At.IsZero() || !e.Direct {
			t.Errorf("event is not complete, or its id is not new: %+v", e)
		}
		seen[e.ID] = true
	}
}

// HearsAPress checks that a press brings the button's value.
func HearsAPress(t *testing.T, open Open) {
	r := start(t, open, nil)
	value := "undo:" + strings.Repeat("x", bot.MaxButtonValue-len("undo:"))
	r.send(t, bot.Outgoing{Key: "k1", To: r.Here, Reply: bot.Reply{Text: "Booked.", Buttons: []bot.Button{
		{Label: "Show the queue", Value: "queue:"}, {Label: "Undo", Value: value},
	}}})
	r.Press("Undo")
	e := r.next(t)
	if e.Kind != bot.Pressed || e.Press != value || e.From.ID == "" || e.Where != r.Here {
		t.Errorf("heard %+v", e)
	}
}

// RepeatedEventKeepsItsID checks that an event which the platform delivers
// again reaches the handler again under the id that it had.
func RepeatedEventKeepsItsID(t *testing.T, open Open) {
	r := start(t, open, nil)
	if r.Repeat == nil {
		t.Skip("this platform repeats nothing")
	}
	r.Say("once or twice")
	first := r.next(t)
	r.Repeat()
	if again := r.next(t); again.ID != first.ID || again.Text != first.Text {
		t.Errorf("first %+v, again %+v", first, again)
	}
}

// SlowHandlerLosesNothing checks that the platform has its first answer in time
// while the disk is slow, and that everything is handed on all the same, once each.
// A platform that waits for no answer has nothing to show here.
func SlowHandlerLosesNothing(t *testing.T, open Open) {
	release := make(chan struct{})
	var held sync.Once
	r := start(t, open, func(bot.Event) error {
		held.Do(func() { <-release })
		return nil
	})
	if r.Answered == nil {
		t.Skip("this platform waits for no answer")
	}
	r.send(t, bot.Outgoing{Key: "k1", To: r.Here, Reply: bot.Reply{Text: "Booked.", Buttons: []bot.Button{{Label: "Undo", Value: "undo:x"}}}})
	r.Press("Undo")
	first := r.next(t)
	if err := r.Answered(r.ctx, func() { close(release) }); err != nil {
		t.Fatal(err)
	}
	r.Say("behind it")
	if e := r.next(t); e.Text != "behind it" || e.ID == first.ID {
		t.Errorf("behind the slow one: %+v", e)
	}
	if n := r.handler.Left(); n > 0 {
		t.Errorf("%d more events", n)
	}
}

// GoesOnAfterANewStart checks that an adapter which was stopped in the middle can
// be opened again on the same platform: it hears what is said then, sends, and its
// buttons from before still bring their values.
func GoesOnAfterANewStart(t *testing.T, open Open) {
	r := start(t, open, nil)
	if r.Reopen == nil {
		t.Skip("this platform ends with its adapter")
	}
	r.Say("before")
	before := r.next(t)
	r.send(t, bot.Outgoing{Key: "k1", To: r.Here, Reply: bot.Reply{Text: "Booked.", Buttons: []bot.Button{{Label: "Undo", Value: "undo:x"}}}})
	if err := r.stop(); err != nil {
		t.Fatal(err)
	}
	again := start(t, func(*testing.T) Platform {
		p := r.Platform
		p.Adapter = r.Reopen()
		return p
	}, nil)
	known := map[string]bool{before.ID: true}
	fresh := func() bot.Event { // what was heard may be brought once more: the inbox knows it by its id
		for {
			if e := again.next(t); !known[e.ID] {
				known[e.ID] = true
				return e
			}
		}
	}
	again.Say("after")
	if e := fresh(); e.Text != "after" {
		t.Errorf("heard %+v", e)
	}
	again.Press("Undo")
	if e := fresh(); e.Press != "undo:x" {
		t.Errorf("an old button: %+v", e)
	}
	again.send(t, bot.Outgoing{Key: "k2", To: r.Here, Reply: bot.Reply{Text: "Here again."}})
	again.await(t, "Here again.")
}

// SaysARefusal checks that the person hears why a message was not taken.
func SaysARefusal(t *testing.T, open Open) {
	const why = "That message is too long for me."
	r := start(t, open, func(bot.Event) error { return fmt.Errorf("screen: %w", &bot.UserError{Say: why}) })
	r.Say("a long story")
	r.next(t)
	r.await(t, why)
}

// GoesOnAfterTrouble checks that an event which cannot be stored is told to the
// person, without the cause, and does not end the run.
func GoesOnAfterTrouble(t *testing.T, open Open) {
	const cause = "no space left on device"
	r := start(t, open, func(e bot.Event) error {
		if e.Text == "first" {
			return errors.New(cause)
		}
		return &bot.UserError{Say: "Second heard."}
	})
	r.Say("first")
	r.next(t)
	r.await(t, "Something went wrong on my side")
	r.Say("second")
	r.next(t)
	r.await(t, "Second heard.")
	if strings.Contains(r.Shown(), cause) {
		t.Error("the person was shown the cause")
	}
}

// ShowsAllOfPlain checks that whatever Reply.Plain says is shown, in its order,
// and every button's label after it.
func ShowsAllOfPlain(t *testing.T, open Open) {
	r := start(t, open, nil)
	number, seen := 0, len(r.Shown())
	rapid.Check(t, func(rt *rapid.T) {
		number++
		reply := aReply().Draw(rt, "reply")
		if _, err := r.Adapter.Send(r.ctx, bot.Outgoing{Key: fmt.Sprint("plain-", number), To: r.Here, Reply: reply}); err != nil {
			rt.Fatal(err)
		}
		want := strings.Split(reply.Plain(), "\n")
		for _, b := range reply.Buttons {
			want = append(want, b.Label)
		}
		shown := r.Shown()
		fresh := shown[seen:]
		seen = len(shown)
		if missing, ok := InOrder(fresh, want); !ok {
			rt.Fatalf("%q is missing, or not in its place, in:\n%s", missing, fresh)
		}
	})
}

// aReply draws replies that every platform can show: of ordinary length, and
// with a few letters that need care.
func aReply() *rapid.Generator[bot.Reply] {
	words := rapid.StringMatching(`[A-Z][a-zäéß'’&<>*_~|-]{0,9}( [a-z0-9½×#@/().:,]{1,9}){0,20}`)
	field := rapid.Custom(func(t *rapid.T) bot.Field {
		return bot.Field{Name: rapid.StringMatching(`[A-Z][a-z]{1,12}`).Draw(t, "name"), Value: words.Draw(t, "value")}
	})
	button := rapid.Custom(func(t *rapid.T) bot.Button {
		return bot.Button{Label: rapid.StringMatching(`[A-Z][a-z]{1,12}( [a-z]{1,8})?`).Draw(t, "label"), Value: "say:queue"}
	})
	return rapid.Custom(func(t *rapid.T) bot.Reply {
		return bot.Reply{
			Title:   rapid.StringMatching(`([A-Z][a-z]{1,10}( [a-z]{1,8}){0,4})?`).Draw(t, "title"),
			Text:    words.Draw(t, "text"),
			Steps:   rapid.SliceOfN(words, 0, 5).Draw(t, "steps"),
			Fields:  rapid.SliceOfN(field, 0, 3).Draw(t, "fields"),
			Buttons: rapid.SliceOfNDistinct(button, 0, 4, func(b bot.Button) string { return b.Label }).Draw(t, "buttons"),
		}
	})
}

// InOrder looks for texts in what was shown, one after the other, whatever the
// line breaks; missing is the first that is not there.
func InOrder(shown string, texts []string) (missing string, ok bool) {
	rest := strings.Join(strings.Fields(shown), " ")
	for _, text := range texts {
		_, after, found := strings.Cut(rest, strings.Join(strings.Fields(text), " "))
		if !found {
			return text, false
		}
		rest = after
	}
	return "", true
}

// KeepsTheOrderOfALane checks that what is sent to two channels at once comes
// in order in each.
func KeepsTheOrderOfALane(t *testing.T, open Open) {
	r := start(t, open, nil)
	const posts = 20
	var sending sync.WaitGroup
	for _, to := range []bot.Address{r.Here, r.There} {
		sending.Go(func() {
			for i := range posts {
				o := bot.Outgoing{Key: fmt.Sprintf("%s-%d", to.Channel, i), To: to, Reply: bot.Reply{Text: post(to, i)}}
				if _, err := r.Adapter.Send(r.ctx, o); err != nil {
					t.Error(err)
				}
			}
		})
	}
	sending.Wait()
	for _, to := range []bot.Address{r.Here, r.There} {
		var want []string
		for i := range posts {
			want = append(want, post(to, i))
		}
		if missing, ok := InOrder(r.Shown(), want); !ok {
			t.Errorf("%q is missing or not in its place", missing)
		}
	}
}

func post(to bot.Address, i int) string { return fmt.Sprintf("For %s, post %d.", to.Channel, i) }

// ShowsAKeyOnce checks that a message tried again is not shown again.
func ShowsAKeyOnce(t *testing.T, open Open) {
	r := start(t, open, nil)
	if !r.Once {
		t.Skip("this platform knows no keys")
	}
	o := bot.Outgoing{Key: "same", To: r.Here, Reply: bot.Reply{Text: "Only once, please."}}
	first, again := r.send(t, o), r.send(t, o)
	if n := strings.Count(r.Shown(), o.Reply.Text); n != 1 || first != again {
		t.Errorf("shown %d times, as %+v and %+v", n, first, again)
	}
}

// SendsNothingOnceEnded checks that a send whose ctx has ended says so and
// shows nothing.
func SendsNothingOnceEnded(t *testing.T, open Open) {
	r := start(t, open, nil)
	r.send(t, bot.Outgoing{Key: "before", To: r.Here, Reply: bot.Reply{Text: "Before."}})
	ended, end := context.WithCancel(r.ctx)
	end()
	_, err := r.Adapter.Send(ended, bot.Outgoing{Key: "late", To: r.Here, Reply: bot.Reply{Text: "Too late."}})
	if !errors.Is(err, context.Canceled) || strings.Contains(r.Shown(), "Too late.") {
		t.Errorf("error %v, shown %q", err, r.Shown())
	}
}

// ChangesOrSaysItCannot checks that an edit does what Capabilities promises.
func ChangesOrSaysItCannot(t *testing.T, open Open) {
	r := start(t, open, nil)
	ref := r.send(t, bot.Outgoing{Key: "k1", To: r.Here, Reply: bot.Reply{Text: "As it was."}})
	_, err := r.Adapter.Send(r.ctx, bot.Outgoing{Key: "k2", To: r.Here, Edit: &ref, Reply: bot.Reply{Text: "As it is now."}})
	switch shown := strings.Contains(r.Shown(), "As it is now."); {
	case r.Adapter.Capabilities().Edits && (err != nil || !shown):
		t.Errorf("not changed: %v", err)
	case !r.Adapter.Capabilities().Edits && (!errors.Is(err, bot.ErrUnsupported) || shown):
		t.Errorf("error %v, shown %v", err, shown)
	}
}

// EndsWithContext checks that Run returns nil when its ctx ends while it waits
// for a person, and that no goroutine of its own is left.
func EndsWithContext(t *testing.T, open Open) {
	r := start(t, open, nil)
	r.Say("hello")
	r.next(t)
	r.send(t, bot.Outgoing{Key: "k1", To: r.Here, Reply: bot.Reply{Text: "Hello."}})
	if err := r.stop(); err != nil {
		t.Errorf("Run: %v", err)
	}
	if left, ok := gone(r.ctx, t.Name()); !ok {
		t.Errorf("goroutines left:\n%s", left)
	}
}

// gone waits until no goroutine carries the name. One that has said its last
// word may take a moment to go.
func gone(ctx context.Context, name string) (left string, ok bool) {
	for {
		var all bytes.Buffer
		if err := pprof.Lookup("goroutine").WriteTo(&all, 1); err != nil {
			return err.Error(), false
		}
		if !strings.Contains(all.String(), fmt.Sprintf("%q:%q", label, name)) {
			return "", true
		}
		if ctx.Err() != nil {
			return all.String(), false
		}
		runtime.Gosched()
	}
}

// EndsWithTheInput checks that Run returns nil when the platform has nothing
// more to say, with everything said before handed on.
func EndsWithTheInput(t *testing.T, open Open) {
	r := start(t, open, nil)
	if r.End == nil {
		t.Skip("this platform never ends")
	}
	r.Say("first")
	r.Say("last")
	r.End()
	select {
	case <-r.done:
	case <-r.ctx.Done():
		t.Fatal("Run did not end")
	}
	if err := r.stop(); err != nil || r.handler.Left() != 2 {
		t.Errorf("error %v, %d of 2 events handed on", err, r.handler.Left())
	}
}
