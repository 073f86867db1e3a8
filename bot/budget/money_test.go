package budget_test

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"kitbell/bot/budget"
)

func TestRate(t *testing.T) {
	for _, row := range []struct {
		name     string
		fraction float64
		words    string
		cents    int64
		want     int64
	}{
		{"none", 0, "0 %", 129800, 0},
		{"shipping of the demo", 0.06, "6 %", 129800, 7788},
		{"half a cent goes up", 0.05, "5 %", 10, 1},
		{"less than half goes down", 0.049, "4.9 %", 10, 0},
		{"a quarter of a percent", 0.0825, "8.25 %", 1000, 83},
		{"a ten-thousandth of a percent", 0.000001, "0.0001 %", 1_000_000, 1},
		{"all of it", 1, "100 %", 12345, 12345},
	} {
		rate := budget.RateOf(row.fraction)
		if got := rate.Of(row.cents); got != row.want || rate.String() != row.words {
			t.Errorf("%s: %s of %d is %d, want %s and %d", row.name, rate, row.cents, got, row.words, row.want)
		}
	}
}

// Whole numbers of any size give the same.
func TestRateOfBig(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cents, rate := rapid.Int64Range(0, 1e15).Draw(t, "cents"), rapid.Int64Range(0, 1e6).Draw(t, "rate")
		want := new(big.Int).Mul(big.NewInt(cents), big.NewInt(rate))
		want.Add(want, big.NewInt(500_000)).Div(want, big.NewInt(1_000_000))
		if got := budget.Rate(rate).Of(cents); got != want.Int64() {
			t.Fatalf("%d, want %v", got, want)
		}
	})
}

// Amounts are grouped by thousands; dollars have their sign, others their code.
func TestMoney(t *testing.T) {
	for _, row := range []struct {
		cents    int64
		currency string
		want     string
	}{
		{0, "USD", "$0.00"}, {5, "USD", "$0.05"}, {999_99, "USD", "$999.99"}, {129800, "USD", "$1,298.00"}, {129800, "EUR", "1,298.00 EUR"}, {129800, "", "1,298.00"},
		{-150, "USD", "-$1.50"}, {-1_234_567_89, "EUR", "-1,234,567.89 EUR"}, {100_000_000_000_00, "USD", "$100,000,000,000.00"},
		{math.MinInt64, "USD", "-$92,233,720,368,547,758.08"},
	} {
		if got := budget.Money(row.cents, row.currency); got != row.want {
			t.Errorf("%d %s is %q, want %q", row.cents, row.currency, got, row.want)
		}
	}
}
