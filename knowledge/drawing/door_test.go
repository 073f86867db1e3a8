package drawing_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"kitbell/knowledge/drawing"
)

func TestForDoor(t *testing.T) {
	tests := []struct {
		name  string
		facts drawing.Facts
		view  drawing.View
		swing drawing.Swing
		parts []drawing.Part
	}{
		{"nothing known", drawing.Facts{}, drawing.Plan, drawing.Out, []drawing.Part{drawing.Latch}},
		{"guarded deadlatch", drawing.Facts{Swing: "out", Lock: "deadlatch", Plunger: "in", Guard: true},
			drawing.Plan, drawing.Out, []drawing.Part{drawing.Latch, drawing.PlungerIn, drawing.GuardPlate}},
		{"guard bar", drawing.Facts{Swing: "out", Lock: "deadlatch", Guard: true, Tools: []string{"guard-bar-narrow"}},
			drawing.Lock, drawing.Out, []drawing.Part{drawing.Latch, drawing.GuardPlate}},
		{"bolt beats latch", drawing.Facts{Swing: "in", Lock: "mortise", Bolt: true}, drawing.Plan, drawing.In, []drawing.Part{drawing.Bolt}},
		{"magnet", drawing.Facts{Lock: "magnetic", Sensor: true}, drawing.Head, drawing.Out, []drawing.Part{drawing.Magnet, drawing.Sensor}},
		{"under the door", drawing.Facts{Swing: "in", Lever: true, Tools: []string{"under-door-lever"}}, drawing.Foot, drawing.In, []drawing.Part{drawing.Lever}},
		{"rods", drawing.Facts{Swing: "out", Pair: true, Lock: "exit-vertical-rod"}, drawing.Face, drawing.Out,
			[]drawing.Part{drawing.SecondLeaf, drawing.Rods, drawing.ExitBar}},
		{"room", drawing.Facts{Swing: "in", Lock: "swing-bar"}, drawing.Plan, drawing.In, []drawing.Part{drawing.SwingBar}},
		{"pair with a latch box", drawing.Facts{Swing: "out", Pair: true, Lock: "exit-rim"}, drawing.Plan, drawing.Out,
			[]drawing.Part{drawing.SecondLeaf, drawing.ExitBar}},
		{"pin partly in", drawing.Facts{Swing: "in", Lock: "deadlatch", Plunger: "partly"}, drawing.Plan, drawing.In,
			[]drawing.Part{drawing.Latch, drawing.PlungerPartly}},
		{"sliding", drawing.Facts{Swing: "sliding"}, drawing.Face, drawing.Out, []drawing.Part{drawing.SlidePanel, drawing.SlideHook}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			s := drawing.ForDoor(test.facts)
			if s.View != test.view || s.Swing != test.swing {
				t.Errorf("view %s, swing %s", s.View, s.Swing)
			}
			if diff := cmp.Diff(test.parts, s.Parts); diff != "" {
				t.Errorf("parts (-want +got):\n%s", diff)
			}
		})
	}
}

func TestForDoorSaysThatTheSwingIsUnknown(t *testing.T) {
	if alt := drawing.ForDoor(drawing.Facts{Lock: "spring-latch"}).Alt(); !strings.Contains(alt, "swing is not known") {
		t.Errorf("alt text hides it: %s", alt)
	}
}

func TestForDoorLeavesOutToolsThatCannotGoThere(t *testing.T) {
	s := drawing.ForDoor(drawing.Facts{Swing: "in", Lock: "spring-latch", Tools: []string{"shove-knife", "latch-film", "no-such-tool"}})
	if diff := cmp.Diff([]drawing.Tool{drawing.LatchFilm}, s.Tools); diff != "" {
		t.Errorf("tools (-want +got):\n%s", diff)
	}
}

func TestForAnyDoor(t *testing.T) {
	word := func(words ...string) *rapid.Generator[string] { return rapid.SampledFrom(words) }
	var tools []string
	for _, view := range []drawing.View{drawing.Plan, drawing.Lock, drawing.Face, drawing.Head, drawing.Foot} {
		for _, tool := range drawing.AllTools(view) {
			tools = append(tools, string(tool))
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		s := drawing.ForDoor(drawing.Facts{
			Swing: word("", "unknown", "out", "in", "sliding", "overhead").Draw(t, "swing"),
			Lock: word("", "unknown", "spring-latch", "deadlatch", "deadbolt", "mortise", "narrow-stile", "exit-rim",
				"exit-vertical-rod", "magnetic", "electric-strike", "swing-bar", "room-latch", "chain", "padlock").Draw(t, "lock"),
			Plunger: word("", "unseen", "none", "out", "partly", "in").Draw(t, "plunger"),
			Gap:     word("", "unknown", "tight", "normal", "loose").Draw(t, "gap"),
			Pair:    rapid.Bool().Draw(t, "pair"), Bolt: rapid.Bool().Draw(t, "bolt"), Guard: rapid.Bool().Draw(t, "guard"),
			Lever: rapid.Bool().Draw(t, "lever"), Thumbturn: rapid.Bool().Draw(t, "thumbturn"), Sensor: rapid.Bool().Draw(t, "sensor"),
			Tools: rapid.SliceOfN(rapid.SampledFrom(tools), 0, 2).Draw(t, "tools"),
		})
		for _, part := range s.Parts {
			if !drawing.Shows(s, part) {
				t.Errorf("%s has no place in %+v", part, s)
			}
		}
		for _, tool := range s.Tools {
			if why := drawing.Misfit(s, tool); why != "" {
				t.Errorf("%s %s in %+v", tool, why, s)
			}
		}
		checkLayout(t, s)
		if l := drawing.LayOut(s); l.Placed != l.Wanted {
			t.Errorf("%d of %d labels found room in %+v", l.Placed, l.Wanted, s)
		}
	})
}
