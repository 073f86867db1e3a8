package console_test

import (
	"context"
	"io"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"pgregory.net/rapid"

	"kitbell/adapters/adaptertest"
	"kitbell/adapters/console"
	"kitbell/bot"
)

// nasty is what people's text must not do to a terminal.
var nasty = []string{
	"", "plain words", "\x1b[2J\x1b[H", "\x1b]0;title\x07", "\x1b]8;;http://example.org\x1b\\link", "\u009b31mred", "\x1bc", "\x1b",
	"abc\u202edcba", "\u2066a\u2069", "\u200e\u200f\u061c", "a\rb", "a\u2028b\u0085c", "\x00\x07\x08\x7f", "\xff\xc3", "tab\there",
	"\u200bzero\ufeff", "\U000e0041tags", "क्\u200dष", "e\u0301", "\x1b\x1b[[mm", "[31m",
}

// wantSafe fails when text has anything but visible characters and line feeds.
func wantSafe(t *testing.T, text string) {
	t.Helper()
	if !utf8.ValidString(text) {
		t.Errorf("not valid UTF-8: %q", text)
	}
	for _, r := range text {
		joiner := r == '\u200c' || r == '\u200d'
		if r != '\n' && !joiner && unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp) {
			t.Errorf("%U is shown in %q", r, text)
			return
		}
	}
}

func FuzzNothingSteersTheTerminal(f *testing.F) {
	for _, text := range nasty {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		screen := adaptertest.NewScreen()
		d := sitDown(console.Options{In: strings.NewReader(":who"), Out: screen, Banner: []string{text}}, nil)
		if err := d.Run(t.Context(), d); err != nil {
			t.Fatal(err)
		}
		reply := bot.Reply{
			Title: text, Text: text, Steps: []string{text}, Fields: []bot.Field{{Name: text, Value: text}},
			Buttons: []bot.Button{{Label: text, Value: "v:1"}}, Pictures: []bot.Picture{{Scene: text, Alt: text}},
		}
		for _, to := range []bot.Address{{Channel: text}, {Channel: "c", Person: text}} {
			if _, err := d.Send(t.Context(), bot.Outgoing{To: to, Reply: reply}); err != nil {
				t.Fatal(err)
			}
		}
		wantSafe(t, screen.String())
	})
}

func TestWhatIsLeftOfNastyText(t *testing.T) {
	for _, row := range []struct{ name, text, want string }{
		{"colour", "\x1b[31mred\x1b[0m", "red"},
		{"eight-bit colour", "\u009b31mred", "red"},
		{"window title", "\x1b]0;mine\x07ok", "ok"},
		{"link", "\x1b]8;;http://example.org\x1b\\here\x1b]8;;\x1b\\", "here"},
		{"turned text", "abc\u202edcba\u202c", "abcdcba"},
		{"other line ends", "a\r\nb\rc\u2028d", "a\nb\nc\nd"},
		{"joined letters", "क्\u200dष", "क्\u200dष"},
		{"not UTF-8", "a\xffb", "a\ufffdb"},
	} {
		t.Run(row.name, func(t *testing.T) {
			shown, _ := dialogue(t, console.Options{}, map[string]bot.Reply{"x": {Text: row.text}}, "x")
			if got := strings.TrimSpace(shown); got != row.want {
				t.Errorf("got %q, want %q", got, row.want)
			}
		})
	}
}

// Whatever stands behind the colon: it is answered here, it is safe to show, and
// it never reaches the handler.
func FuzzOwnLine(f *testing.F) {
	for _, line := range append(nasty, "as", "as nobody", "in x", "clock +2d", "who", "help", "quit", "  as  a  b ", "AS x") {
		f.Add(line)
	}
	f.Fuzz(func(t *testing.T, line string) {
		line, _, _ = strings.Cut(line, "\n")
		o := console.Options{Who: who, Channels: []string{"station-2"}, MoveClock: func(_ context.Context, arg string) (string, error) {
			return "It is now " + arg, nil
		}}
		shown, d := dialogue(t, o, nil, ":"+line)
		wantSafe(t, shown)
		wantSaid(t, d)
		if quit := strings.EqualFold(firstWord(line), "quit"); (shown == "") != quit {
			t.Errorf("%q was answered by %q", line, shown)
		}
	})
}

func firstWord(line string) string {
	words := strings.Fields(line)
	if len(words) == 0 {
		return ""
	}
	return words[0]
}

// On any screen every word is there, in order, and no line is longer than the
// screen is wide.
func TestTextFitsTheScreen(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		width := rapid.IntRange(20, 140).Draw(rt, "width")
		words := rapid.SliceOfN(rapid.StringMatching(`[a-zé]{1,9}`), 1, 60).Draw(rt, "words")
		text := strings.Join(words, " ")
		screen := adaptertest.NewScreen()
		d := sitDown(console.Options{
			In: strings.NewReader("go"), Out: screen, Size: func() (int, int) { return width, 24 },
		}, map[string]bot.Reply{"go": {Title: text, Text: "  " + text, Steps: []string{text}, Fields: []bot.Field{{Name: "Source", Value: text}}}})
		if err := d.Run(context.Background(), d); err != nil {
			rt.Fatal(err)
		}
		shown := screen.String()
		want := strings.Join([]string{text, text, "1.", text, "Source:", text}, " ")
		if got := strings.Join(strings.Fields(shown), " "); got != want {
			rt.Fatalf("got %q, want %q", got, want)
		}
		for _, line := range strings.Split(shown, "\n") {
			if n := utf8.RuneCountInString(line); n > min(width, 100) {
				rt.Fatalf("%d columns on a screen of %d: %q", n, width, line)
			}
		}
	})
}

func BenchmarkSend(b *testing.B) {
	d := sitDown(console.Options{In: strings.NewReader(""), Out: io.Discard, Size: func() (int, int) { return 80, 24 }}, nil)
	if err := d.Run(b.Context(), d); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := d.Send(b.Context(), bot.Outgoing{Reply: plan}); err != nil {
			b.Fatal(err)
		}
	}
}
