package budget_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"kitbell/bot/budget"
)

// FACTS E5: a university-style table of the cumulative Poisson distribution, to
// four places; recomputed.
func TestPoisson(t *testing.T) {
	for mean, table := range map[float64][]float64{
		0.5: {.6065, .9098, .9856, .9982},
		1:   {.3679, .7358, .9197, .9810, .9963},
		2:   {.1353, .4060, .6767, .8571, .9473, .9834},
		3:   {.0498, .1991, .4232, .6472, .8153, .9161, .9665, .9881},
		5:   {.0067, .0404, .1247, .2650, .4405, .6160, .7622, .8666, .9319, .9682},
	} {
		for x, want := range table {
			if got := budget.Poisson(mean)(x); math.Abs(got-want) > 0.00005 {
				t.Errorf("mean %v: P(X<=%d) = %.5f, want %.4f", mean, x, got, want)
			}
		}
	}
	if got := budget.Poisson(2)(-1); got != 0 {
		t.Errorf("fewer than none: %v", got)
	}
}

// FACTS E6, from the table of E5: the smallest s with P(X<=s) of 90, 95 and 99 %.
func TestSpares(t *testing.T) {
	for mean, want := range map[float64][3]int{
		0.5: {1, 2, 3}, 1: {2, 3, 4}, 1.5: {3, 4, 5}, 2: {4, 5, 6}, 2.5: {5, 5, 7}, 3: {5, 6, 8}, 4: {7, 8, 9}, 5: {8, 9, 11}, 0: {0, 0, 0},
	} {
		for i, level := range []float64{0.90, 0.95, 0.99} {
			if got, err := budget.Spares(mean, level); got != want[i] || err != nil {
				t.Errorf("mean %v at %v: %d spares (%v), want %d", mean, level, got, err, want[i])
			}
		}
	}
}

func TestSparesWorked(t *testing.T) {
	// FACTS E7 and E8: one failure in 8,760 h, over 26,280 h: mean 3. The reliability
	// article has 42 % for three spares, which is P(X<=2); three cover three failures.
	mean := 1.0 / 8760 * 26280
	if got := budget.Poisson(mean)(3); math.Abs(got-0.6472) > 0.00005 {
		t.Errorf("three spares protect with %.4f, want 0.6472", got)
	}
	if got := budget.Poisson(mean)(6); math.Abs(got-0.9665) > 0.00005 {
		t.Errorf("six spares protect with %.4f, want 0.9665", got)
	}
	if got, err := budget.Spares(mean, 0.6472); got != 3 || err != nil {
		t.Errorf("for 0.6472 hold %d (%v), want 3", got, err)
	}
	// FACTS E9, Blanchard, Logistics Engineering, spares nomograph (from memory) and
	// arithmetic: 20 parts, 0.1 in 1,000 h, 24 h × 90 d.
	mean = 20 * 0.1 / 1000 * 24 * 90
	if got, err := budget.Spares(mean, 0.95); math.Abs(mean-4.32) > 1e-12 || got != 8 || err != nil {
		t.Errorf("mean %v: %d spares (%v), want 8", mean, got, err)
	}
	for x, want := range map[int]float64{7: 0.9275, 8: 0.9675} {
		if got := budget.Poisson(mean)(x); math.Abs(got-want) > 0.00005 {
			t.Errorf("P(X<=%d) = %.4f, want %.4f", x, got, want)
		}
	}
}

// FACTS E14, course slides: demand 1 to 5 alike, cost 15, price 25, salvage 10.
func TestNewsvendor(t *testing.T) {
	const cost, price, salvage = 15, 25, 10
	demand := func(x int) float64 { return float64(min(max(x, 0), 5)) / 5 }
	if got, err := budget.Newsvendor(demand, price-cost, cost-salvage); got != 4 || err != nil {
		t.Errorf("buy %d (%v), want 4", got, err)
	}
	for q, want := range map[int]float64{1: 10, 2: 17, 3: 21, 4: 22, 5: 20} {
		profit := 0.0
		for d := 1; d <= 5; d++ {
			profit += float64(price*min(q, d)+salvage*max(0, q-d)-cost*q) / 5
		}
		if math.Abs(profit-want) > 1e-9 {
			t.Errorf("profit of %d is %v, want %v", q, profit, want)
		}
	}
}

func TestNumbersRefused(t *testing.T) {
	flat := func(int) float64 { return 0.5 }
	for _, row := range []struct {
		name string
		err  func() error
		want error
	}{
		{"level of all", func() error { _, err := budget.Spares(1, 1); return err }, budget.ErrLevel},
		{"level of none", func() error { _, err := budget.Spares(1, 0); return err }, budget.ErrLevel},
		{"level that is no number", func() error { _, err := budget.Spares(1, math.NaN()); return err }, budget.ErrLevel},
		{"level never reached", func() error { _, err := budget.Cumulative(flat).Least(0.9); return err }, budget.ErrLevel},
		{"mean below none", func() error { _, err := budget.Spares(-1, 0.9); return err }, budget.ErrMean},
		{"mean without end", func() error { _, err := budget.Spares(math.Inf(1), 0.9); return err }, budget.ErrMean},
		{"mean that is no number", func() error { _, err := budget.Spares(math.NaN(), 0.9); return err }, budget.ErrMean},
		{"one too many costs nothing", func() error { _, err := budget.Newsvendor(flat, 1, 0); return err }, budget.ErrCost},
		{"one too few costs without end", func() error { _, err := budget.Newsvendor(flat, math.Inf(1), 1); return err }, budget.ErrCost},
	} {
		if err := row.err(); !errors.Is(err, row.want) {
			t.Errorf("%s: %v, want %v", row.name, err, row.want)
		}
	}
}

// beliefs draws a belief and an exposure, in kit-years.
func beliefs(t *rapid.T) (budget.Gamma, float64) {
	g := budget.Gamma{Pieces: rapid.Float64Range(0.3, 60).Draw(t, "pieces"), KitYears: rapid.Float64Range(0.5, 300).Draw(t, "kit-years")}
	return g, rapid.Float64Range(0.01, 60).Draw(t, "exposure")
}

// What is predicted agrees with the negative binomial's terms, summed one by one.
func TestPredictBySums(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, exposure := beliefs(t)
		p := g.KitYears / (g.KitYears + exposure)
		term, sum := math.Exp(g.Pieces*math.Log(p)), 0.0
		for x := range 60 {
			sum += term
			if got := g.Predict(exposure)(x); math.Abs(got-sum) > 1e-9 {
				t.Fatalf("P(X<=%d) = %v, the sum is %v", x, got, sum)
			}
			term *= (g.Pieces + float64(x)) / float64(x+1) * (1 - p)
		}
	})
}

// And with Poisson counts averaged over the belief about their rate.
func TestPredictByIntegration(t *testing.T) {
	g, exposure := budget.Gamma{Pieces: 3.5, KitYears: 27}, 11.0
	density := func(rate float64) float64 {
		log, _ := math.Lgamma(g.Pieces)
		return math.Exp(g.Pieces*math.Log(g.KitYears) + (g.Pieces-1)*math.Log(rate) - g.KitYears*rate - log)
	}
	for x := range 8 {
		sum := 0.0
		const step = 1e-4
		for rate := step / 2; rate < 2; rate += step {
			sum += step * density(rate) * budget.Poisson(rate*exposure)(x)
		}
		if got := g.Predict(exposure)(x); math.Abs(got-sum) > 1e-5 {
			t.Errorf("P(X<=%d) = %v, integrated %v", x, got, sum)
		}
	}
}

func TestSparesRise(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mean, level := rapid.Float64Range(0, 40).Draw(t, "mean"), rapid.Float64Range(0.01, 0.995).Draw(t, "level")
		few, err := budget.Spares(mean, level)
		more, err2 := budget.Spares(mean+rapid.Float64Range(0, 5).Draw(t, "more"), min(0.999, level+rapid.Float64Range(0, 0.3).Draw(t, "surer")))
		if err != nil || err2 != nil || few > more {
			t.Fatalf("%d and %d spares (%v, %v)", few, more, err, err2)
		}
		if budget.Poisson(mean)(few) < level || few > 0 && budget.Poisson(mean)(few-1) >= level {
			t.Fatalf("%d is not the smallest", few)
		}
	})
}

func TestReorderPointRises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, _ := beliefs(t)
		kits, days := rapid.IntRange(0, 40).Draw(t, "kits"), rapid.IntRange(0, 120).Draw(t, "days")
		level := rapid.Float64Range(0.5, 0.99).Draw(t, "level")
		few, err := g.ReorderPoint(kits, days, level)
		more, err2 := g.ReorderPoint(kits+rapid.IntRange(0, 10).Draw(t, "more kits"), days+rapid.IntRange(0, 60).Draw(t, "more days"), min(0.995, level+0.004))
		if err != nil || err2 != nil || few > more {
			t.Fatalf("order at %d and at %d (%v, %v)", few, more, err, err2)
		}
	})
}

// With many records of the same rate the doubt about it is gone, and the forecast
// is the plain Poisson one.
func TestPredictNearsPoisson(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate, exposure := rapid.Float64Range(0.01, 2).Draw(t, "rate"), rapid.Float64Range(0.1, 12).Draw(t, "exposure")
		const much = 1e7
		g := budget.DurablePrior().After(int(math.Round(rate*much)), much)
		for x := range 30 {
			if few, plain := g.Predict(exposure)(x), budget.Poisson(g.Rate()*exposure)(x); math.Abs(few-plain) > 1e-4 {
				t.Fatalf("P(X<=%d): %v, by Poisson %v", x, few, plain)
			}
		}
	})
}

// Counting in two parts is counting at once, and records draw the belief to them.
func TestBelief(t *testing.T) {
	prior := budget.DurablePrior()
	if got, want := prior.After(2, 10).After(1, 12), prior.After(3, 22); got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
	low, high := prior.After(3, 22).Interval()
	if rate := prior.After(3, 22).Rate(); math.Abs(rate-3.5/27) > 1e-12 || !(low < rate && rate < high) {
		t.Errorf("rate %v, interval %v to %v", rate, low, high)
	}
	// The upper 97.5 % point of chi-squared with 2k degrees of freedom is twice that of
	// Gamma(k, 1); for 6 degrees it is 14.449 (any table of chi-squared; from memory).
	if _, high := (budget.Gamma{Pieces: 3, KitYears: 1}).Interval(); math.Abs(2*high-14.449) > 0.001 {
		t.Errorf("upper limit %v", 2*high)
	}
	for _, p := range []budget.Prior{budget.DurablePrior(), budget.ConsumablePrior()} {
		if len(p.Says) < 7 || p.Says[:7] != "assumed" {
			t.Errorf("a prior does not say that it is assumed: %q", p.Says)
		}
	}
}
