package kit_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot/kit"
)

func stopUses(steps ...kit.StopUseStep) []kit.StopUse {
	return kit.StopUses(steps, func(int) (string, time.Time) { return "ines-okafor", noon })
}

// Common practice, no source: a tool under stop-use is not used until somebody
// has looked, and a lot only binds the pieces that belong to it.
func TestStopUseLeft(t *testing.T) {
	asked := kit.StopUseStep{Key: "a", What: kit.StopAsked, Item: "latch-film", Lot: "7"}
	called := kit.StopUseStep{Key: "a", What: kit.StopCalled}
	answer := func(n int) kit.StopUseStep {
		return kit.StopUseStep{Key: "a", What: kit.StopAnswered, Place: kit.KitPlace("k07"), Count: n}
	}
	whole := kit.StopUseStep{Key: "a", What: kit.StopCalled, Item: "latch-film"}
	for _, row := range []struct {
		name  string
		steps []kit.StopUseStep
		want  int // of 2; -1: not concerned
	}{
		{"asked for only", []kit.StopUseStep{asked}, -1},
		{"called, nobody looked", []kit.StopUseStep{asked, called}, 0},
		{"one of the lot pulled", []kit.StopUseStep{asked, called, answer(1)}, 1},
		{"none of the lot here", []kit.StopUseStep{asked, called, answer(0)}, 2},
		{"more pulled than there are", []kit.StopUseStep{asked, called, answer(9)}, 0},
		{"every piece, whatever was pulled", []kit.StopUseStep{whole, answer(0)}, 0},
		{"lifted", []kit.StopUseStep{asked, called, {Key: "a", What: kit.StopLifted}}, -1},
		{"an answer to nothing", []kit.StopUseStep{answer(1)}, -1},
	} {
		got := -1
		for _, u := range stopUses(row.steps...) {
			if u.Concerns("k07", "latch-film") {
				got = u.Left("k07", 2)
			}
		}
		if got != row.want {
			t.Errorf("%s: %d may be used, want %d", row.name, got, row.want)
		}
	}
}

func TestStopUseOnlyForKitsNamed(t *testing.T) {
	u := stopUses(kit.StopUseStep{Key: "a", What: kit.StopCalled, Item: "latch-film", Kits: []string{"k07"}})[0]
	if !u.Concerns("k07", "latch-film") || u.Concerns("k01", "latch-film") || u.Concerns("k07", "door-strap") {
		t.Errorf("concerns the wrong kits: %+v", u)
	}
}

func TestUnanswered(t *testing.T) {
	places := []string{kit.KitPlace("k01"), kit.ShelfPlace("station-1"), kit.Reserve}
	u := stopUses(kit.StopUseStep{Key: "a", What: kit.StopCalled, Item: "latch-film"},
		kit.StopUseStep{Key: "a", What: kit.StopAnswered, Place: kit.Reserve},
		kit.StopUseStep{Key: "b", What: kit.StopAnswered, Place: kit.KitPlace("k01")})[0]
	if diff := cmp.Diff(places[:2], u.Unanswered(places)); diff != "" {
		t.Error(diff)
	}
}
