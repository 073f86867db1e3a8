package console_test

import (
	"context"
	"io"
	"os"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/adapters/adaptertest"
	"kitbell/adapters/console"
	"kitbell/bot"
)

func await(t *testing.T, s *seat, text string) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	if err := s.screen.Await(ctx, text); err != nil {
		t.Fatal(err)
	}
}

func TestAPostLeavesTheLineBeingTyped(t *testing.T) {
	s := sitAtTerminal(t, console.Options{}, nil)
	s.keys("hook mis")
	await(t, s, "hook mis")
	o := bot.Outgoing{Key: "check/1", To: bot.Address{Platform: "console", Channel: "station-4"}, Reply: bot.Reply{Text: "Check due."}}
	if _, err := s.Send(t.Context(), o); err != nil {
		t.Fatal(err)
	}
	_, after, found := strings.Cut(withoutCodes(s.screen.String()), "→ #station-4\r\nCheck due.\r\n\r\n")
	if !found || after != "Ines Okafor, #station-6> hook mis" {
		t.Errorf("the screen ends with %q", after)
	}
	s.keys("sing\r\x04")
	if err := <-s.ended; err != nil {
		t.Fatal(err)
	}
	wantSaid(t, s.desk, "hook missing")
}

func TestKeys(t *testing.T) {
	const up, left, bidi, eightBitCSI = "\x1b[A", "\x1b[D", "\u202e", "\u009b"
	for _, row := range []struct {
		name, keys string
		want       []string
	}{
		{"Ctrl-D leaves", "one\r\x04", []string{"one"}},
		{"Ctrl-C leaves, also with half a line", "one\rtwo\x03", []string{"one"}},
		{":quit leaves", "one\r:quit\r", []string{"one"}},
		{"history", "one\rtwo\r" + up + up + "\r\x04", []string{"one", "two", "one"}},
		{"editing", "oe" + left + "n\r\x04", []string{"one"}},
		{"a paste is a line", "\x1b[200~one\r\x1b[201~\x04", []string{"one"}},
		{"what steers the terminal is not taken", "o" + bidi + "n" + eightBitCSI + "e\t\r\x04", []string{"one"}},
		{"a line that is too long is not sent", strings.Repeat("x", 5000) + "\rshort\r\x04", []string{"short"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			s := sitAtTerminal(t, console.Options{}, nil)
			s.keys(row.keys)
			if err := <-s.ended; err != nil {
				t.Fatal(err)
			}
			wantSaid(t, s.desk, row.want...)
			shown := s.screen.String()
			if !strings.HasSuffix(shown, "\n") || strings.Contains(shown, bidi) || strings.Contains(shown, eightBitCSI) {
				t.Errorf("the screen ends with %q", shown[max(0, len(shown)-40):])
			}
			if full := strings.Contains(shown, "That line may have lost its end"); full != (len(row.keys) > 4096) {
				t.Errorf("told that the line is too long: %v", full)
			}
		})
	}
}

func TestTheWindowMayChange(t *testing.T) {
	var columns atomic.Int64
	columns.Store(80)
	s := sitAtTerminal(t, console.Options{Size: func() (int, int) { return int(columns.Load()), 24 }}, nil)
	await(t, s, "Ines Okafor, #station-6> ")
	show := func(key string) string {
		before := len(s.screen.String())
		o := bot.Outgoing{Key: key, To: bot.Address{Platform: "console"}, Reply: bot.Reply{Text: "The kit of Engine 4 is complete again."}}
		if _, err := s.Send(t.Context(), o); err != nil {
			t.Fatal(err)
		}
		return s.screen.String()[before:]
	}
	if shown := show("k1"); !strings.Contains(shown, "The kit of Engine 4 is complete again.\r\n") {
		t.Errorf("wide: %q", shown)
	}
	columns.Store(24)
	if shown := show("k2"); !strings.Contains(shown, "The kit of Engine 4 is\r\ncomplete again.\r\n") {
		t.Errorf("narrow: %q", shown)
	}
	s.keys("\r\x04")
	if err := <-s.ended; err != nil {
		t.Fatal(err)
	}
	if _, prompt, _ := strings.Cut(s.screen.String(), "complete again.\r\n\r\n"); !strings.Contains(prompt, "> ") {
		t.Errorf("no short prompt on a narrow screen: %q", prompt)
	}
}

func TestColour(t *testing.T) {
	for _, row := range []struct {
		name     string
		raw      bool
		plain    bool
		env, val string
		want     bool
	}{
		{"on a terminal", true, false, "", "", true},
		{"on a pipe", false, false, "", "", false},
		{"for a screen reader", true, true, "", "", false},
		{"NO_COLOR", true, false, "NO_COLOR", "1", false},
		{"NO_COLOR, empty", true, false, "NO_COLOR", "", true},
		{"a terminal that has none", true, false, "TERM", "dumb", false},
	} {
		t.Run(row.name, func(t *testing.T) {
			getenv := func(name string) string {
				if name == row.env {
					return row.val
				}
				return ""
			}
			screen := adaptertest.NewScreen()
			d := sitDown(console.Options{In: strings.NewReader("\x04"), Out: screen, Raw: row.raw, Plain: row.plain, Getenv: getenv}, nil)
			if err := d.Run(t.Context(), d); err != nil {
				t.Fatal(err)
			}
			if _, err := d.Send(t.Context(), bot.Outgoing{Reply: bot.Reply{Title: "Title"}}); err != nil {
				t.Fatal(err)
			}
			if got := strings.Contains(screen.String(), "\x1b[1mTitle\x1b[0m"); got != row.want {
				t.Errorf("shown %q", screen.String())
			}
		})
	}
}

func TestColourIsKeptToTitlesLabelsAndButtons(t *testing.T) {
	screen := adaptertest.NewScreen()
	d := sitDown(console.Options{In: strings.NewReader("\x04"), Out: screen, Raw: true}, nil)
	if err := d.Run(t.Context(), d); err != nil {
		t.Fatal(err)
	}
	before := len(screen.String())
	if _, err := d.Send(t.Context(), bot.Outgoing{To: bot.Address{Channel: "officers"}, Reply: plan}); err != nil {
		t.Fatal(err)
	}
	want := "\x1b[32m→ #officers\x1b[0m\r\n\x1b[1mInward door, spring latch\x1b[0m\r\nTwo tries, then change the plan.\r\n\r\n" +
		"1. Try the handle.\r\n2. Latch film, from the top down.\r\n\r\n" +
		"\x1b[1mCaution: \x1b[0mKeep your face out of the gap, and stop when the door is warm to the back of your hand.\r\n" +
		"\x1b[1mSource: \x1b[0mcommon practice\r\n\r\n\x1b[2mPicture: \x1b[0mA latch seen from above.\r\n\r\n" +
		"\x1b[1m[1] It opened  [2] It did not\x1b[0m\r\n\r\n"
	if diff := cmp.Diff(want, screen.String()[before:]); diff != "" {
		t.Error(diff)
	}
}

// A panic must not leave the person with a terminal that shows nothing typed.
func TestAPanicGivesTheTerminalBack(t *testing.T) {
	screen := adaptertest.NewScreen()
	a := console.New(console.Options{In: strings.NewReader("hello\r"), Out: screen, Raw: true, First: ines, Getenv: noEnv})
	func() {
		defer func() {
			if recover() == nil {
				t.Error("the panic was swallowed")
			}
		}()
		_ = a.Run(t.Context(), adaptertest.NewHandler(func(bot.Event) error { panic("a mistake") }))
	}()
	if _, err := a.Send(t.Context(), bot.Outgoing{Reply: bot.Reply{Text: "Still here."}}); err != nil {
		t.Fatal(err)
	}
	if !strings.HasSuffix(screen.String(), "Still here.\r\n\r\n") {
		t.Errorf("the screen ends with a prompt: %q", screen.String())
	}
}

func TestSendWaitsForTheBanner(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		screen := adaptertest.NewScreen()
		d := sitDown(console.Options{In: strings.NewReader(""), Out: screen, Banner: []string{"Banner."}}, nil)
		sent := make(chan error, 1)
		go func() {
			_, err := d.Send(t.Context(), bot.Outgoing{Reply: bot.Reply{Text: "Early."}})
			sent <- err
		}()
		synctest.Wait()
		if shown := screen.String(); shown != "" {
			t.Errorf("shown before the run: %q", shown)
		}
		if err := d.Run(t.Context(), d); err != nil {
			t.Fatal(err)
		}
		if err := <-sent; err != nil || !strings.HasPrefix(screen.String(), "Banner.\n\nEarly.") {
			t.Errorf("error %v, shown %q", err, screen.String())
		}
	})
}

// stuck is an input that nothing wakes, as the standard input can be.
type stuck struct{ release chan struct{} }

func (s stuck) Read([]byte) (int, error) { <-s.release; return 0, io.EOF }

func TestTheEndOfCtxCallsAReadOff(t *testing.T) {
	for _, row := range []struct {
		name string
		open func(t *testing.T) io.Reader
	}{
		{"with a deadline", func(t *testing.T) io.Reader {
			r, w, err := os.Pipe()
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(func() { r.Close(); w.Close() })
			return r
		}},
		{"by closing", func(*testing.T) io.Reader { r, _ := io.Pipe(); return r }},
		{"left behind", func(t *testing.T) io.Reader {
			s := stuck{make(chan struct{})}
			t.Cleanup(func() { close(s.release) })
			return s
		}},
	} {
		for _, raw := range []bool{false, true} {
			t.Run(row.name, func(t *testing.T) {
				for range 20 { // so that ctx ends before, at and after the start of the read
					ctx, end := context.WithCancel(t.Context())
					a := console.New(console.Options{In: row.open(t), Out: io.Discard, Raw: raw, First: ines})
					ended := make(chan error, 1)
					go func() { ended <- a.Run(ctx, adaptertest.NewHandler(nil)) }()
					runtime.Gosched()
					end()
					if err := <-ended; err != nil {
						t.Error(err)
					}
				}
			})
		}
	}
}
