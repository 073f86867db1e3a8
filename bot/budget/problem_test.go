package budget_test

import (
	"errors"
	"strings"
	"testing"

	"kitbell/bot"
	"kitbell/bot/budget"
	"kitbell/bot/kit"
)

func TestProblems(t *testing.T) {
	price := budget.Price{Cents: 10_00, Source: budget.AskersPrice}
	for _, row := range []struct {
		name string
		ask  budget.Ask
		what budget.Trouble
		say  string
	}{
		{"no price", budget.Ask{Title: "board", Pieces: 1}, budget.NoPrice, "Nobody has a price for the board. It is in no total."},
		{"price of zero", budget.Ask{Title: "board", Pieces: 1, Price: budget.Price{Source: budget.AskersPrice}}, budget.ZeroPrice, "is down as zero"},
		{"price below zero", budget.Ask{Title: "board", Pieces: 1, Price: budget.Price{Cents: -1, Source: budget.AskersPrice}}, budget.BadPrice, "below zero"},
		{"fewer than none", budget.Ask{Title: "board", Pieces: -2, Price: price}, budget.BadCount, "Fewer than none"},
		{"fewer than none for each kit, though some in all", budget.Ask{Title: "board", PerKit: -1, Pieces: 100, Price: price}, budget.BadCount, "Fewer than none"},
		{"nobody said how many", budget.Ask{Title: "board", Price: price}, budget.NoCount, "Nobody said"},
		{"too many", budget.Ask{Title: "board", Pieces: 1 << 62, Price: price}, budget.TooMuch, "too big"},
		{"too many for each kit", budget.Ask{Title: "board", PerKit: 1 << 62, Price: price}, budget.TooMuch, "too big"},
		{"too dear", budget.Ask{Title: "board", Pieces: 1, Price: budget.Price{Cents: 1 << 62, Source: budget.AskersPrice}}, budget.TooMuch, "too big"},
		{"a year that is not in it", budget.Ask{Title: "board", Pieces: 1, Year: 2031, Price: price}, budget.OtherYear, "fiscal year 2031"},
		{"a unit that nobody knows", budget.Ask{Title: "board", PerKit: 1, Units: []string{"engine-99"}, Price: price}, budget.UnitStranger, "no unit called engine-99"},
		{"a reserve without a kit", budget.Ask{Title: "board", PerKit: 1, Units: []string{"engine-11"}, Price: price}, budget.UnitReserve, "Engine 11 is a reserve"},
		{"a unit without a kit", budget.Ask{Title: "board", PerKit: 1, Units: []string{"boat-5"}, Price: price}, budget.UnitBare, "Boat 5 carries no kit"},
		{"a unit that was sold", budget.Ask{Title: "board", PerKit: 1, Units: []string{"engine-7"}, Price: price}, budget.UnitSold, "Engine 7 was sold. The board"},
	} {
		b := onList(tarnHarbor(), "air-wedge")
		for i := range b.Units {
			b.Units[i].Sold = row.what == budget.UnitSold && b.Units[i].ID == "engine-7"
		}
		row.ask.Key = "x"
		b.Asks = []budget.Ask{row.ask}
		r := build(t, b)
		found := false
		for _, p := range r.Problems {
			found = found || p.What == row.what && p.Line != "" && strings.Contains(p.Say, row.say)
		}
		if l := r.Lines[len(r.Lines)-1]; !found || l.Excluded == "" || l.Sums != (budget.Sums{}) || r.Total().Excluded != 1 || r.Total().Sums != (budget.Sums{}) {
			t.Errorf("%s: %+v, %+v", row.name, r.Problems, l)
		}
	}
}

// A unit that gets nothing takes nothing from the others.
func TestSomeUnits(t *testing.T) {
	b := onList(tarnHarbor(), "air-wedge")
	b.Asks = []budget.Ask{{Key: "x", Item: "air-wedge", PerKit: 2, Pieces: 1, Units: []string{"engine-1", "engine-1", "engine-11", "engine-7"}}}
	r := build(t, b)
	l, _ := r.Line("wish/2028/x")
	if l.Quantity != 2*2+1 || l.Excluded != "" || len(besideSilence(r)) != 1 {
		t.Errorf("%+v, %+v", l, r.Problems)
	}
}

// A kit that still rides a unit that was sold, or that nobody knows, counts for
// nothing, and this is said.
func TestKitsOfLostUnits(t *testing.T) {
	b := onList(tarnHarbor(), "air-wedge")
	for i := range b.Units {
		b.Units[i].Sold = b.Units[i].ID == "engine-7"
	}
	b.Kits[0].Unit = "engine-99"
	b.Asks = []budget.Ask{{Key: "x", Item: "air-wedge", PerKit: 1}}
	r := build(t, b)
	l, _ := r.Line("wish/2028/x")
	if l.Quantity != 9 || len(besideSilence(r)) != 2 || r.Problems[0].Say != "Kit k01 is down as riding engine-99, which I do not know. It does not count here." ||
		r.Problems[1].Say != "Kit k11 is still down as riding Engine 7, which was sold. It does not count here." {
		t.Errorf("%+v, %+v", l, r.Problems)
	}
}

// A year without a record counts for no rate, as nobody knows whether nothing was
// lost or nothing was written.
func TestYearWithoutRecords(t *testing.T) {
	b := onList(tarnHarbor(), "air-wedge")
	b.Since, b.Now = july.Start(2025), july.Start(2028)
	b.Calendar = july
	b.Records = []budget.Record{gone("2024-09-01", "k01", "engine-1", "air-wedge", budget.Lost, 1), gone("2026-09-01", "k01", "engine-1", "air-wedge", budget.Lost, 1)}
	r := build(t, b)
	f, _ := r.Forecast("air-wedge")
	if len(r.Problems) != 1 || r.Problems[0].What != budget.SilentYear || r.Problems[0].Year != 2026 && r.Problems[0].Year != 2028 {
		t.Errorf("%+v", r.Problems)
	}
	if f.Months != 24 || f.Counts.Lost != 2 || f.KitYears < 21.9 || f.KitYears > 22.1 {
		t.Errorf("%+v", f)
	}
}

func TestBadRecords(t *testing.T) {
	b := onList(tarnHarbor(), "air-wedge")
	good := gone("2026-09-01", "k01", "engine-1", "air-wedge", budget.Lost, 1)
	for _, spoil := range []func(*budget.Record){
		func(r *budget.Record) { r.Count = 0 },
		func(r *budget.Record) { r.Count = -1 },
		func(r *budget.Record) { r.Count = 1 << 62 },
		func(r *budget.Record) { r.Kind, r.Cents = budget.Paid, 1<<62 },
		func(r *budget.Record) { r.Date = on("0202-01-01") },
		func(r *budget.Record) { r.Kind = "stolen by gulls" },
		func(r *budget.Record) { r.Date = on("2027-03-16") },
		func(r *budget.Record) { r.Kind, r.Cents = budget.Paid, -5 },
	} {
		bad := good
		spoil(&bad)
		b.Records = append(b.Records, bad)
	}
	b.Records = append(b.Records, good)
	r := build(t, b)
	f, _ := r.Forecast("air-wedge")
	if f.Counts != (budget.Counts{Lost: 1}) || r.Problems[0].What != budget.BadRecords || !strings.HasPrefix(r.Problems[0].Say, "8 records") {
		t.Errorf("%+v, %+v", f, r.Problems)
	}
}

func TestTermsRefused(t *testing.T) {
	for _, row := range []struct {
		name  string
		spoil func(b *budget.Basis)
		want  error
	}{
		{"tax below none", func(b *budget.Basis) { b.Terms.Tax = -1 }, budget.ErrTerms},
		{"prices that more than double", func(b *budget.Basis) { b.Terms.Escalation = budget.RateOf(1.5) }, budget.ErrTerms},
		{"protection of all", func(b *budget.Basis) { b.Terms.Protection = 1 }, budget.ErrLevel},
		{"delivery before the order", func(b *budget.Basis) { b.Terms.LeadDays = -1 }, budget.ErrTerms},
		{"too many years", func(b *budget.Basis) { b.Years = 11 }, budget.ErrTerms},
		{"no list", func(b *budget.Basis) { b.InForce = 7 }, bot.ErrNotFound},
	} {
		b := tarnHarbor()
		row.spoil(&b)
		if _, err := budget.Build(b); !errors.Is(err, row.want) {
			t.Errorf("%s: %v, want %v", row.name, err, row.want)
		}
	}
}

func TestAgeNotKnown(t *testing.T) {
	for _, row := range []struct {
		name  string
		known int
		say   string
	}{
		{"of none", 0, "Nobody noted since when the air wedge serves in any kit. Its age does not count there."},
		{"of all but one", 12, "Nobody noted since when the air wedge serves in kit k13. Its age does not count there."},
		{"of all but two", 11, "Nobody noted since when the air wedge serves in kits k12, k13. Its age does not count there."},
	} {
		b := onList(tarnHarbor(), "air-wedge")
		for i := range b.Items {
			b.Items[i].Life = 9
		}
		for _, k := range b.Kits[:row.known] {
			b.Pieces = append(b.Pieces, kit.Piece{Kit: k.ID, Item: "air-wedge", Since: on("2026-01-01")})
		}
		if p := besideSilence(build(t, b)); len(p) != 1 || p[0].What != budget.NoAge || p[0].Say != row.say {
			t.Errorf("%s: %+v", row.name, p)
		}
	}
}
