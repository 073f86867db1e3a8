package budget_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"kitbell/bot/budget"
)

func TestTally(t *testing.T) {
	records := []budget.Record{
		gone("2027-07-01", "k02", "ladder-1", "air-wedge", budget.Lost, 1),
		gone("2027-06-30", "k01", "engine-1", "air-wedge", budget.Broken, 2),
		gone("2026-08-01", "k01", "engine-1", "latch-film", budget.UsedUp, 3),
		{Date: on("2026-09-01"), Kit: "k01", Unit: "engine-1", Item: "latch-film", Kind: budget.Paid, Count: 3, Cents: 57_00},
	}
	for _, row := range []struct {
		name string
		key  func(budget.Record) string
		want map[string]budget.Counts
	}{
		{"item", budget.ByItem, map[string]budget.Counts{"air-wedge": {Lost: 1, Broken: 2}, "latch-film": {UsedUp: 3, Bought: 3, Cents: 57_00}}},
		{"kit", budget.ByKit, map[string]budget.Counts{"k01": {Broken: 2, UsedUp: 3, Bought: 3, Cents: 57_00}, "k02": {Lost: 1}}},
		{"unit", budget.ByUnit, map[string]budget.Counts{"engine-1": {Broken: 2, UsedUp: 3, Bought: 3, Cents: 57_00}, "ladder-1": {Lost: 1}}},
		{"year", budget.ByYear(july), map[string]budget.Counts{"2027": {Broken: 2, UsedUp: 3, Bought: 3, Cents: 57_00}, "2028": {Lost: 1}}},
	} {
		got := map[string]budget.Counts{}
		for _, g := range budget.Tally(records, row.key) {
			got[g.Key] = g.Counts
		}
		if diff := cmp.Diff(row.want, got); diff != "" {
			t.Errorf("by %s: %s", row.name, diff)
		}
	}
}

// However records are grouped, the counts of the groups are the counts of all.
func TestTallyLosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		records := drawRecords(t)
		for _, key := range []func(budget.Record) string{budget.ByItem, budget.ByKit, budget.ByUnit, budget.ByYear(july)} {
			var all []budget.Record
			for _, g := range budget.Tally(records, key) {
				all = append(all, g.Records...)
				if g.Counts != budget.Count(g.Records) {
					t.Fatalf("%s: %+v", g.Key, g.Counts)
				}
			}
			if budget.Count(all) != budget.Count(records) || len(all) != len(records) {
				t.Fatal("records are gone")
			}
		}
		for _, kind := range budget.Kinds() {
			sum := 0
			for _, r := range records {
				if r.Kind == kind {
					sum += r.Count
				}
			}
			if got := budget.Count(records).Of(kind); got != sum {
				t.Fatalf("%s: %d, want %d", kind, got, sum)
			}
		}
	})
}

// drawRecords draws some two years of records of the demo's kits.
func drawRecords(t *rapid.T) []budget.Record {
	units := []string{"engine-1", "ladder-1", "engine-2", "rescue-2", "engine-3"}
	var records []budget.Record
	for range rapid.IntRange(0, 40).Draw(t, "records") {
		k := rapid.IntRange(0, len(units)-1).Draw(t, "kit")
		records = append(records, budget.Record{
			Date: on("2025-04-01").AddDate(0, 0, rapid.IntRange(0, 700).Draw(t, "day")), Kit: "k0" + string(rune('1'+k)), Unit: units[k],
			Item:  rapid.SampledFrom([]string{"air-wedge", "latch-film", "steel-wedge", "wood-wedge"}).Draw(t, "item"),
			Kind:  rapid.SampledFrom(budget.Kinds()).Draw(t, "kind"),
			Count: rapid.IntRange(1, 4).Draw(t, "count"), Cents: rapid.Int64Range(0, 50_00).Draw(t, "cents"), Line: rapid.IntRange(0, 99).Draw(t, "line"),
		})
	}
	return records
}
