package deliver_test

import (
	"fmt"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"kitbell/bot"
	"kitbell/bot/deliver"
)

// sentences is n sentences of 20 characters with the space behind them.
func sentences(n int) string {
	return strings.TrimSpace(strings.Repeat("Press the latch in. ", n))
}

func TestSplit(t *testing.T) {
	edit := &bot.MessageRef{ID: "m1"}
	for _, row := range []struct {
		name string
		in   bot.Reply
		caps bot.Capabilities
		want []bot.Reply
	}{
		{"what fits stays as it is",
			bot.Reply{Title: "Door", Text: "Try the blade.", Steps: []string{"Look"}, Buttons: []bot.Button{{Label: "Done", Value: "done:1"}}},
			bot.Capabilities{MaxText: 64, MaxButtons: 5},
			[]bot.Reply{{Title: "Door", Text: "Try the blade.", Steps: []string{"Look"}, Buttons: []bot.Button{{Label: "Done", Value: "done:1"}}}}},
		{"no limit",
			bot.Reply{Text: sentences(500)}, bot.Capabilities{}, []bot.Reply{{Text: sentences(500)}}},
		{"between sentences, buttons last",
			bot.Reply{Text: sentences(5), Private: true, Buttons: []bot.Button{{Label: "a"}}},
			bot.Capabilities{MaxText: 70},
			[]bot.Reply{{Text: sentences(3), Private: true}, {Text: sentences(2), Private: true, Buttons: []bot.Button{{Label: "a"}}}}},
		{"steps keep their numbers",
			bot.Reply{Title: "Plan", Steps: []string{sentences(1), sentences(1), sentences(1), sentences(1)}, Fields: []bot.Field{{Name: "Care", Value: "Gas"}}},
			bot.Capabilities{MaxText: 64},
			[]bot.Reply{{Title: "Plan", Steps: []string{sentences(1), sentences(1)}},
				{Text: "3. " + sentences(1) + "\n4. " + sentences(1), Fields: []bot.Field{{Name: "Care", Value: "Gas"}}}}},
		{"a field that is too long goes on as text",
			bot.Reply{Text: "Hi", Fields: []bot.Field{{Name: "Source", Value: sentences(4)}, {Name: "Care", Value: "Gas"}}},
			bot.Capabilities{MaxText: 64},
			[]bot.Reply{{Text: "Hi"}, {Text: "Source: Press the latch in. Press the latch in."},
				{Text: sentences(2), Fields: []bot.Field{{Name: "Care", Value: "Gas"}}}}},
		{"buttons spread",
			bot.Reply{Text: "Which?", Buttons: []bot.Button{{Label: "1"}, {Label: "2"}, {Label: "3"}, {Label: "4"}, {Label: "5"}}},
			bot.Capabilities{MaxButtons: 2},
			[]bot.Reply{{Text: "Which?", Buttons: []bot.Button{{Label: "1"}, {Label: "2"}}},
				{Text: deliver.MoreChoices, Buttons: []bot.Button{{Label: "3"}, {Label: "4"}}},
				{Text: deliver.MoreChoices, Buttons: []bot.Button{{Label: "5"}}}}},
		{"characters, not bytes",
			bot.Reply{Text: strings.Repeat("é", 64)}, bot.Capabilities{MaxText: 64}, []bot.Reply{{Text: strings.Repeat("é", 64)}}},
	} {
		t.Run(row.name, func(t *testing.T) {
			parts := deliver.Split(bot.Outgoing{Key: "k", Edit: edit, To: bot.Address{Channel: "c"}, Reply: row.in}, row.caps)
			var got []bot.Reply
			for i, p := range parts {
				got = append(got, p.Reply)
				key, ref := "k", edit
				if i > 0 {
					key, ref = fmt.Sprintf("k/%d", i+1), nil
				}
				if p.Key != key || p.Edit != ref || p.To.Channel != "c" {
					t.Errorf("part %d: key %q, edit %v, to %v", i+1, p.Key, p.Edit, p.To)
				}
			}
			if diff := cmp.Diff(row.want, got); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// checkSplit checks what holds for every reply and every platform: each part is
// within the limits, and nothing but white space is lost.
func checkSplit(t interface{ Errorf(string, ...any) }, in bot.Reply, caps bot.Capabilities) {
	var text strings.Builder
	var buttons []bot.Button
	var scenes []string
	parts := deliver.Split(bot.Outgoing{Key: "k", Reply: in}, caps)
	for i, p := range parts {
		plain := p.Reply.Plain()
		if n := utf8.RuneCountInString(plain); caps.MaxText > 0 && n > max(caps.MaxText, deliver.LeastText) {
			t.Errorf("part %d has %d characters: %q", i+1, n, plain)
		}
		if caps.MaxButtons > 0 && len(p.Reply.Buttons) > caps.MaxButtons {
			t.Errorf("part %d has %d buttons", i+1, len(p.Reply.Buttons))
		}
		if len(parts) > 1 && plain == "" {
			t.Errorf("part %d is empty", i+1)
		}
		if p.Reply.Private != in.Private {
			t.Errorf("part %d is private: %v", i+1, p.Reply.Private)
		}
		if len(buttons) == 0 || plain != deliver.MoreChoices {
			text.WriteString(plain)
		}
		buttons = append(buttons, p.Reply.Buttons...)
		for _, pic := range p.Reply.Pictures {
			scenes = append(scenes, pic.Scene)
		}
	}
	if got, want := dense(text.String()), dense(in.Plain()); got != want {
		t.Errorf("text changed:\n got %q\nwant %q", got, want)
	}
	if !cmp.Equal(buttons, in.Buttons) {
		t.Errorf("buttons changed: %v, want %v", buttons, in.Buttons)
	}
	var want []string
	for _, pic := range in.Pictures {
		want = append(want, pic.Scene)
	}
	if !cmp.Equal(scenes, want) {
		t.Errorf("pictures changed: %v, want %v", scenes, want)
	}
}

func dense(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return -1
		}
		return r
	}, s)
}

func TestSplitLosesNothing(t *testing.T) {
	word := rapid.StringOfN(rapid.RuneFrom(nil, unicode.Latin, unicode.Space, unicode.Po), 0, 200, -1)
	rapid.Check(t, func(t *rapid.T) {
		in := bot.Reply{Title: word.Draw(t, "title"), Text: word.Draw(t, "text"), Private: rapid.Bool().Draw(t, "private")}
		in.Steps = rapid.SliceOfN(word, 0, 15).Draw(t, "steps")
		for range rapid.IntRange(0, 4).Draw(t, "fields") {
			in.Fields = append(in.Fields, bot.Field{Name: word.Draw(t, "name"), Value: word.Draw(t, "value")})
		}
		for i := range rapid.IntRange(0, 3).Draw(t, "pictures") {
			in.Pictures = append(in.Pictures, bot.Picture{Scene: fmt.Sprint(i), Alt: word.Draw(t, "alt")})
		}
		for i := range rapid.IntRange(0, 30).Draw(t, "buttons") {
			in.Buttons = append(in.Buttons, bot.Button{Label: fmt.Sprint(i)})
		}
		checkSplit(t, in, bot.Capabilities{MaxText: rapid.IntRange(0, 300).Draw(t, "limit"), MaxButtons: rapid.IntRange(0, 7).Draw(t, "most")})
	})
}

func FuzzSplit(f *testing.F) {
	f.Add("Title", sentences(20), "step one\nstep two", "Care", "mind the gas", 70, 3)
	f.Add("", strings.Repeat("x", 500), "", strings.Repeat("n", 90), "", 1, 0)
	f.Add(strings.Repeat("t ", 90), "\xff\xfe\n\n", " \n ", "", "e\u0301", 64, 1)
	f.Fuzz(func(t *testing.T, title, text, steps, name, value string, limit, buttons int) {
		in := bot.Reply{Title: title, Text: text, Steps: strings.Split(steps, "\n"), Fields: []bot.Field{{Name: name, Value: value}},
			Pictures: []bot.Picture{{Scene: "a", Alt: value}, {Scene: "b", Alt: name}}}
		for i := range min(max(buttons, 0), 40) {
			in.Buttons = append(in.Buttons, bot.Button{Label: fmt.Sprint(i)})
		}
		checkSplit(t, in, bot.Capabilities{MaxText: max(limit, 0), MaxButtons: 3})
	})
}
