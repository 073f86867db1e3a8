package kit_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"kitbell/bot/kit"
)

// Making the changes to a kit of the old list gives one of the new list.
func TestChangesLeadFromListToList(t *testing.T) {
	draw := func(t *rapid.T, name string) kit.List {
		var l kit.List
		for _, item := range []string{"a", "b", "c", "d"} {
			if n := rapid.IntRange(0, 3).Draw(t, name+item); n > 0 {
				l.Lines = append(l.Lines, kit.ListLine{Item: item, Qty: n})
			}
		}
		return l
	}
	pieces := func(l kit.List) map[string]int {
		all := map[string]int{}
		for _, line := range l.Lines {
			all[line.Item] = line.Qty
		}
		return all
	}
	rapid.Check(t, func(t *rapid.T) {
		old, new := draw(t, "old "), draw(t, "new ")
		have := pieces(old)
		for _, c := range kit.Changes(old, new) {
			if have[c.Item] != c.From || c.From == c.To {
				t.Fatalf("%+v of a kit with %d", c, have[c.Item])
			}
			have[c.Item] = c.To
			if c.To == 0 {
				delete(have, c.Item)
			}
		}
		if diff := cmp.Diff(pieces(new), have); diff != "" {
			t.Fatal(diff)
		}
	})
}
