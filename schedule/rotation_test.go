package schedule_test

import (
	"errors"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"pgregory.net/rapid"

	"kitbell/schedule"
)

const halfPastSeven = 7*time.Hour + 30*time.Minute

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

func plan(t testing.TB, platoons, pattern string) schedule.Plan {
	return schedule.Plan{Names: strings.Split(platoons, ""), Pattern: pattern, Changes: []time.Duration{halfPastSeven},
		Start: time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), Zone: zone(t, "America/New_York")}
}

func rotation(t testing.TB, p schedule.Plan) schedule.Rotation {
	t.Helper()
	r, err := schedule.NewRotation(p)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// order is the platoon on duty at noon of each of the first days.
func order(r schedule.Rotation, days int) string {
	var on strings.Builder
	for d := range days {
		on.WriteString(r.PlatoonAt(time.Date(2026, 1, 1+d, 12, 0, 0, 0, r.Zone())))
	}
	return on.String()
}

func TestPatterns(t *testing.T) {
	for _, row := range []struct {
		name, platoons, pattern string
		offsets                 []int
		order                   string
		week                    float64 // hours
	}{
		// FACTS C17: patterns; C19: 168/3 = 56 h and 168/4 = 42 h; C20: orders.
		{"24/48", "ABC", "24/48", nil, "ABCABC", 56},
		{"48/96", "ABC", "48/96", nil, "AABBCCAABBCC", 56},
		{"48/96 in symbols", "ABC", "XXOOOO", nil, "AABBCCAABBCC", 56},
		{"24/72", "ABCD", "24/72", nil, "ABCDABCD", 42},
		{"nine days", "ABC", "nine-day", nil, "ACABABCBCACABABCBC", 56},
		{"nine days in symbols", "ABC", "XOXOXOOOO", []int{0, 3, 6}, "ACABABCBC", 56},
		{"eight days", "ABCD", "eight-day", nil, "ABABCDCDABABCDCD", 42},
		{"eight days in symbols", "ABCD", "XOXOOOOO", []int{0, 1, 4, 5}, "ABABCDCD", 42},
		{"one platoon alone", "A", "X", nil, "AAAA", 168},
	} {
		t.Run(row.name, func(t *testing.T) {
			p := plan(t, row.platoons, row.pattern)
			p.Offsets = row.offsets
			r := rotation(t, p)
			if got := order(r, len(row.order)); got != row.order {
				t.Errorf("order %s, want %s", got, row.order)
			}
			for _, platoon := range r.Platoons() {
				if got := r.AverageWeek(platoon).Hours(); got != row.week {
					t.Errorf("platoon %s: %v h a week, want %v", platoon, got, row.week)
				}
			}
		})
	}
}

// FACTS C19: two days of 10 h, two nights of 14 h, four off; 168/4 = 42 h.
func TestDaysAndNights(t *testing.T) {
	p := plan(t, "ABCD", "10/14")
	p.Changes = []time.Duration{8 * time.Hour, 18 * time.Hour}
	r := rotation(t, p)
	for _, platoon := range r.Platoons() {
		if got := r.AverageWeek(platoon); got != 42*time.Hour {
			t.Errorf("platoon %s: %v a week", platoon, got)
		}
	}
	var lengths []float64
	for _, tour := range r.NextTours("A", time.Date(2026, 1, 1, 9, 0, 0, 0, r.Zone()), 5) {
		lengths = append(lengths, tour.End.Sub(tour.Start).Hours())
	}
	for i, want := range []float64{10, 10, 14, 14, 10} {
		if lengths[i] != want {
			t.Errorf("tours of A last %v h", lengths)
			break
		}
	}
}

func TestTourAt(t *testing.T) {
	r := rotation(t, plan(t, "ABC", "48/96"))
	at := func(month time.Month, day, hour, minute int) time.Time {
		return time.Date(2026, month, day, hour, minute, 0, 0, r.Zone())
	}
	for _, row := range []struct {
		name       string
		at         time.Time
		platoon    string
		start, end time.Time
	}{
		{"first morning", at(1, 1, 7, 30), "A", at(1, 1, 7, 30), at(1, 3, 7, 30)},
		{"second day of one tour", at(1, 2, 20, 0), "A", at(1, 1, 7, 30), at(1, 3, 7, 30)},
		{"a minute before the change", at(1, 3, 7, 29), "A", at(1, 1, 7, 30), at(1, 3, 7, 30)},
		{"the instant of the change", at(1, 3, 7, 30), "B", at(1, 3, 7, 30), at(1, 5, 7, 30)},
		{"before the start", at(1, 1, 7, 29), "C", time.Date(2025, 12, 30, 7, 30, 0, 0, r.Zone()), at(1, 1, 7, 30)},
		{"over the end of the year", time.Date(2027, 1, 1, 3, 0, 0, 0, r.Zone()), "C",
			at(12, 31, 7, 30), time.Date(2027, 1, 2, 7, 30, 0, 0, r.Zone())},
	} {
		t.Run(row.name, func(t *testing.T) {
			got := r.TourAt(row.at)
			if got.Platoon != row.platoon || !got.Start.Equal(row.start) || !got.End.Equal(row.end) {
				t.Errorf("got %s, %s to %s", got.Platoon, got.Start, got.End)
			}
			if !got.Holds(row.at) {
				t.Error("the tour does not hold its own instant")
			}
		})
	}
}

// FACTS F3, F4: the clocks change on 8 March and 1 November 2026; a 24 h tour
// over the change lasts 23 h and 25 h.
func TestTourOverTheClockChange(t *testing.T) {
	r := rotation(t, plan(t, "ABC", "24/48"))
	for _, row := range []struct {
		name  string
		start time.Time
		hours float64
	}{
		{"spring", time.Date(2026, 3, 7, 12, 0, 0, 0, r.Zone()), 23},
		{"autumn", time.Date(2026, 10, 31, 12, 0, 0, 0, r.Zone()), 25},
		{"any other", time.Date(2026, 6, 1, 12, 0, 0, 0, r.Zone()), 24},
	} {
		t.Run(row.name, func(t *testing.T) {
			tour := r.TourAt(row.start)
			if got := tour.End.Sub(tour.Start).Hours(); got != row.hours {
				t.Errorf("%v h, want %v", got, row.hours)
			}
			if got := r.HoursOn(tour.Platoon, tour.Start, tour.End).Hours(); got != row.hours {
				t.Errorf("%v h on duty, want %v", got, row.hours)
			}
		})
	}
}

// A change of tour at an hour that the clocks skip, and at one they repeat.
func TestChangeOfTourInTheClockChange(t *testing.T) {
	p := plan(t, "ABC", "24/48")
	p.Changes = []time.Duration{2*time.Hour + 30*time.Minute}
	r := rotation(t, p)
	gap := time.Date(2026, 3, 8, 7, 0, 0, 0, time.UTC) // 02:00 EST is 03:00 EDT
	if got := r.TourAt(gap.Add(-time.Second)).End; !got.Equal(gap) {
		t.Errorf("the tour ends at %s, want %s", got, gap)
	}
	p.Changes = []time.Duration{time.Hour + 30*time.Minute}
	r = rotation(t, p)
	first := time.Date(2026, 11, 1, 5, 30, 0, 0, time.UTC) // 01:30 EDT, before 01:30 EST
	for _, at := range []time.Time{first, first.Add(time.Hour), first.Add(2 * time.Hour)} {
		if got := r.TourAt(at).Start; !got.Equal(first) {
			t.Errorf("at %s the tour began at %s, want %s", at, got, first)
		}
	}
}

func TestNextTours(t *testing.T) {
	r := rotation(t, plan(t, "ABC", "48/96"))
	tours := r.NextTours("B", time.Date(2026, 1, 1, 12, 0, 0, 0, r.Zone()), 3)
	for i, want := range []string{"B 2026-01-03T07:30", "B 2026-01-09T07:30", "B 2026-01-15T07:30"} {
		if got := tours[i].Key(); got != want {
			t.Errorf("tour %d is %s, want %s", i, got, want)
		}
	}
	if tours := r.NextTours("D", time.Now(), 3); tours != nil {
		t.Errorf("a platoon that is not there has tours: %v", tours)
	}
	if got := (schedule.Rotation{}).TourAt(time.Now()); got != (schedule.Tour{}) {
		t.Errorf("no rotation has a tour: %v", got)
	}
}

func TestRefusedPlans(t *testing.T) {
	for _, row := range []struct {
		name string
		with func(*schedule.Plan)
		says string
	}{
		{"a day without a platoon", func(p *schedule.Plan) { p.Pattern = "XOOO" }, "nobody is on duty from 2026-01-04 at 07:30 (day 4 of 4)"},
		{"a day with two", func(p *schedule.Plan) { p.Pattern, p.Offsets = "XXOOOO", []int{0, 1, 4} }, "A and B are on duty from 2026-01-02 at 07:30 (day 2 of 6)"},
		{"another letter", func(p *schedule.Plan) { p.Pattern = "XYO" }, "write one X"},
		{"no pattern", func(p *schedule.Plan) { p.Pattern = "" }, "write one X"},
		{"platoons do not fit the name", func(p *schedule.Plan) { p.Pattern = "24/72" }, "for 4 platoons, and there are 3"},
		{"changes do not fit the name", func(p *schedule.Plan) { p.Pattern, p.Names = "10/14", []string{"A", "B", "C", "D"} }, "2 changes a day"},
		{"no change", func(p *schedule.Plan) { p.Pattern, p.Changes = "XOO", nil }, "change"},
		{"half a day too many", func(p *schedule.Plan) { p.Pattern, p.Changes = "XOO", []time.Duration{0, time.Hour} }, "whole days"},
		{"changes backwards", func(p *schedule.Plan) { p.Pattern, p.Changes = "XO", []time.Duration{time.Hour, 0} }, "earlier one first"},
		{"change at 25 o'clock", func(p *schedule.Plan) { p.Changes = []time.Duration{25 * time.Hour} }, "times of a day"},
		{"no platoons", func(p *schedule.Plan) { p.Pattern, p.Names = "XOO", nil }, "name at least one"},
		{"a platoon twice", func(p *schedule.Plan) { p.Names = []string{"A", "A", "B"} }, `platoon "A"`},
		{"offsets missing", func(p *schedule.Plan) { p.Offsets = []int{0, 1} }, "3 in all"},
		{"no zone", func(p *schedule.Plan) { p.Zone = nil }, "zone"},
		{"no start", func(p *schedule.Plan) { p.Start = time.Time{} }, "start"},
		{"endless", func(p *schedule.Plan) { p.Pattern = strings.Repeat("X", 800) }, "800 symbols"},
	} {
		t.Run(row.name, func(t *testing.T) {
			p := plan(t, "ABC", "48/96")
			row.with(&p)
			_, err := schedule.NewRotation(p)
			if err == nil || !strings.Contains(err.Error(), row.says) {
				t.Errorf("got %v, want %q", err, row.says)
			}
		})
	}
	var cover *schedule.CoverError
	p := plan(t, "ABC", "XOOO")
	if _, err := schedule.NewRotation(p); !errors.As(err, &cover) || cover.Slot != 3 {
		t.Errorf("got %v", err)
	}
}

// FACTS C13: 29 CFR 553.230, the whole table.
func TestFireLimit(t *testing.T) {
	table := []int{53, 61, 68, 76, 83, 91, 98, 106, 114, 121, 129, 136, 144, 151, 159, 167, 174, 182, 189, 197, 204, 212}
	for i, want := range table {
		if got, err := schedule.FireLimit(7 + i); err != nil || got != want {
			t.Errorf("%d days: %d h (%v), want %d", 7+i, got, err, want)
		}
	}
	for _, days := range []int{6, 29, -1} {
		if _, err := schedule.FireLimit(days); err == nil {
			t.Errorf("%d days are taken", days)
		}
	}
}

// FACTS C20: a Kelly day every n-th shift on 24/48.
func TestKellyWeek(t *testing.T) {
	for every, want := range map[int]float64{7: 48.00, 9: 49.78, 14: 52.00, 0: 56} {
		got := schedule.KellyWeek(56*time.Hour, every).Hours()
		if diff := got - want; diff > 0.005 || diff < -0.005 {
			t.Errorf("every %d: %.3f h, want %.2f", every, got, want)
		}
	}
}

// Tours follow each other without a gap, in every zone and pattern, and every
// instant of a tour names the same tour.
func TestToursTile(t *testing.T) {
	zones := []string{"America/New_York", "America/Phoenix", "Europe/London", "Australia/Lord_Howe", "America/Sao_Paulo", "Pacific/Apia"}
	rapid.Check(t, func(rt *rapid.T) {
		p := plan(t, "ABC", rapid.SampledFrom([]string{"24/48", "48/96", "nine-day"}).Draw(rt, "pattern"))
		p.Zone = zone(t, rapid.SampledFrom(zones).Draw(rt, "zone"))
		p.Changes[0] = time.Duration(rapid.IntRange(0, 24*60-1).Draw(rt, "change")) * time.Minute
		r := rotation(t, p)
		from := time.Unix(rapid.Int64Range(0, 3e9).Draw(rt, "from"), 0)
		last := r.TourAt(from)
		for _, tour := range r.Tours(from, from.Add(30*24*time.Hour))[1:] {
			if !tour.Start.Equal(last.End) || !tour.Start.Before(tour.End) {
				rt.Fatalf("%v follows %v", tour, last)
			}
			mid := tour.Start.Add(time.Duration(rapid.Int64Range(0, int64(tour.End.Sub(tour.Start))-1).Draw(rt, "mid")))
			if got := r.TourAt(mid); got != tour {
				rt.Fatalf("at %s: %v, want %v", mid, got, tour)
			}
			last = tour
		}
	})
}
