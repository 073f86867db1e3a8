package budget_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot/budget"
)

// Counts first: eleven kits, two years, three lost. By hand: belief 3.5 pieces in
// 5 + 22 kit-years, 1.43 a year for eleven kits, 0.137 in 35 days; of the year's negative
// binomial P(X<=4) is 0.964 and P(X<=5) 0.988.
func TestForecastByHand(t *testing.T) {
	b := onList(tarnHarbor(), "air-wedge")
	b.Stock = map[string]int{"air-wedge": 1}
	for _, day := range []string{"2025-05-01", "2026-02-01", "2027-01-01"} {
		b.Records = append(b.Records, gone(day, "k01", "engine-1", "air-wedge", budget.Lost, 1))
	}
	r := build(t, b)
	f, _ := r.Forecast("air-wedge")
	near := func(got, want float64) bool { return got > want-0.02 && got < want+0.02 }
	if f.Counts.Lost != 3 || f.Months != 24 || !near(f.KitYears, 22) || !near(f.Year.Mean, 1.43) || !near(f.Lead.Mean, 0.137) || f.Plain != 1 || f.Hold != 1 {
		t.Errorf("%+v", f)
	}
	if got := f.Words(); got != "Lost 3 in 24 months, hold 1." {
		t.Errorf("%q", got)
	}
	wear, _ := r.Line("wear/2028/air-wedge")
	if wear.Quantity != 1 || wear.Why != "Lost 3 in 24 months. In a year about 1.4 are expected of 11 kits (0 to 5), an assumed start counted in. No service life is given, so only wear counts." {
		t.Errorf("%+v", wear)
	}
	if _, asked := r.Line("spares/2028/air-wedge"); asked {
		t.Error("the one on the shelf is enough")
	}
	if diff := cmp.Diff(b.Records, r.Behind(wear)); diff != "" {
		t.Error(diff)
	}
}

// With two on record the doubt about the rate asks for one more than the rate
// alone; they are bought once, in the first year, less what is on the shelf.
func TestSparesLine(t *testing.T) {
	b := onList(tarnHarbor(), "air-wedge")
	b.Terms.Protection, b.Terms.LeadDays = 0.99, 120
	b.Records = []budget.Record{gone("2026-02-01", "k01", "engine-1", "air-wedge", budget.Lost, 5)}
	r := build(t, b)
	f, _ := r.Forecast("air-wedge")
	var lines []budget.Line
	for _, l := range r.Lines {
		if l.Kind == budget.SpareParts {
			lines = append(lines, l)
		}
	}
	// By hand: mean 5.5 / 27 × 11 × 120 / 365.25 = 0.736; of the Poisson P(X<=3) is
	// 0.993, of the negative binomial P(X<=3) is 0.988 and P(X<=4) 0.997.
	if f.Plain != 3 || f.Hold != 4 || len(lines) != 1 || lines[0].Year != 2028 || lines[0].Spares != 4 || lines[0].Quantity != 4 {
		t.Errorf("%+v\n%+v", f, lines)
	}
	b.Stock = map[string]int{"air-wedge": 3}
	if l, _ := build(t, b).Line("spares/2028/air-wedge"); l.Quantity != 1 || !strings.Contains(l.Why, "on the shelf: 3") {
		t.Errorf("%+v", l)
	}
}

// What is counted begins where records, the item on the list and the kit do.
func TestExposure(t *testing.T) {
	year := 365.25 * 24 * time.Hour
	for _, row := range []struct {
		name  string
		item  string
		since func(b *budget.Basis)
		lost  int
		years float64
	}{
		{"eleven kits, two years", "air-wedge", func(*budget.Basis) {}, 2, 22},
		{"records begin a year ago", "air-wedge", func(b *budget.Basis) { b.Since = b.Now.Add(-year) }, 1, 11},
		{"the item came a year ago", "air-wedge", func(b *budget.Basis) { b.Items[0].Since = b.Now.Add(-year) }, 1, 11},
		{"a kit came a year ago", "air-wedge", func(b *budget.Basis) { b.Kits[0].Since = b.Now.Add(-year) }, 2, 21},
		{"two kits do not have it", "utility-key", func(*budget.Basis) {}, 0, 18},
		{"nobody knows a kit's list", "air-wedge", func(b *budget.Basis) { b.Kits[0].List = 9 }, 2, 22},
	} {
		b := onList(tarnHarbor(), row.item)
		b.Items = []budget.Item{{ID: row.item}}
		b.Since = b.Now.Add(-2 * year)
		b.Records = []budget.Record{gone("2026-02-01", "k01", "engine-1", "air-wedge", budget.Lost, 1), gone("2026-12-01", "k01", "engine-1", "air-wedge", budget.Lost, 1)}
		row.since(&b)
		f, _ := build(t, b).Forecast(row.item)
		if f.Counts.Lost != row.lost || f.KitYears < row.years-1e-6 || f.KitYears > row.years+1e-6 {
			t.Errorf("%s: %d lost in %v kit-years", row.name, f.Counts.Lost, f.KitYears)
		}
	}
}

// What is expected is asked for to the nearest whole piece.
func TestNearestPiece(t *testing.T) {
	b := onList(tarnHarbor(), "air-wedge")
	b.Records = []budget.Record{gone("2026-02-01", "k01", "engine-1", "air-wedge", budget.Lost, 1)}
	if l, _ := build(t, b).Line("wear/2028/air-wedge"); l.Quantity != 1 { // 1.5 in 27 kit-years, 0.6 a year
		t.Errorf("%+v", l)
	}
}

func TestForecastWords(t *testing.T) {
	film := []budget.Record{gone("2026-02-01", "k01", "engine-1", "latch-film", budget.UsedUp, 30), gone("2026-03-01", "k01", "engine-1", "latch-film", budget.WornOut, 1)}
	for _, row := range []struct {
		name    string
		item    string
		since   string
		records []budget.Record
		want    string
	}{
		{"a consumable", "latch-film", "2025-03-15", film, "Used up 30, worn out 1 in 24 months, order when only 4 left."},
		{"records of some days", "air-wedge", "2027-03-10", []budget.Record{gone("2027-03-12", "k01", "engine-1", "air-wedge", budget.Broken, 2)}, "Broken 2 in less than a month, hold 2."},
		{"nothing went", "air-wedge", "2026-03-15", nil, "None on record as gone in 12 months. Any figure for it is assumed."},
		{"no records are kept", "air-wedge", "", nil, "No records yet. Any figure for it is assumed."},
	} {
		b := onList(tarnHarbor(), row.item)
		b.Records, b.Since = row.records, time.Time{}
		if row.since != "" {
			b.Since = on(row.since)
		}
		f, _ := build(t, b).Forecast(row.item)
		if got := f.Words(); got != row.want {
			t.Errorf("%s: %q, want %q", row.name, got, row.want)
		}
	}
}
