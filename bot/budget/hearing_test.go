package budget_test

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"kitbell/bot"
	"kitbell/bot/budget"
	"kitbell/bot/kit"
)

// "Why eleven at $118?"
func TestWhy(t *testing.T) {
	b := onList(tarnHarbor(), "under-door-lever")
	absent := gone("2026-10-01", "k03", "engine-2", "under-door-lever", budget.Absent, 1)
	b.Records = []budget.Record{absent, gone("2026-10-02", "k03", "engine-2", "under-door-lever", budget.Used, 1)}
	b.Asks = []budget.Ask{{Key: "w1", Item: "under-door-lever", PerKit: 1, Why: "Ours bend.", Crews: 4, Year: 2029}}
	r := build(t, b)
	found := r.Find(budget.Query{Quantity: 11, Cents: 118_00})
	if len(found) != 1 {
		t.Fatalf("%+v", found)
	}
	e, err := r.Why(found[0].Key)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"11: 1 for each of 11 kits.",
		"$118.00 each, by list price (invented); with 3 % a year, $121.54 in 2029.",
		"11 × $121.54 = $1,336.94.",
		"Shipping 6 %: $80.22. Tax 0 %: $0.00.",
		"Together $1,417.16.",
	}
	if diff := cmp.Diff(want, e.Steps); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]budget.Record{absent}, e.Records); diff != "" || e.Counts != (budget.Counts{Absent: 1}) || e.Forecast != nil {
		t.Errorf("%s %+v", diff, e)
	}
	if _, err := r.Why("none"); !errors.Is(err, bot.ErrNotFound) {
		t.Error(err)
	}
}

func TestWhyOfOtherLines(t *testing.T) {
	b := onList(tarnHarbor(), "air-wedge")
	b.Records = []budget.Record{
		gone("2026-10-01", "k03", "engine-2", "air-wedge", budget.Lost, 3),
		{Date: on("2026-10-08"), Item: "air-wedge", Kit: "k03", Unit: "engine-2", Kind: budget.Paid, Count: 1, Cents: 45_00, Line: 40},
	}
	b.Asks = []budget.Ask{{Key: "board", Own: true, Title: "training board"}}
	r := build(t, b)
	for key, want := range map[string][]string{
		"wear/2028/air-wedge":   {"2: 2 expected to go in the year, to the nearest piece.", "$45.00 each, by receipt of line 40 on 2026-10-08."},
		"spares/2028/air-wedge": {"1: 1 to hold as spares.", "$45.00 each, by receipt of line 40 on 2026-10-08."},
		"own/2028/board":        {"Nobody said how many.", "Nobody has a price for it.", "How many of the training board are wanted? Nobody said, so it is in no total."},
	} {
		e, err := r.Why(key)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, e.Steps[:len(want)]); diff != "" {
			t.Errorf("%s: %s", key, diff)
		}
		if known := e.Forecast != nil; known == (key == "own/2028/board") || len(e.Problems) == 1 == known {
			t.Errorf("%s: %+v", key, e)
		}
	}
}

// "What did we lose last year?"
func TestLosses(t *testing.T) {
	records := []budget.Record{
		gone("2026-10-01", "k03", "engine-2", "air-wedge", budget.Lost, 1),
		gone("2026-11-01", "k04", "rescue-2", "steel-wedge", budget.Broken, 2),
		gone("2026-11-01", "k04", "rescue-2", "air-wedge", budget.Used, 5),
		gone("2026-11-01", "k04", "rescue-2", "latch-film", budget.UsedUp, 5),
		gone("2025-10-01", "k03", "engine-2", "air-wedge", budget.Lost, 9),
	}
	var got []string
	for _, g := range budget.Losses(records, july, 2027) {
		got = append(got, fmt.Sprintf("%s %d, %d records", g.Key, g.Counts.Gone(), len(g.Records)))
	}
	if diff := cmp.Diff([]string{"steel-wedge 2, 1 records", "air-wedge 1, 1 records"}, got); diff != "" {
		t.Error(diff)
	}
}

// "What if we leave Station 7 out?" Station 7's kit is Engine 7's.
func TestWithoutStation7(t *testing.T) {
	b := onList(tarnHarbor(), "air-wedge")
	b.Asks = []budget.Ask{
		{Key: "all", Item: "air-wedge", PerKit: 1}, {Key: "seven", Item: "air-wedge", PerKit: 2, Units: []string{"engine-7"}},
		{Key: "board", Own: true, Title: "board", Pieces: 1, Price: budget.Price{Cents: 50_00, Source: budget.AskersPrice}},
	}
	r := build(t, b)
	less, err := r.Without("engine-7")
	if err != nil {
		t.Fatal(err)
	}
	d := budget.Compare(r, less)
	var got []string
	for _, l := range d.Lines {
		got = append(got, fmt.Sprintf("%s %d → %d", l.Key, l.Before.Quantity, l.After.Quantity))
	}
	if diff := cmp.Diff([]string{"wish/2028/all 11 → 10", "wish/2028/seven 2 → 0"}, got); diff != "" {
		t.Error(diff)
	}
	if saved := d.Saved(); saved.Goods != 3*44_00 || saved.Total != 46_64+93_28 {
		t.Errorf("%+v", saved)
	}
	for _, row := range []struct {
		d    budget.Difference
		want string
	}{
		{d, "$659.32 becomes $519.40: $139.92 less."},
		{budget.Compare(less, r), "$519.40 becomes $659.32: $139.92 more."},
		{budget.Compare(r, r), "$659.32 becomes $659.32: the same."},
	} {
		if got := row.d.Words("USD"); got != row.want {
			t.Errorf("%q, want %q", got, row.want)
		}
	}
	if back := budget.Compare(less, r).Lines; len(back) != 2 || back[1].Key != "wish/2028/seven" || back[1].Before.Quantity != 0 || back[1].After.Quantity != 2 {
		t.Errorf("%+v", back)
	}
	var said *bot.UserError
	if _, err := r.Without("boat-5"); !errors.As(err, &said) || said.Say != "boat-5 carries no kit in this request." {
		t.Error(err)
	}
}

// Leaving units out of a request is making it without them, but for the rates,
// which stay. So with a belief of its own for each item, both are one.
func TestWithoutIsBuildWithout(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBasis(t)
		for i := range b.Asks {
			b.Asks[i].Units = nil // else the smaller basis finds fault with the units that are gone
			b.Asks[i].Key = fmt.Sprint(i)
		}
		whole, err := budget.Build(b)
		if err != nil {
			t.Fatal(err)
		}
		units := rapid.SampledFrom([][]string{{"engine-7"}, {"engine-1", "ladder-1"}, {}}).Draw(t, "units")
		less, err := whole.Without(units...)
		if err != nil {
			t.Fatal(err)
		}
		fewer := b
		fewer.Kits = nil
		gone := map[string]bool{}
		for _, unit := range units {
			gone[unit] = true
		}
		for _, k := range b.Kits {
			if !gone[k.Unit] {
				fewer.Kits = append(fewer.Kits, k)
			}
		}
		fewer.Priors = map[string]budget.Prior{}
		for _, f := range whole.Forecasts { // the whole fleet's belief, less what the smaller one's records will add to it
			small, err := budget.Build(fewer)
			if err != nil {
				t.Fatal(err)
			}
			own, _ := small.Forecast(f.Item)
			fewer.Priors[f.Item] = budget.Prior{Gamma: budget.Gamma{Pieces: f.Belief.Pieces - float64(own.Counts.Gone()), KitYears: f.Belief.KitYears - own.KitYears}}
		}
		want, err := budget.Build(fewer)
		if err != nil {
			t.Fatal(err)
		}
		quantities := func(r budget.Request) map[string]int {
			all := map[string]int{}
			for _, l := range r.Lines {
				all[l.Key] = l.Quantity
			}
			return all
		}
		if diff := cmp.Diff(quantities(want), quantities(less)); diff != "" {
			t.Fatal(diff)
		}
	})
}

// Leaving more out never costs more.
func TestWithoutMoreCostsLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBasis(t)
		for i := range b.Asks {
			b.Asks[i].PerKit = max(0, b.Asks[i].PerKit) // an ask below none may be mended by what is left out
			b.Asks[i].Pieces = max(0, b.Asks[i].Pieces)
		}
		r, err := budget.Build(b)
		if err != nil {
			t.Fatal(err)
		}
		one, err := r.Without("engine-1")
		if err != nil {
			t.Fatal(err)
		}
		two, err := one.Without("tower-6")
		if err != nil {
			t.Fatal(err)
		}
		both, err := r.Without("engine-1", "tower-6")
		if err != nil {
			t.Fatal(err)
		}
		if one.Total().Sums.Total > r.Total().Sums.Total || two.Total().Sums.Total > one.Total().Sums.Total {
			t.Fatalf("%d, %d, %d", r.Total().Sums.Total, one.Total().Sums.Total, two.Total().Sums.Total)
		}
		if diff := cmp.Diff(both, two); diff != "" {
			t.Fatal(diff)
		}
	})
}

// bigBasis is a fleet of 33 kits with 30 items and ten years of records, two a
// year for every item of every kit.
func bigBasis() budget.Basis {
	b := tarnHarbor()
	b.Calendar, b.Since = july, on("2017-07-01")
	list := kit.List{Version: 1}
	for i := range 30 {
		id := fmt.Sprintf("item-%02d", i)
		list.Lines = append(list.Lines, kit.ListLine{Item: id, Qty: 1, Consumable: i%5 == 0})
		b.Items = append(b.Items, budget.Item{ID: id, Name: id, Life: i % 8, Price: budget.Price{Cents: 20_00 + int64(i), Source: budget.ListPrice}})
	}
	b.Lists, b.InForce, b.Kits, b.Units = []kit.List{list}, 1, nil, nil
	for k := range 33 {
		unit := fmt.Sprintf("rig-%d", k)
		b.Units = append(b.Units, budget.Unit{ID: unit, Name: unit})
		b.Kits = append(b.Kits, budget.Kit{ID: fmt.Sprintf("k%02d", k), Unit: unit, List: 1})
		for i, l := range list.Lines {
			b.Pieces = append(b.Pieces, kit.Piece{Kit: b.Kits[k].ID, Item: l.Item, Since: b.Since.AddDate(0, i, 0)})
			for half := range 19 {
				kind := budget.Kinds()[(k+i+half)%8]
				b.Records = append(b.Records, budget.Record{
					Date: b.Since.AddDate(0, 6*half, k), Kit: b.Kits[k].ID, Unit: unit, Item: l.Item, Kind: kind, Count: 1, Cents: 19_00, Line: len(b.Records) + 1,
				})
			}
		}
	}
	b.Asks = []budget.Ask{{Key: "w", Item: "item-07", PerKit: 1}}
	return b
}

func BenchmarkBuild(b *testing.B) {
	basis := bigBasis()
	for b.Loop() {
		if _, err := budget.Build(basis); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(len(basis.Records)), "records")
}

func BenchmarkHearing(b *testing.B) {
	basis := bigBasis()
	r, err := budget.Build(basis)
	if err != nil {
		b.Fatal(err)
	}
	b.Run("why", func(b *testing.B) {
		for b.Loop() {
			if _, err := r.Why("wish/2028/w"); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("without", func(b *testing.B) {
		for b.Loop() {
			less, err := r.Without("rig-7", "rig-8")
			if err != nil {
				b.Fatal(err)
			}
			budget.Compare(r, less)
		}
	})
	b.Run("lost", func(b *testing.B) {
		for b.Loop() {
			budget.Losses(basis.Records, basis.Calendar, 2026)
		}
	})
	b.Run("submit", func(b *testing.B) {
		for b.Loop() {
			if _, err := budget.Submit(nil, r, "ines-okafor", time.Unix(1, 0)); err != nil {
				b.Fatal(err)
			}
		}
	})
}
