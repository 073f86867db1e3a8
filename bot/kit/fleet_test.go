package kit_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"kitbell/bot/kit"
)

func onUnit(unit string) kit.Place { return kit.Place{Kind: kit.OnUnit, At: unit} }

func twoKits() []kit.Kit {
	return []kit.Kit{{ID: "k01", List: 3, Place: onUnit("engine-1")}, {ID: "k02", List: 3, Place: onUnit("engine-2")}}
}

func TestFleet(t *testing.T) {
	away := kit.Place{Kind: kit.Away}
	for _, row := range []struct {
		name  string
		moves []kit.Move
		on    map[string][]string
	}{
		{"as the file says", nil, map[string][]string{"engine-1": {"k01"}, "engine-2": {"k02"}, "engine-11": nil}},
		{"onto the reserve", []kit.Move{{Kit: "k01", To: onUnit("engine-11")}}, map[string][]string{"engine-1": nil, "engine-11": {"k01"}}},
		{"two on one rig", []kit.Move{{Kit: "k02", To: onUnit("engine-1")}}, map[string][]string{"engine-1": {"k01", "k02"}, "engine-2": nil}},
		{"there and back", []kit.Move{{Kit: "k01", To: onUnit("engine-11")}, {Kit: "k01", To: onUnit("engine-1")}}, map[string][]string{"engine-1": {"k01"}, "engine-11": nil}},
		{"away", []kit.Move{{Kit: "k01", To: away, Due: noon}}, map[string][]string{"engine-1": nil}},
		{"a kit the file dropped", []kit.Move{{Kit: "k99", To: onUnit("engine-1")}}, map[string][]string{"engine-1": {"k01"}}},
	} {
		t.Run(row.name, func(t *testing.T) {
			fleet := kit.NewFleet(twoKits(), row.moves)
			for unit, want := range row.on {
				var got []string
				for _, k := range fleet.On(unit) {
					got = append(got, k.ID)
				}
				if diff := cmp.Diff(want, got); diff != "" {
					t.Errorf("on %s: %s", unit, diff)
				}
			}
		})
	}
}

func TestFleetDueIsOfTheLastMove(t *testing.T) {
	moves := []kit.Move{{Kit: "k01", To: kit.Place{Kind: kit.Away}, Due: noon}}
	if got := kit.NewFleet(twoKits(), moves).Due("k01"); !got.Equal(noon) {
		t.Errorf("away: due %v, want %v", got, noon)
	}
	moves = append(moves, kit.Move{Kit: "k01", To: onUnit("engine-1")})
	if got := kit.NewFleet(twoKits(), moves).Due("k01"); !got.IsZero() {
		t.Errorf("back: due %v, want none", got)
	}
}

// A kit is never in two places and never lost, whatever is moved where.
func TestFleetKeepsEveryKitOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		units := []string{"engine-1", "engine-2", "engine-11"}
		var moves []kit.Move
		for range rapid.IntRange(0, 12).Draw(t, "moves") {
			moves = append(moves, kit.Move{
				Kit: rapid.SampledFrom([]string{"k01", "k02"}).Draw(t, "kit"),
				To:  onUnit(rapid.SampledFrom(units).Draw(t, "unit")),
			})
		}
		fleet, seen := kit.NewFleet(twoKits(), moves), map[string]int{}
		for _, u := range units {
			for _, k := range fleet.On(u) {
				seen[k.ID]++
			}
		}
		if diff := cmp.Diff(map[string]int{"k01": 1, "k02": 1}, seen); diff != "" {
			t.Fatal(diff)
		}
	})
}
