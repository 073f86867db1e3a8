package drawing_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"kitbell/knowledge/drawing"
)

func TestParse(t *testing.T) {
	got, err := drawing.Parse([]byte(`
  view: plan
  swing: in
  gap: tight
  parts: [latch, plunger-in]
  tools: [latch-film]
  push: pull
  labels: {latch: "1/2 in", gap: 3}
  caption: Hold it
    at a slant.
`))
	if err != nil {
		t.Fatal(err)
	}
	want := drawing.Scene{
		View: drawing.Plan, Swing: drawing.In, Gap: drawing.Tight,
		Parts:   []drawing.Part{drawing.Latch, drawing.PlungerIn},
		Tools:   []drawing.Tool{drawing.LatchFilm},
		Push:    drawing.PullDoor,
		Labels:  map[drawing.Part]string{drawing.Latch: "1/2 in", drawing.GapAt: "3"},
		Caption: "Hold it at a slant.",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("scene (-want +got):\n%s", diff)
	}
}

func TestParseNamesTheLine(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"empty", "", "line 1: a drawing is a list of keys"},
		{"not a mapping", "- a\n- b\n", "line 1: a drawing is a list of keys"},
		{"no view", "swing: in\n", "line 1: a drawing needs a view"},
		{"bad syntax", "view: plan\nparts: [latch\n", "line 2:"},
		{"unknown key", "view: plan\ncolour: red\n", `line 2: no drawing has a key "colour"`},
		{"key twice", "view: plan\nview: lock\n", `line 2`},
		{"unknown view", "view: above\n", `line 1: "above" is none of plan lock`},
		{"unknown part", "view: plan\nparts:\n  - latch\n  - doorbell\n", `line 4: "doorbell" is none of`},
		{"part twice", "view: plan\nparts:\n  - latch\n  - latch\n", `line 4: "latch" is there twice`},
		{"part of another view", "view: plan\nparts: [rods]\n", `line 2: "rods" is not drawn in the view "plan"`},
		{"tool of another view", "view: plan\ntools: [air-duster]\n", `line 2: "air-duster" is not drawn`},
		{"parts in one place", "view: plan\nparts: [latch, bolt]\n", `line 2: "latch" and "bolt" cannot be together`},
		{"part of another door", "view: face\nparts: [panels,\n  handle]\n", `line 3: "handle" is not drawn on this kind of door`},
		{"blade on a push door", "view: plan\nswing: in\ntools: [shove-knife]\n", `line 3: "shove-knife" is for doors that swing out`},
		{"film on a pull door", "view: plan\ntools: [latch-film]\n", `line 2: "latch-film" is for doors that swing in`},
		{"blade through a plate", "view: plan\nparts: [guard-plate]\ntools: [shove-knife]\n", `line 3: "shove-knife" does not pass a guard plate`},
		{"card without a guard", "view: plan\nswing: in\ntools: [notched-card]\n", `line 3: "notched-card" is drawn only with a second lock`},
		{"hidden by the stop", "view: lock\nswing: in\n", "line 1: on a door that swings in, the stop hides"},
		{"chain on a pull door", "view: plan\nparts: [chain]\n", "line 1: second locks of rooms"},
		{"label of nothing", "view: plan\nlabels:\n  bolt: square\n", `line 3: "bolt" has a label and is not there`},
		{"label too long", "view: plan\nlabels:\n  door: a label that never ends at all\n", "line 3: 30 characters are too many, 26 fit"},
		{"character that has no letter", "view: plan\ncaption: 門\n", "line 2: "},
		{"list needed", "view: plan\nparts: latch\n", "line 2: a list is needed"},
		{"too long", strings.Repeat("#", 5000), "line 1: a drawing takes at most"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			_, err := drawing.Parse([]byte(test.text))
			if err == nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("got %v, want %q", err, test.want)
			}
		})
	}
}

func TestParseReportsAllMistakes(t *testing.T) {
	_, err := drawing.Parse([]byte("view: up\nswing: left\nparts: [horn]\n"))
	if problems, ok := err.(drawing.Problems); !ok || len(problems) != 3 {
		t.Errorf("got %v, want three problems", err)
	}
}

func FuzzParse(f *testing.F) {
	for _, c := range readCards(f) {
		f.Add([]byte(c.drawing))
	}
	f.Add([]byte("view: plan\nlabels: {? : x}\n"))
	f.Add([]byte("view: &a plan\nswing: *a\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		s, err := drawing.Parse(text)
		if err != nil {
			for _, p := range err.(drawing.Problems) {
				if p.Line < 1 || p.Text == "" {
					t.Errorf("problem without a place or a reason: %+v", p)
				}
			}
			return
		}
		checkLayout(t, s)
		if s.Alt() == "" {
			t.Error("no alt text")
		}
	})
}
