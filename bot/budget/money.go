package budget

import (
	"fmt"
	"math"
	"math/bits"
	"strings"
)

// Rate is a part of an amount, in parts per million: 60,000 is six percent.
type Rate int64

// one is the whole.
const one = 1_000_000

// RateOf makes a rate of a fraction, to the nearest part per million: 0.06 is six
// percent.
func RateOf(fraction float64) Rate { return Rate(math.Round(fraction * one)) }

// Of is that part of an amount of zero or more, in cents, half a cent rounded up.
// It is the only rounding of money in the package.
func (r Rate) Of(cents int64) int64 {
	high, low := bits.Mul64(uint64(cents), uint64(r))
	low, carry := bits.Add64(low, one/2, 0)
	part, _ := bits.Div64(high+carry, low, one)
	return int64(part)
}

// after is a price after some years' rises, rounded once a year.
func (r Rate) after(cents int64, years int) int64 {
	for range years {
		cents += r.Of(cents)
	}
	return cents
}

// String is the rate in percent, as "6 %" or "8.25 %".
func (r Rate) String() string {
	words := fmt.Sprintf("%d.%04d", r/10_000, r%10_000)
	return strings.TrimRight(strings.TrimRight(words, "0"), ".") + " %"
}

// What a line can be: whatever is beyond was mistyped. Sums of a thousand such
// lines still fit.
const (
	mostCents = 1_000_000_000
	mostUnits = 1_000_000
)

// Money is an amount in words: "$1,298.00" in US dollars, else with the currency's
// code behind it, "1,298.00 EUR".
func Money(cents int64, currency string) string {
	sign, size := "", uint64(cents)
	if cents < 0 {
		sign, size = "-", -size // of the least number too
	}
	amount := fmt.Sprintf("%s.%02d", thousands(size/100), size%100)
	if currency == "USD" {
		return sign + "$" + amount
	}
	return strings.TrimSpace(sign + amount + " " + currency)
}

// thousands is a number with commas between its thousands.
func thousands(n uint64) string {
	digits := fmt.Sprint(n)
	for at := len(digits) - 3; at > 0; at -= 3 {
		digits = digits[:at] + "," + digits[at:]
	}
	return digits
}

// Sums are the amounts of a line, or of several: shipping and tax are of the
// goods, line by line, and shipping is not taxed.
type Sums struct {
	Goods    int64 `json:"goods"` // cents, like all of them
	Shipping int64 `json:"shipping"`
	Tax      int64 `json:"tax"`
	Total    int64 `json:"total"`
}

// Plus adds amounts up.
func (s Sums) Plus(o Sums) Sums {
	return Sums{s.Goods + o.Goods, s.Shipping + o.Shipping, s.Tax + o.Tax, s.Total + o.Total}
}

// Minus takes amounts away.
func (s Sums) Minus(o Sums) Sums {
	return Sums{s.Goods - o.Goods, s.Shipping - o.Shipping, s.Tax - o.Tax, s.Total - o.Total}
}
