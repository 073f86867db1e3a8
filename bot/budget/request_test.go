package budget_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"kitbell/bot/budget"
	"kitbell/bot/kit"
)

// A wish for every kit is one for each of the eleven that ride; the goods are
// those of "why eleven at $118?".
func TestWishForEveryKit(t *testing.T) {
	b := tarnHarbor()
	b.Asks = []budget.Ask{{Key: "w1", Item: "under-door-lever", PerKit: 1, Why: "Ours bend.", Crews: 4}}
	l, ok := build(t, b).Line("wish/2028/w1")
	want := budget.Sums{Goods: 11 * 118_00, Shipping: 77_88, Total: 1375_88}
	if !ok || l.Quantity != 11 || l.Each != 118_00 || l.Sums != want || l.Why != "Ours bend. 4 crews ask for it." {
		t.Errorf("%+v", l)
	}
}

// SCENARIO: E5 and T6 are not yet converted to version 3, which raised the film to
// two and added the utility key.
func TestConversion(t *testing.T) {
	b := tarnHarbor()
	r := build(t, b)
	var got []string
	for _, l := range r.Lines {
		if l.Kind == budget.Conversion {
			got = append(got, l.Key)
			if l.Quantity != 2 || len(l.Kits) != 2 || l.Kits[0].Unit != "engine-5" || l.Kits[1].Unit != "tower-6" {
				t.Errorf("%+v", l)
			}
		}
	}
	if diff := cmp.Diff([]string{"list/2028/latch-film", "list/2028/utility-key"}, got); diff != "" {
		t.Error(diff)
	}
	b.Kits[8].List = 1 // one film as in version 2, and no lever: the lines stay apart by kit
	if l, _ := build(t, b).Line("list/2028/under-door-lever"); l.Quantity != 1 || len(l.Kits) != 1 {
		t.Errorf("%+v", l)
	}
	b.Kits[8].List = 9
	if p := besideSilence(build(t, b)); len(p) != 1 || p[0].What != budget.NoList || p[0].Kit != b.Kits[8].ID {
		t.Errorf("%+v", p)
	}
}

// Where kits get different numbers of an item, each number has a line.
func TestConversionByCount(t *testing.T) {
	b := onList(tarnHarbor(), "wood-wedge")
	b.Lists = []kit.List{
		{Version: 1}, {Version: 2, Lines: []kit.ListLine{{Item: "wood-wedge", Qty: 3, Consumable: true}}},
		{Version: 4, Lines: []kit.ListLine{{Item: "wood-wedge", Qty: 5, Consumable: true}}}, // tried, and taken back
		{Version: 3, Lines: []kit.ListLine{{Item: "wood-wedge", Qty: 4, Consumable: true}}},
	}
	b.Kits = []budget.Kit{{ID: "k01", Unit: "engine-1", List: 1}, {ID: "k02", Unit: "ladder-1", List: 2}, {ID: "k12", List: 2}, {ID: "k13", List: 4}}
	got := map[string]int{}
	for _, l := range build(t, b).Lines {
		got[l.Key] = l.Quantity
	}
	if diff := cmp.Diff(map[string]int{"list/2028/wood-wedge/4": 4, "list/2028/wood-wedge/1": 2}, got); diff != "" {
		t.Error(diff)
	}
}

func TestReplacementByAge(t *testing.T) {
	b := onList(tarnHarbor(), "air-wedge", "steel-wedge")
	b.Years = 5
	for i := range b.Items {
		if b.Items[i].ID == "air-wedge" {
			b.Items[i].Life = 2
		}
	}
	for kitID, since := range map[string]string{
		"k01": "2018-07-01", // overdue since 2021: the first year, then every second
		"k02": "2026-09-01", // its two years end in September 2028: fiscal year 2029
		"k12": "2026-09-01", // on a shelf it ages too
	} {
		b.Pieces = append(b.Pieces, kit.Piece{Kit: kitID, Item: "air-wedge", Since: on(since)})
	}
	r := build(t, b)
	got := map[int]int{}
	for _, l := range r.Lines {
		if l.Kind == budget.ByAge {
			got[l.Year] = l.Quantity
		}
	}
	if diff := cmp.Diff(map[int]int{2028: 1, 2029: 2, 2030: 1, 2031: 2, 2032: 1}, got); diff != "" {
		t.Error(diff)
	}
	if p := besideSilence(r); len(p) != 1 || p[0].What != budget.NoAge || !strings.Contains(p[0].Say, "kits k03, k04") {
		t.Errorf("%+v", p)
	}
}

// Pieces that are renewed in a year are not expected to be lost in it as well.
func TestWearBesideAge(t *testing.T) {
	b := onList(tarnHarbor(), "air-wedge")
	for i := range b.Items {
		b.Items[i].Life = 3
	}
	for _, k := range b.Kits[:6] {
		b.Pieces = append(b.Pieces, kit.Piece{Kit: k.ID, Item: "air-wedge", Since: on("2024-09-01")})
	}
	for _, k := range b.Kits[6:] {
		b.Pieces = append(b.Pieces, kit.Piece{Kit: k.ID, Item: "air-wedge", Since: on("2026-09-01")})
	}
	b.Records = []budget.Record{gone("2026-02-01", "k01", "engine-1", "air-wedge", budget.Lost, 11)}
	r := build(t, b)
	wear, _ := r.Line("wear/2028/air-wedge")
	age, _ := r.Line("age/2028/air-wedge")
	if age.Quantity != 6 || len(wear.Kits) != 5 || wear.Expected != 2 { // 11.5 in 27 kit-years, times 5
		t.Errorf("%+v\n%+v", age, wear)
	}
	if strings.Contains(wear.Why, "No service life") {
		t.Errorf("%q", wear.Why)
	}
}

// No money is asked for on an assumption alone.
func TestNothingWithoutRecords(t *testing.T) {
	b := tarnHarbor()
	for i := range b.Kits {
		b.Kits[i].List = b.InForce
	}
	b.Since = time.Time{}
	if r := build(t, b); len(r.Lines) != 0 || len(r.Forecasts) != 25 || r.Total() != (budget.Total{}) {
		t.Errorf("%+v", r.Lines)
	}
}

func TestPrices(t *testing.T) {
	paid := budget.Record{Date: on("2026-10-01"), Kit: "k01", Unit: "engine-1", Item: "air-wedge", Kind: budget.Paid, Count: 2, Cents: 90_01, Line: 52}
	older := paid
	older.Date, older.Cents = on("2026-09-01"), 99_00
	unpriced := paid
	unpriced.Date, unpriced.Count = on("2026-11-01"), 0
	own := budget.Price{Cents: 40_00, Source: budget.AskersPrice, From: "a quote"}
	for _, row := range []struct {
		name    string
		item    string
		records []budget.Record
		want    budget.Price
	}{
		{"the last receipt with a count, half a cent up", "air-wedge", []budget.Record{paid, older, unpriced},
			budget.Price{Cents: 45_01, Source: budget.Receipt, Line: 52, On: "2026-10-01"}},
		{"the list", "air-wedge", nil, budget.Price{Cents: 44_00, Source: budget.ListPrice, From: "invented"}},
		{"the asker", "door-mirror", nil, own},
	} {
		b := tarnHarbor()
		b.Records, b.Asks = row.records, []budget.Ask{{Key: "w", Item: row.item, PerKit: 1, Price: own}}
		r := build(t, b)
		l, _ := r.Line("wish/2028/w")
		if l.Price != row.want || l.Each != row.want.Cents {
			t.Errorf("%s: %+v", row.name, l.Price)
		}
		if row.want.Source == budget.Receipt {
			if behind := r.Behind(l); len(behind) != 1 || behind[0] != paid {
				t.Errorf("%s: %+v", row.name, behind)
			}
		}
	}
}

// Escalation is by the year, and each year's price is rounded before the next.
func TestEscalation(t *testing.T) {
	b := tarnHarbor()
	b.Terms.Tax = budget.RateOf(0.0825)
	for year := 2028; year <= 2030; year++ {
		b.Asks = append(b.Asks, budget.Ask{Own: true, Title: "training board", Pieces: 2, Year: year, Price: budget.Price{Cents: 99_95, Source: budget.AskersPrice}})
	}
	r := build(t, b)
	// By hand: 99.95, then 102.9485 → 102.95, then 106.0385 → 106.04.
	for i, want := range []budget.Sums{
		{Goods: 199_90, Shipping: 11_99, Tax: 16_49, Total: 228_38},
		{Goods: 205_90, Shipping: 12_35, Tax: 16_99, Total: 235_24},
		{Goods: 212_08, Shipping: 12_72, Tax: 17_50, Total: 242_30},
	} {
		year := 2028 + i
		got := budget.Sums{}
		for _, l := range r.Lines {
			if l.Year == year && l.Kind == budget.OwnLine {
				got = l.Sums
			}
		}
		if got != want {
			t.Errorf("%d: %+v, want %+v", year, got, want)
		}
	}
	if got := r.OfKind(budget.OwnLine).Total; got != 228_38+235_24+242_30 {
		t.Errorf("own lines: %d", got)
	}
}

// besideSilence are a request's problems but for years without records, which a
// department without any has too.
func besideSilence(r budget.Request) []budget.Problem {
	return slices.DeleteFunc(slices.Clone(r.Problems), func(p budget.Problem) bool { return p.What == budget.SilentYear })
}

// drawBasis draws a request's basis, bad input and all.
func drawBasis(t *rapid.T) budget.Basis {
	b := onList(tarnHarbor(), "air-wedge", "latch-film", "steel-wedge", "wood-wedge")
	b.Records = drawRecords(t)
	b.Terms.Tax = budget.Rate(rapid.Int64Range(0, 200_000).Draw(t, "tax"))
	b.Terms.Shipping = budget.Rate(rapid.Int64Range(0, 200_000).Draw(t, "shipping"))
	b.Years = rapid.IntRange(1, 6).Draw(t, "years")
	b.Stock = map[string]int{"air-wedge": rapid.IntRange(-1, 3).Draw(t, "stock")}
	for i := range b.Items {
		b.Items[i].Life = rapid.IntRange(0, 4).Draw(t, "life")
	}
	for _, k := range b.Kits {
		if rapid.Bool().Draw(t, "dated") {
			b.Pieces = append(b.Pieces, kit.Piece{Kit: k.ID, Item: "air-wedge", Since: on("2023-01-01").AddDate(0, rapid.IntRange(0, 48).Draw(t, "month"), 0)})
		}
	}
	for range rapid.IntRange(0, 6).Draw(t, "asks") {
		b.Asks = append(b.Asks, budget.Ask{
			Key: rapid.SampledFrom([]string{"a", "b", ""}).Draw(t, "key"), Own: rapid.Bool().Draw(t, "own"),
			Item:   rapid.SampledFrom([]string{"", "air-wedge", "thumbturn-fork", "new-thing"}).Draw(t, "item"),
			Title:  rapid.SampledFrom([]string{"", "board"}).Draw(t, "title"),
			PerKit: rapid.IntRange(-1, 2).Draw(t, "per kit"), Pieces: rapid.IntRange(-1, 5).Draw(t, "pieces"),
			Units: rapid.SampledFrom([][]string{nil, {"engine-1"}, {"engine-7", "engine-11"}, {"engine-7", "tower-6", "engine-7"}}).Draw(t, "units"),
			Year:  rapid.SampledFrom([]int{0, 2028, 2029, 2040}).Draw(t, "year"),
			Price: budget.Price{Cents: rapid.Int64Range(-1, 99_99).Draw(t, "cents"), Source: rapid.SampledFrom([]budget.PriceSource{budget.NoSource, budget.AskersPrice}).Draw(t, "source")},
		})
	}
	return b
}

// In every view the cents add up to the same, and what is excluded is in none.
func TestTotalsAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBasis(t)
		r, err := budget.Build(b)
		if err != nil {
			t.Fatal(err)
		}
		var lines, byYear, byKind budget.Sums
		keys := map[string]bool{}
		for _, l := range r.Lines {
			keys[l.Key] = true
			lines = lines.Plus(l.Sums)
			if l.Excluded != "" && l.Sums != (budget.Sums{}) {
				t.Fatalf("excluded, with sums: %+v", l)
			}
			if l.Excluded == "" && (l.Sums.Goods != int64(l.Quantity)*l.Each || l.Sums.Total != l.Sums.Goods+l.Sums.Shipping+l.Sums.Tax || l.Sums.Goods <= 0) {
				t.Fatalf("%+v", l)
			}
			if l.Excluded == "" && l.Quantity != l.PerKit*len(l.Kits)+l.Pieces+l.Expected+l.Spares {
				t.Fatalf("%+v", l)
			}
		}
		for year := b.Year; year < b.Year+20; year++ {
			byYear = byYear.Plus(r.OfYear(year).Sums)
		}
		for _, kind := range budget.LineKinds() {
			byKind = byKind.Plus(r.OfKind(kind).Sums)
		}
		if total := r.Total().Sums; lines != total || byYear != total || byKind != total {
			t.Fatalf("%+v by line, %+v by year, %+v by kind, %+v in all", lines, byYear, byKind, total)
		}
		if len(keys) != len(r.Lines) {
			t.Fatal("two lines have one key")
		}
		kinds := budget.LineKinds()
		place := func(l budget.Line) string { return fmt.Sprintf("%d/%d", l.Year, slices.Index(kinds, l.Kind)) }
		if !slices.IsSortedFunc(r.Lines, func(a, b budget.Line) int { return strings.Compare(place(a), place(b)) }) {
			t.Fatal("lines are out of order")
		}
	})
}

// The same records in another order make the same request.
func TestBuildIgnoresOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBasis(t)
		one, err := budget.Build(b)
		if err != nil {
			t.Fatal(err)
		}
		if len(b.Records) > 0 {
			b.Records = rapid.Permutation(b.Records).Draw(t, "records")
		}
		other, err := budget.Build(b)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(one, other); diff != "" {
			t.Fatal(diff)
		}
	})
}
