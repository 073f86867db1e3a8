package understand_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot/door"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
)

var engine4 = understand.Context{Unit: "engine-4", Platoon: "B", Station: "station-4"}

func TestUnits(t *testing.T) {
	reader := newReader(t)
	for _, row := range []struct{ text, unit string }{
		{"E4 strap missing", "engine-4"},
		{"e-4 strap missing", "engine-4"},
		{"E 4's strap is missing", "engine-4"},
		{"Eng 4 strap missing", "engine-4"},
		{"engine four strap missing", "engine-4"},
		{"truck 1 strap missing", "ladder-1"},
		{"strap missing on lad 4", "ladder-4"},
		{"T6 strap missing", "tower-6"},
		{"the tower's strap is missing", "tower-6"},
		{"rescue strap missing", "rescue-2"},
		{"the reserve strap missing", "engine-11"},
		{"boat 5 strap missing", "boat-5"},
		{"3's strap is missing", "engine-3"},
		{"Ladder 2 strap missing", ""},
		{"E12 strap missing", ""},
		{"4's strap is missing", ""},
		{"station 4 strap missing", ""},
		{"strap missing", ""},
	} {
		t.Run(row.text, func(t *testing.T) {
			got := reader.Read(row.text, understand.Context{})
			if row.unit == "" {
				if !got.Asks(understand.AskUnit) || len(got.Lines) > 0 {
					t.Errorf("asks %v, lines %v; want a question about the rig", got.AskBack, got.Lines)
				}
				return
			}
			want := []understand.Line{{Unit: row.unit, Item: "door-strap", Condition: kit.Missing, Count: 1}}
			if diff := cmp.Diff(want, got.Lines); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestUnknownRigOffersThoseLikeIt(t *testing.T) {
	got := newReader(t).Read("Ladder 2 duster is empty", understand.Context{})
	if want := []string{"engine-2", "rescue-2", "ladder-1", "ladder-4"}; len(got.AskBack) != 1 || !slices.Equal(got.AskBack[0].Candidates, want) {
		t.Errorf("asks %v, want the rigs numbered 2 and the ladders", got.AskBack)
	}
}

func TestCounts(t *testing.T) {
	reader := newReader(t)
	for _, row := range []struct {
		text      string
		condition kit.Condition
		count     int
	}{
		{"wood wedges: 2 of 4 left", kit.Low, 2},
		{"down to one wood wedge", kit.Low, 3},
		{"no wood wedges left", kit.Missing, 4},
		{"a couple of wood wedges are split", kit.Damaged, 2},
		{"all four wood wedges gone", kit.Missing, 4},
		{"one of the wood wedges is cracked", kit.Damaged, 1},
		{"half the wood wedges are cracked", kit.Damaged, 2},
		{"wood wedge x3 missing", kit.Missing, 3},
		{"wood wedges gone except one", kit.Low, 3},
		{"we have six wood wedges", kit.Extra, 2},
		{"3 wood wedges instead of 4", kit.Low, 1},
	} {
		t.Run(row.text, func(t *testing.T) {
			want := []understand.Line{{Unit: "engine-4", Item: "wood-wedge", Condition: row.condition, Count: row.count}}
			if diff := cmp.Diff(want, reader.Read(row.text, engine4).Lines); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestNoReport(t *testing.T) {
	reader := newReader(t)
	for _, text := range []string{
		"the shove knife is fine", "is the film supposed to be cloudy", "how often do we leak test the air wedge",
		"the saw won't start", "thanks chief", "my radio battery is dead", "what do I do with a bent hook", "", "   ", "?!", "\xff\xfe",
	} {
		if got := reader.Read(text, engine4); got.Intent == understand.Report || len(got.Lines) > 0 {
			t.Errorf("%q: %s with lines %v, want no report", text, got.Intent, got.Lines)
		}
	}
}

func TestOffKitIsNamed(t *testing.T) {
	got := newReader(t).Read("the saw won't start", engine4)
	if got.Intent != understand.None || got.OffKit != "saw" {
		t.Errorf("got %s, equipment %q; want none and the saw", got.Intent, got.OffKit)
	}
}

// What was asked is completed by the next message, in whatever words.
func TestAnswerCompletesReport(t *testing.T) {
	reader := newReader(t)
	for _, row := range []struct {
		name, first, answer string
		context             understand.Context
		want                understand.Line
	}{
		{"the rig", "strap is torn", "engine four", understand.Context{}, understand.Line{Unit: "engine-4", Item: "door-strap", Condition: kit.Damaged, Count: 1}},
		{"the size", "hook is bent", "the small one", engine4, understand.Line{Unit: "engine-4", Item: "traveler-hook-small", Condition: kit.Damaged, Count: 1}},
		{"an adjective", "wedge is cracked", "steel", engine4, understand.Line{Unit: "engine-4", Item: "steel-wedge", Condition: kit.Damaged, Count: 1}},
		{"the full name", "shim missing", "thick shim", engine4, understand.Line{Unit: "engine-4", Item: "latch-shim-thick", Condition: kit.Missing, Count: 1}},
	} {
		t.Run(row.name, func(t *testing.T) {
			first := reader.Read(row.first, row.context)
			if first.Pending == nil {
				t.Fatalf("%q leaves nothing open: %+v", row.first, first)
			}
			row.context.Memory.Pending = first.Pending
			got := reader.Read(row.answer, row.context)
			if got.Intent != understand.Report || got.Pending != nil {
				t.Errorf("intent %s, pending %v", got.Intent, got.Pending)
			}
			if diff := cmp.Diff([]understand.Line{row.want}, got.Lines); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestFoundItClosesTheLastReport(t *testing.T) {
	context := engine4
	context.Memory.Last = []understand.Line{{Unit: "engine-4", Item: "latch-film", Condition: kit.Missing, Count: 1}}
	for _, text := range []string{"found it", "ignore my last, found it", "never mind, it turned up"} {
		got := newReader(t).Read(text, context)
		if got.Intent != understand.Resolved || len(got.Lines) != 1 || got.Lines[0].Condition != kit.Resolved {
			t.Errorf("%q: %s %v, want the film found", text, got.Intent, got.Lines)
		}
	}
}

func TestRunningDoor(t *testing.T) {
	reader := newReader(t)
	context := engine4
	context.Memory.Door = &door.Facts{Swing: door.SwingOut}
	if got := reader.Read("no, it swings in", context); got.Intent != understand.Door || got.Door.Swing != door.SwingIn {
		t.Errorf("a correction: %s, swing %q", got.Intent, got.Door.Swing)
	}
	if got := reader.Read("not yet", context); got.Intent != understand.Door || got.Outcome != understand.NotYet {
		t.Errorf("not yet: %s, outcome %q", got.Intent, got.Outcome)
	}
	if got := reader.Read("opened", context); got.Outcome != understand.Opened {
		t.Errorf("opened: outcome %q", got.Outcome)
	}
	if got := reader.Read("somebody's down", context); got.Intent != understand.Door || !got.Down {
		t.Errorf("somebody's down: %s, down %v", got.Intent, got.Down)
	}
}

func TestSwingAgainstHinges(t *testing.T) {
	got := newReader(t).Read("swings out but the hinges aren't on our side", engine4)
	if !got.Asks("swing") || got.Door.Swing != "" {
		t.Errorf("asks %v, swing %q; want a question about the swing", got.AskBack, got.Door.Swing)
	}
}

func TestFailedTechniques(t *testing.T) {
	got := newReader(t).Read("tried the film twice, no luck, inward door, knob", engine4)
	if diff := cmp.Diff([]string{"slip-inward"}, got.Door.Failed); diff != "" || got.Intent != understand.Door {
		t.Errorf("%s, failed %v", got.Intent, got.Door.Failed)
	}
}

func TestUse(t *testing.T) {
	got := newReader(t).Read("used the thick shim on a guarded door, second try, no mark", engine4)
	want := understand.Use{Technique: "slip-behind-guard", Items: []string{"latch-shim-thick"}, Tries: 2, Mark: "none", Outcome: understand.Opened}
	if diff := cmp.Diff(want, got.Use); diff != "" || got.Intent != understand.Used {
		t.Errorf("%s %s", got.Intent, diff)
	}
}

func TestSmallThings(t *testing.T) {
	reader := newReader(t)
	if got := reader.Read("tag 004512 intact", engine4); got.Intent != understand.Seal || got.Seal != "004512" {
		t.Errorf("a seal: %s %q", got.Intent, got.Seal)
	}
	if got := reader.Read("what about line 41", engine4); !slices.Equal(got.Numbers, []int{41}) {
		t.Errorf("a line: %v", got.Numbers)
	}
	if got := reader.Read("pull all air wedges from lot 7", engine4); got.Intent != understand.StopUse || got.Lot != "7" || len(got.Lines) > 0 {
		t.Errorf("a lot: %s %q %v", got.Intent, got.Lot, got.Lines)
	}
	if got := reader.Read("who has duty friday, B shift?", engine4); got.Intent != understand.Duty || !slices.Equal(got.Days, []string{"friday"}) || !slices.Equal(got.Platoons, []string{"B"}) {
		t.Errorf("a day: %s %v %v", got.Intent, got.Days, got.Platoons)
	}
	if got := reader.Read("we should carry a second film because ours tear", engine4); got.Intent != understand.Wish || got.Reason != "ours tear" {
		t.Errorf("a wish: %s %q", got.Intent, got.Reason)
	}
}

// Words that are English stay what they are, however near they come to a tool.
func TestSpelling(t *testing.T) {
	reader := newReader(t)
	for _, text := range []string{"the shin is missing", "my shoes are missing", "the clock is missing", "chicken is gone", "the firm is gone"} {
		if got := reader.Read(text, engine4); len(got.Lines) > 0 {
			t.Errorf("%q: %v", text, got.Lines)
		}
	}
	for text, item := range map[string]string{
		"thumbtrun fork mising": "thumbturn-fork", "shoveknife missing": "shove-knife", "storp... strapp missing": "door-strap",
		"inspecton miror missing": "inspection-mirror", "narow gaurd bar missing": "guard-bar-narrow",
	} {
		if got := reader.Read(text, engine4); len(got.Lines) != 1 || got.Lines[0].Item != item {
			t.Errorf("%q: %v, want %s", text, got.Lines, item)
		}
	}
}

func TestNamesFromOutside(t *testing.T) {
	reader, err := understand.New(tarnHarbor(), []understand.ItemName{{ID: "door-strap", Title: "Door strap", Aliases: []string{"latch muffler"}}})
	if err != nil {
		t.Fatal(err)
	}
	if got := reader.Read("latch muffler missing", engine4); len(got.Lines) != 1 || got.Lines[0].Item != "door-strap" {
		t.Errorf("an alias from a card: %v", got.Lines)
	}
}

func TestEveryIntentIsListed(t *testing.T) {
	if n := len(understand.Intents()); n != 25 {
		t.Errorf("%d intents, want 25", n)
	}
}

// A hundred kilobytes take no longer, word for word, than a short message.
func TestLongMessages(t *testing.T) {
	reader := newReader(t)
	for _, piece := range []string{"E4 film torn and no cards left ", "a", "the ", "no the ", "film, ", "$is it $", "q7 ", "zxqwvut ", "pull ", "is the "} {
		text := strings.Repeat(piece, 100_000/len(piece))
		start := time.Now()
		reader.Read(text, engine4)
		if took := time.Since(start); took > 3*time.Second {
			t.Errorf("100 kB of %q took %v", piece, took)
		}
	}
}

func FuzzRead(f *testing.F) {
	reader := newReader(f)
	for _, seed := range []string{"E4 film torn", "no, it swings in", "hook's bent; 2 of 4 wedges left!", "tag 004512 intact", "\xff’s 9999999999999"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got := reader.Read(text, engine4)
		if !slices.Contains(understand.Intents(), got.Intent) {
			t.Errorf("intent %q", got.Intent)
		}
		if err := got.Door.Validate(); err != nil {
			t.Error(err)
		}
		for _, line := range got.Lines {
			if line.Unit == "" || line.Item == "" || !slices.Contains(kit.Conditions(), line.Condition) || line.Count < 1 {
				t.Errorf("line %+v", line)
			}
		}
	})
}

func BenchmarkRead(b *testing.B) {
	reader := newReader(b)
	for name, text := range map[string]string{
		"report": "T6 all there but the shove knife is sticky with tape gunk",
		"door":   "outward metal door, plate over the latch, lift assist, can't see the pin",
		"typos":  "narow gaurd bar missin and the thumtrun fork is brokn",
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				reader.Read(text, engine4)
			}
		})
	}
}

func BenchmarkNew(b *testing.B) {
	dept := tarnHarbor()
	for b.Loop() {
		if _, err := understand.New(dept, nil); err != nil {
			b.Fatal(err)
		}
	}
}
