package console_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/adapters/adaptertest"
	"kitbell/adapters/console"
	"kitbell/bot"
)

var plan = bot.Reply{
	Title: "Inward door, spring latch",
	Text:  "Two tries, then change the plan.",
	Steps: []string{"Try the handle.", "Latch film, from the top down."},
	Fields: []bot.Field{
		{Name: "Caution", Value: "Keep your face out of the gap, and stop when the door is warm to the back of your hand."},
		{Name: "Source", Value: "common practice"},
	},
	Pictures: []bot.Picture{{Scene: "latch/spring", Alt: "A latch seen from above."}},
	Buttons:  []bot.Button{{Label: "It opened", Value: "used:7"}, {Label: "It did not", Value: "failed:7"}},
}

func TestDialogueOnAPipe(t *testing.T) {
	o := console.Options{Banner: []string{"kitbell, the kit officer.", "Try: queue.", "Leave with :quit."}}
	shown, d := dialogue(t, o, map[string]bot.Reply{
		"door swings in": plan,
		"used:7":         {Text: "Noted. Good work."},
	}, "door swings in", "1", ":quit", "never read")
	want := `kitbell, the kit officer.
Try: queue.
Leave with :quit.

Inward door, spring latch
Two tries, then change the plan.

1. Try the handle.
2. Latch film, from the top down.

Caution: Keep your face out of the gap, and stop when the door is warm to the back of your hand.
Source: common practice

Picture: A latch seen from above.

[1] It opened  [2] It did not

Noted. Good work.

`
	if diff := cmp.Diff(want, shown); diff != "" {
		t.Error(diff)
	}
	wantSaid(t, d, "door swings in", "used:7")
}

func TestPlainLookAndWrapping(t *testing.T) {
	o := console.Options{Plain: true, Size: func() (int, int) { return 44, 20 }}
	shown, _ := dialogue(t, o, map[string]bot.Reply{"door": plan}, "door", ":who")
	want := `Inward door, spring latch
Two tries, then change the plan.

1. Try the handle.
2. Latch film, from the top down.

Caution: Keep your face out of the gap, and
  stop when the door is warm to the back of
  your hand.
Source: common practice

Picture: A latch seen from above.

Button 1: It opened
Button 2: It did not

You speak as Ines Okafor, in channel
  station-6.

`
	if diff := cmp.Diff(want, shown); diff != "" {
		t.Error(diff)
	}
}

func TestHeadings(t *testing.T) {
	here := bot.Address{Platform: "console", Channel: "station-6"}
	private := func(person string) bot.Address { a := here; a.Person = person; return a }
	for _, row := range []struct {
		name    string
		to      bot.Address
		private bool
		plain   bool
		want    string
	}{
		{"a post in the own channel", here, false, false, "→ #station-6\nHello."},
		{"a post in another channel", bot.Address{Platform: "console", Channel: "#officers"}, false, false, "→ #officers\nHello."},
		{"a post, for a screen reader", here, false, true, "Posted in channel station-6:\nHello."},
		{"private to the speaker", private("ines-okafor"), true, false, "(only you)\nHello."},
		{"private, place unsaid", here, true, false, "(only you)\nHello."},
		{"private to somebody else", private("perrin-marsh"), true, false, "(only Perrin Marsh)\nHello."},
		{"private to a stranger", private("u99"), true, false, "(only u99)\nHello."},
		{"nowhere in particular", bot.Address{Platform: "console"}, false, false, "Hello."},
	} {
		t.Run(row.name, func(t *testing.T) {
			screen := adaptertest.NewScreen()
			d := sitDown(console.Options{In: strings.NewReader(""), Out: screen, Who: who, Plain: row.plain}, nil)
			if err := d.Run(t.Context(), d); err != nil {
				t.Fatal(err)
			}
			o := bot.Outgoing{Key: "check/41", To: row.to, Reply: bot.Reply{Text: "Hello.", Private: row.private}}
			if _, err := d.Send(t.Context(), o); err != nil {
				t.Fatal(err)
			}
			if got := strings.TrimSpace(screen.String()); got != row.want {
				t.Errorf("got %q, want %q", got, row.want)
			}
		})
	}
}

func TestNumbers(t *testing.T) {
	with := func(text string, labels ...string) bot.Reply {
		r := bot.Reply{Text: text}
		for _, label := range labels {
			r.Buttons = append(r.Buttons, bot.Button{Label: label, Value: "do:" + label})
		}
		return r
	}
	answers := map[string]bot.Reply{
		"two": with("Booked.", "a", "b"), "one": with("Booked.", "c"), "none": with("Booked."),
		"ask": with("How many is it?"), "choose": with("Which rig?", "d", "e"),
	}
	for _, row := range []struct {
		name  string
		lines []string
		want  []string // heard after the lines that are answered
		gone  bool
	}{
		{"presses", []string{"two", "2"}, []string{"two", "do:b"}, false},
		{"with spaces around", []string{"two", " 1 "}, []string{"two", "do:a"}, false},
		{"no buttons yet", []string{"1"}, []string{"1"}, false},
		{"no such button ever", []string{"two", "41"}, []string{"two", "41"}, false},
		{"zero, a sign, words", []string{"two", "0", "+1", "1 wedge"}, []string{"two", "0", "+1", "1 wedge"}, false},
		{"longer than any number", []string{"two", strings.Repeat("9", 30)}, []string{"two", strings.Repeat("9", 30)}, false},
		{"an answer without buttons leaves them", []string{"two", "none", "1"}, []string{"two", "none", "do:a"}, false},
		{"the last message counts", []string{"two", "one", "1"}, []string{"two", "one", "do:c"}, false},
		{"gone with an older message", []string{"two", "one", "2"}, []string{"two", "one"}, true},
		{"a question takes the number", []string{"two", "ask", "1"}, []string{"two", "ask", "1"}, false},
		{"a question's own buttons", []string{"two", "choose", "2", "4"}, []string{"two", "choose", "do:e", "4"}, false},
	} {
		t.Run(row.name, func(t *testing.T) {
			shown, d := dialogue(t, console.Options{}, answers, row.lines...)
			wantSaid(t, d, row.want...)
			if gone := strings.Contains(shown, "Button 2 is gone: the last message with buttons has 1."); gone != row.gone {
				t.Errorf("shown: %s", shown)
			}
		})
	}
}

func TestOwnLines(t *testing.T) {
	o := console.Options{
		Who:      who,
		Channels: []string{"station-2", "station-6", "#officers"},
		MoveClock: func(_ context.Context, arg string) (string, error) {
			switch arg {
			case "":
				return "It is Tue 24 Nov 09:00.", nil
			case "+2d":
				return "It is Thu 26 Nov 09:00.", nil
			case "fail":
				return "", errors.New("disk gone")
			}
			return "", &bot.UserError{Say: "I cannot read that time."}
		},
	}
	for _, row := range []struct{ line, want string }{
		{":who", "You speak as Ines Okafor, in #station-6."},
		{":WHO  ", "You speak as Ines Okafor, in #station-6."},
		{":as Perrin Marsh", "You speak as Perrin Marsh, in #station-2."},
		{":as perrin", "Nobody here is called perrin. Is it Perrin Marsh?"},
		{":as", "Say who: type :as and a name."},
		{":in #Officers", "You speak as Ines Okafor, in #officers."},
		{":in station-2", "You speak as Ines Okafor, in #station-2."},
		{":in", "Say which channel: type :in and its name. You type in #station-6 now."},
		{":in kitchen", "There is no channel kitchen. There are #station-2, #station-6, #officers."},
		{":clock", "It is Tue 24 Nov 09:00."},
		{":clock   +2d ", "It is Thu 26 Nov 09:00."},
		{":clock soon", "I cannot read that time."},
		{":clock fail", "Something went wrong on my side"},
		{":help", ":quit - leave"},
		{":dance now", "This terminal knows no :dance. It knows :as, :in, :who, :clock, :help and :quit."},
		{":", "This terminal knows no :."},
	} {
		t.Run(row.line, func(t *testing.T) {
			shown, d := dialogue(t, o, nil, row.line)
			if !strings.Contains(shown, row.want) {
				t.Errorf("shown: %q", shown)
			}
			wantSaid(t, d)
		})
	}
}

func TestOwnLinesWithNothingBehindThem(t *testing.T) {
	shown, _ := dialogue(t, console.Options{}, nil, ":as Perrin Marsh", ":clock +2d", ":in anywhere")
	for _, want := range []string{"Nobody else can speak here.", "This clock runs by itself", "in #anywhere."} {
		if !strings.Contains(shown, want) {
			t.Errorf("%q is not in %q", want, shown)
		}
	}
}

func TestEventsCarryWhoAndWhere(t *testing.T) {
	noon := time.Date(2026, 11, 24, 12, 0, 0, 0, time.UTC)
	o := console.Options{Who: who, Clock: bot.NewManualClock(noon)}
	_, d := dialogue(t, o, map[string]bot.Reply{"queue": {Text: "One line.", Buttons: []bot.Button{{Label: "Show", Value: "line:41"}}}},
		"queue", ":as Perrin Marsh", "hello", "1")
	perrin, _ := who("perrin-marsh")
	want := []bot.Event{
		{Kind: bot.Said, From: ines.Speaker, Text: "queue", Where: bot.Address{Platform: "console", Channel: "station-6"}},
		{Kind: bot.Said, From: perrin.Speaker, Text: "hello", Where: bot.Address{Platform: "console", Channel: "station-2"}},
		{Kind: bot.Pressed, From: perrin.Speaker, Press: "line:41", Where: bot.Address{Platform: "console", Channel: "station-6"}},
	}
	for i := range want {
		want[i].Department, want[i].At, want[i].Direct = "tarn-harbor", noon, true
	}
	got := append([]bot.Event(nil), d.heard...)
	for i := range got {
		got[i].ID = ""
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// Two runs of the program share one database, where an event's id is known for
// good.
func TestEventIDsAreUniqueAcrossRuns(t *testing.T) {
	seen := make(map[string]bool)
	for range 3 {
		_, d := dialogue(t, console.Options{}, nil, "a", "b", "c")
		for _, e := range d.heard {
			if seen[e.ID] || len(e.ID) > 40 {
				t.Errorf("id %q", e.ID)
			}
			seen[e.ID] = true
		}
	}
}

func TestLinesOnAPipeArriveWhole(t *testing.T) {
	for _, row := range []struct{ name, input, want string }{
		{"100 kB", strings.Repeat("wedge ", 17_000) + "end\n", strings.Repeat("wedge ", 17_000) + "end"},
		{"more than is kept", strings.Repeat("x", 3<<20) + "\n", strings.Repeat("x", 1<<20)},
		{"no line feed at the end", "last", "last"},
		{"carriage return", "typed elsewhere\r\n", "typed elsewhere"},
		{"empty", "\n", ""},
		{"no text", "\xff\xfe\n", "\xff\xfe"},
	} {
		t.Run(row.name, func(t *testing.T) {
			d := sitDown(console.Options{In: strings.NewReader(row.input), Out: io.Discard}, nil)
			if err := d.Run(t.Context(), d); err != nil {
				t.Fatal(err)
			}
			if len(d.heard) != 1 || d.heard[0].Text != row.want {
				t.Errorf("heard %d events", len(d.heard))
			}
		})
	}
}

func TestTroubleIsLoggedUnderTheReferenceThatIsShown(t *testing.T) {
	var log bytes.Buffer
	screen := adaptertest.NewScreen()
	d := sitDown(console.Options{
		In: strings.NewReader("hello"), Out: screen, Log: slog.New(slog.NewTextHandler(&log, nil)),
	}, nil)
	d.refuse = errors.New("disk full")
	if err := d.Run(t.Context(), d); err != nil {
		t.Fatal(err)
	}
	_, reference, _ := strings.Cut(strings.TrimSpace(screen.String()), "reference ")
	reference = strings.TrimSuffix(reference, ".")
	if len(reference) != 6 || !strings.Contains(log.String(), "reference="+reference) || !strings.Contains(log.String(), "disk full") {
		t.Errorf("shown %q, logged %q", screen.String(), log.String())
	}
}

func TestSettling(t *testing.T) {
	_, d := dialogue(t, console.Options{}, nil, "one", ":who", "three")
	if d.settled != 4 {
		t.Errorf("on a pipe: settled %d times, want once a line and at the end", d.settled)
	}
	s := sitAtTerminal(t, console.Options{}, map[string]bot.Reply{"one": {Text: "The answer."}})
	s.keys("one\r:who\r\x04")
	if err := <-s.ended; err != nil || s.settled != 1 {
		t.Errorf("on a terminal: error %v, settled %d times, want once", err, s.settled)
	}
	if _, after, _ := strings.Cut(s.screen.String(), "The answer."); strings.TrimSpace(after) != "" {
		t.Errorf("after the last answer stands %q", after)
	}
	failing := console.New(console.Options{
		In: strings.NewReader("one"), Out: io.Discard, First: ines,
		Settle: func(context.Context) error { return bot.ErrConflict },
	})
	if err := failing.Run(t.Context(), adaptertest.NewHandler(nil)); !errors.Is(err, bot.ErrConflict) {
		t.Errorf("settling failed, and Run gave %v", err)
	}
}

func TestPictures(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "made", "on demand")
	o := console.Options{PictureDir: dir, Draw: func(scene string) ([]byte, error) {
		if scene == "broken" {
			return nil, errors.New("no such scene")
		}
		return []byte("png of " + scene), nil
	}}
	shown, _ := dialogue(t, o, map[string]bot.Reply{"draw": {Pictures: []bot.Picture{
		{Scene: "../Latch", Alt: "A latch."}, {Scene: "broken", Alt: "A bolt."}, {Scene: "...latch", Alt: "Another latch."},
	}}}, "draw")
	files, err := filepath.Glob(filepath.Join(dir, "*.png"))
	if err != nil || len(files) != 2 {
		t.Fatalf("files %q, error %v", files, err)
	}
	for _, file := range files {
		png, err := os.ReadFile(file)
		if err != nil || !bytes.HasPrefix(png, []byte("png of ")) || !strings.Contains(shown, "\n  "+file+"\n") {
			t.Errorf("%s: %q, %v, shown %q", file, png, err, shown)
		}
	}
	if !strings.Contains(shown, "Picture: A bolt.\nPicture: Another latch.") {
		t.Errorf("shown: %q", shown)
	}
}

func TestBrokenOutputEndsTheRun(t *testing.T) {
	broken := errors.New("broken pipe")
	a := console.New(console.Options{In: strings.NewReader("hello"), Out: failingWriter{broken}, First: ines, Banner: []string{"hello"}})
	if err := a.Run(t.Context(), adaptertest.NewHandler(nil)); !errors.Is(err, broken) {
		t.Errorf("Run: %v", err)
	}
	if _, err := a.Send(t.Context(), bot.Outgoing{Reply: bot.Reply{Text: "hello"}}); !errors.Is(err, broken) {
		t.Errorf("Send: %v", err)
	}
}

type failingWriter struct{ err error }

func (w failingWriter) Write([]byte) (int, error) { return 0, w.err }
