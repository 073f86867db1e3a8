package budget_test

import (
	"testing"

	"pgregory.net/rapid"

	"kitbell/bot/budget"
	"kitbell/bot/kit"
	"kitbell/testdata/demo"
)

// demoPast are the records of the demo department's seeded year of queue lines.
func demoPast(b budget.Basis) []budget.Record {
	histories := map[int][]kit.Change{}
	for _, turn := range demo.History(department(), b.Now) {
		for _, change := range turn.Changes {
			if c, ok := change.(kit.Change); ok {
				histories[c.New.Number] = append(histories[c.New.Number], c)
			}
		}
	}
	consumable := func(id string) bool { item, _ := department().Item(id); return item.Consumable }
	reader := budget.LineReader{Calendar: b.Calendar, Now: b.Now, Consumable: consumable}
	var records []budget.Record
	for _, history := range histories {
		records = append(records, reader.Records(history)...)
	}
	return records
}

// The demo's year has 31 lines; each that is not about dirt says once what went.
func TestDemoPast(t *testing.T) {
	b := tarnHarbor()
	b.Since = on("2026-03-08")
	b.Records = demoPast(b)
	lines := map[int]bool{}
	for _, r := range b.Records {
		if r.Kind.Gone() && lines[r.Line] {
			t.Errorf("line %d says twice what went", r.Line)
		}
		lines[r.Line] = lines[r.Line] || r.Kind.Gone()
	}
	if c := budget.Count(b.Records); c.Lost == 0 || c.UsedUp == 0 || c.WornOut == 0 || c.DaysShort == 0 || len(lines) > 31 {
		t.Errorf("%+v of %d lines", c, len(lines))
	}
	r := build(t, b)
	for _, l := range r.Lines {
		if l.Why == "" || l.Excluded != "" {
			t.Errorf("%+v", l)
		}
	}
	if len(r.Problems) != 0 || r.OfYear(2028).Lines == 0 || r.OfYear(2030).Lines == 0 {
		t.Errorf("%+v", r.Problems)
	}
}

// Behind each line that goes by wear stand the records that its forecast counts,
// all of its item, in the order of time; behind each receipt's price its payment.
func TestEvidence(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r, err := budget.Build(drawBasis(t))
		if err != nil {
			t.Fatal(err)
		}
		cited := map[int]bool{}
		for _, l := range r.Lines {
			records := r.Behind(l)
			for i, rec := range records {
				cited[l.Evidence[i]] = true
				if rec.Item != l.Item || i > 0 && rec.Date.Before(records[i-1].Date) {
					t.Fatalf("%s rests on %+v", l.Key, rec)
				}
			}
			got := budget.Count(records)
			f, _ := r.Forecast(l.Item)
			switch l.Kind {
			case budget.ByWear, budget.Consumables, budget.SpareParts:
				if got.Gone() != f.Counts.Gone() || got.Gone() == 0 {
					t.Fatalf("%s: %+v, forecast %+v", l.Key, got, f.Counts)
				}
			case budget.ByAge:
				if got.Gone() != 0 {
					t.Fatalf("%s: %+v", l.Key, got)
				}
			}
			if paid := got.Bought > 0; paid != (l.Price.Source == budget.Receipt) {
				t.Fatalf("%s: %+v by %q", l.Key, got, l.Price.Source)
			}
		}
		if len(cited) != len(r.Records) {
			t.Fatalf("%d records, %d cited", len(r.Records), len(cited))
		}
	})
}
