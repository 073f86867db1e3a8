package door_test

import (
	"math"
	"testing"

	"kitbell/bot/door"
)

func TestWilsonFigures(t *testing.T) {
	tests := []struct {
		successes, trials int
		low, high         float64
	}{
		// Newcombe, Statistics in Medicine 17:857 (1998), Table I, method 3.
		{81, 263, 0.2553, 0.3662},
		{15, 148, 0.0624, 0.1605},
		{0, 20, 0, 0.1611},
		{1, 29, 0.0061, 0.1718},
		// The same method by arithmetic.
		{0, 10, 0, 0.2775},
		{10, 10, 0.7225, 1},
		{5, 10, 0.2366, 0.7634},
	}
	for _, test := range tests {
		low, high := door.Wilson(test.successes, test.trials)
		near(t, "Wilson", test.successes, test.trials, low, high, test.low, test.high)
	}
}

func TestJeffreysFigures(t *testing.T) {
	tests := []struct {
		successes, trials int
		low, high         float64
	}{
		// Rule: Brown, Cai, DasGupta, Statistical Science 16:101 (2001), 4.1.2; the
		// figures by arithmetic.
		{0, 20, 0, 0.1166},
		{1, 29, 0.0037, 0.1501},
		{8, 10, 0.4972, 0.9559},
		{5, 10, 0.2235, 0.7765},
		{173, 174, 0.9735, 0.9994},
		{81, 263, 0.2545, 0.3656},
	}
	for _, test := range tests {
		low, high := door.Jeffreys(test.successes, test.trials)
		near(t, "Jeffreys", test.successes, test.trials, low, high, test.low, test.high)
	}
}

func near(t *testing.T, name string, x, n int, low, high, wantLow, wantHigh float64) {
	t.Helper()
	const rounding = 0.00005001
	if math.Abs(low-wantLow) > rounding || math.Abs(high-wantHigh) > rounding {
		t.Errorf("%s %d/%d: %.4f-%.4f, want %.4f-%.4f", name, x, n, low, high, wantLow, wantHigh)
	}
}

func TestNoTrialsLeaveEverythingOpen(t *testing.T) {
	if low, high := door.Wilson(0, 0); low != 0 || high != 1 {
		t.Errorf("Wilson 0/0: %g-%g, want 0-1", low, high)
	}
	if low, high := door.Jeffreys(0, 0); low != 0 || high != 1 {
		t.Errorf("Jeffreys 0/0: %g-%g, want 0-1", low, high)
	}
}

func TestCountsInterval(t *testing.T) {
	// Beta(5.5, 5.5) is the Jeffreys posterior of 5 in 10: 0.2235-0.7765.
	low, high := door.Counts{Opened: 5.5, Not: 5.5}.Interval()
	near(t, "counts", 5, 10, low, high, 0.2235, 0.7765)
	if low, high := (door.Counts{Opened: 3}).Interval(); low != 1 || high != 1 {
		t.Errorf("counts without a failure: %g-%g, want their mean 1", low, high)
	}
}
