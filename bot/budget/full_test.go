package budget_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"kitbell/bot/budget"
	"kitbell/bot/kit"
	"kitbell/bot/sheet"
)

// fullBasis has lines of every kind, three that are in no total, receipts, and rates
// that leave half cents.
func fullBasis() budget.Basis {
	b := tarnHarbor()
	b.Terms.Tax = budget.RateOf(0.0825)
	b.Records = demoPast(b)
	b.Records = append(b.Records,
		budget.Record{Date: on("2026-10-01"), Kit: "k01", Unit: "engine-1", Item: "latch-film", Kind: budget.Paid, Count: 3, Cents: 62_50, Line: 52},
		budget.Record{Date: on("2026-11-01"), Kit: "k03", Unit: "engine-2", Item: "under-door-lever", Kind: budget.Absent, Count: 1, Entry: "use/2026-11-01/7"})
	for i := range b.Items {
		if b.Items[i].ID == "air-wedge" {
			b.Items[i].Life = 2
		}
	}
	for _, k := range b.Kits {
		b.Pieces = append(b.Pieces, kit.Piece{Kit: k.ID, Item: "air-wedge", Since: on("2025-09-01")})
	}
	b.Asks = []budget.Ask{
		{Key: "lever", Item: "under-door-lever", PerKit: 1, Pieces: 2, Why: "Ours bend on heavy doors.", Crews: 4},
		{Key: "fork", Item: "thumbturn-fork", PerKit: 1, Units: []string{"engine-7", "tower-6"}, Year: 2029},
		{Key: "board", Own: true, Title: "training board", Why: "One a platoon.", Pieces: 3, Price: budget.Price{Cents: 99_95, Source: budget.AskersPrice, From: "a quote"}},
		{Key: "paper", Own: true, Title: "printing", Pieces: 1, Year: 2030, Price: budget.Price{Cents: 10_05, Source: budget.AskersPrice}},
		{Key: "hazy", Own: true, Title: "something without a price", Pieces: 2},
		{Key: "late", Own: true, Title: "something for another year", Pieces: 2, Year: 2040, Price: budget.Price{Cents: 10_00, Source: budget.AskersPrice}},
		{Key: "minus", Own: true, Title: "fewer than none", Pieces: -2, Price: budget.Price{Cents: 10_00, Source: budget.AskersPrice}},
	}
	return b
}

// modelled is a request with the model's column.
func modelled(r budget.Request) budget.Request {
	worth := func(by float64) budget.WorthOf {
		return func(item string) (float64, float64) { return by * float64(len(item)) / 100, by * 0.01 }
	}
	return r.WithModel(budget.Model{Worth: worth(1), Draws: []budget.WorthOf{worth(0.5), worth(1), worth(2)}}, budget.Sample{Recorded: 31, Entries: 52})
}

func fullRequest(t testing.TB) budget.Request {
	t.Helper()
	r, err := budget.Build(fullBasis())
	if err != nil {
		t.Fatal(err)
	}
	return modelled(r)
}

// fullLife is a request that was handed in, with steps of every kind.
func fullLife(t testing.TB) budget.Submitted {
	t.Helper()
	f, err := budget.Submit(nil, fullRequest(t), "ines-okafor", on("2027-03-20"))
	if err != nil {
		t.Fatal(err)
	}
	cut := then(budget.Cut, "own/2028/board", 0, 0)
	bought := then(budget.Bought, "wish/2028/lever", 5, 620_00)
	bought.Order = "4711"
	all, refused := budget.Submissions([]budget.Step{
		budget.HandIn(f), then(budget.PartlyFunded, "wish/2028/lever", 8, 1000_00), cut, then(budget.Approved, "", 0, 0), bought,
		then(budget.InTheKits, "wish/2028/lever", 4, 0), then(budget.Corrected, "wish/2028/lever", 0, 120_00), then(budget.Corrected, "", 0, 0),
	})
	if len(refused) > 0 {
		t.Fatalf("%+v", refused)
	}
	return all[0]
}

// shown presents things in the demo's names.
func shown() budget.Presentation {
	return budget.Presentation{
		Department: "Tarn Harbor Fire Department", Paper: sheet.Letter, Made: on("2027-03-15"), Zone: time.UTC,
		Item:   func(id string) string { return strings.ReplaceAll(id, "-", " ") },
		Unit:   func(id string) string { return strings.ReplaceAll(id, "-", " ") },
		Member: func(id string) string { return "Lt. Ines Okafor" },
	}
}

// fataler is a test or a property.
type fataler interface {
	Fatal(...any)
	Fatalf(string, ...any)
}

func xlsx(t fataler, book sheet.Workbook) []byte {
	var out bytes.Buffer
	if err := sheet.WriteXLSX(&out, book); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}
