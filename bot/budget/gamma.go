package budget

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Cumulative is a distribution of counts: P(X <= x), for x from 0.
type Cumulative func(x int) float64

// What a forecast cannot be made of.
var (
	ErrLevel = errors.New("a protection level is more than 0 and less than 1")
	ErrMean  = errors.New("an expected count is zero or more, and at most a million")
	ErrCost  = errors.New("what one too few and one too many cost is more than nothing")
)

// mostExpected keeps sums within what a kit programme can mean.
const mostExpected = 1e6

// Poisson is the distribution of a count whose mean is known.
func Poisson(mean float64) Cumulative {
	return func(x int) float64 {
		switch {
		case x < 0:
			return 0
		case mean == 0:
			return 1
		}
		return mathext.GammaIncRegComp(float64(x)+1, mean)
	}
}

// Gamma is what is believed of a rate, in pieces a kit-year: as if Pieces had
// gone in KitYears.
type Gamma struct {
	Pieces   float64 `json:"pieces"`    // shape
	KitYears float64 `json:"kit_years"` // rate
}

// Prior is what is believed of a rate before there are records. It is an
// assumption, and Says so.
type Prior struct {
	Gamma
	Says string `json:"says"`
}

// DurablePrior is assumed for tools: one piece in ten kit-years, and worth no
// more than five kit-years of records.
func DurablePrior() Prior {
	return Prior{Gamma{0.5, 5}, "assumed before records: one piece lost or broken in ten kit-years"}
}

// ConsumablePrior is assumed for what is used up: one piece a kit-year, and worth
// no more than one kit-year of records.
func ConsumablePrior() Prior {
	return Prior{Gamma{1, 1}, "assumed before records: one piece used up in a kit-year"}
}

// After is the belief after pieces went in that many kit-years more. The Gamma
// distribution is conjugate to the Poisson, so the counts are just added.
func (g Gamma) After(pieces int, kitYears float64) Gamma {
	return Gamma{g.Pieces + float64(pieces), g.KitYears + kitYears}
}

// Rate is the expected rate, in pieces a kit-year.
func (g Gamma) Rate() float64 { return g.Pieces / g.KitYears }

// Interval is the 95 % equal-tailed interval of the rate.
func (g Gamma) Interval() (low, high float64) {
	return mathext.GammaIncRegInv(g.Pieces, 0.025) / g.KitYears, mathext.GammaIncRegInv(g.Pieces, 0.975) / g.KitYears
}

// Predict is the distribution of how many pieces will go in that many kit-years,
// with what is not known of the rate in it: a negative binomial. Its cumulative
// is a regularised incomplete beta function (NIST Digital Library of Mathematical
// Functions, 8.17.24).
func (g Gamma) Predict(kitYears float64) Cumulative {
	return func(x int) float64 {
		switch {
		case x < 0:
			return 0
		case kitYears == 0:
			return 1
		}
		return mathext.RegIncBeta(g.Pieces, float64(x)+1, g.KitYears/(g.KitYears+kitYears))
	}
}

// Least is the smallest count whose chance of being enough reaches level.
// ErrLevel when no count can, or any does.
func (c Cumulative) Least(level float64) (int, error) {
	if !(level > 0 && level < 1) {
		return 0, fmt.Errorf("%w, not %v", ErrLevel, level)
	}
	high := 1
	for c(high) < level {
		if high *= 2; high > 1<<40 {
			return 0, fmt.Errorf("%w, not %v", ErrLevel, level)
		}
	}
	low := -1 // never enough
	for high-low > 1 {
		if middle := (low + high) / 2; c(middle) >= level {
			high = middle
		} else {
			low = middle
		}
	}
	return high, nil
}

// Spares is how many to hold so that, with the chance level, they cover all that
// fail while an order is on its way: the smallest s with P(X <= s) >= level, X
// being Poisson with mean kits × rate × time. s spares cover s failures: three
// spares at mean 3 protect with 0.6472 and not 0.4232, which is P(X <= 2).
func Spares(mean, level float64) (int, error) {
	if !(mean >= 0 && mean <= mostExpected) {
		return 0, fmt.Errorf("%w, not %v", ErrMean, mean)
	}
	return Poisson(mean).Least(level)
}

// ReorderPoint is at how many left a consumable is ordered anew, so that with the
// chance level they last for the days until it comes, in that many kits.
func (g Gamma) ReorderPoint(kits, days int, level float64) (int, error) {
	return g.Predict(kitYears(kits, days)).Least(level)
}

// kitYears is the exposure of some kits over days.
func kitYears(kits, days int) float64 { return float64(kits) * float64(days) / 365.25 }

// Newsvendor is how many to buy at once for a time in which no more can be had:
// the least Q with F(Q) >= under/(under+over), where under is what one too few
// costs and over what one too many does, in any one unit.
func Newsvendor(demand Cumulative, under, over float64) (int, error) {
	if !(under > 0 && over > 0) || math.IsInf(under, 1) || math.IsInf(over, 1) {
		return 0, ErrCost
	}
	return demand.Least(under / (under + over))
}
