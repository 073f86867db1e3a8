package budget

import (
	"fmt"
	"math"
	"strings"
)

// Prediction is a count that is expected, with the 95 % interval of what may come.
type Prediction struct {
	Mean float64 `json:"mean"`
	Low  int     `json:"low"`
	High int     `json:"high"`
}

// predict sums a belief up for an exposure in kit-years.
func (g Gamma) predict(kitYears float64) Prediction {
	cumulative := g.Predict(kitYears)
	low, err := cumulative.Least(0.025)
	if err != nil {
		low = 0
	}
	high, err := cumulative.Least(0.975)
	if err != nil {
		high = math.MaxInt32 // so wide that it says nothing
	}
	return Prediction{g.Rate() * kitYears, low, high}
}

// Forecast is what the records say of one item, and what is expected of it.
type Forecast struct {
	Item       string     `json:"item"`
	Consumable bool       `json:"consumable,omitempty"`
	Counts     Counts     `json:"counts"`    // of the records that it rests on
	Months     int        `json:"months"`    // of records, years without any left out
	KitYears   float64    `json:"kit_years"` // that the records are of
	Prior      Prior      `json:"prior"`
	Belief     Gamma      `json:"belief"` // prior and records
	Kits       int        `json:"kits"`   // in service that hold the item
	Year       Prediction `json:"year"`   // pieces gone in a year, of all these kits
	LeadDays   int        `json:"lead_days"`
	Lead       Prediction `json:"lead"` // while an order is on its way
	Protection float64    `json:"protection"`
	Plain      int        `json:"plain"` // spares by the expected rate alone: Poisson
	Hold       int        `json:"hold"`  // spares with the doubt about the rate; of a consumable, the reorder point
	Held       int        `json:"held"`  // pieces on the shelves now
}

// Recorded says whether any piece of it ever went.
func (f Forecast) Recorded() bool { return f.Counts.Gone() > 0 }

// expect fills in what follows from the belief for some kits.
func (f *Forecast) expect(kits int) error {
	f.Kits = kits
	lead := kitYears(kits, f.LeadDays)
	f.Year, f.Lead = f.Belief.predict(float64(kits)), f.Belief.predict(lead)
	var err error
	if f.Plain, err = Spares(f.Lead.Mean, f.Protection); err != nil {
		return fmt.Errorf("forecast %s: %w", f.Item, err)
	}
	if f.Hold, err = f.Belief.Predict(lead).Least(f.Protection); err != nil {
		return fmt.Errorf("forecast %s: %w", f.Item, err)
	}
	return nil
}

// Words say it plainly, as "Lost 3 in 24 months, hold 2." What rests on an
// assumption alone says so.
func (f Forecast) Words() string {
	switch {
	case !f.Recorded() && f.Months == 0:
		return "No records yet. Any figure for it is assumed."
	case !f.Recorded():
		return fmt.Sprintf("None on record as gone in %s. Any figure for it is assumed.", f.span())
	case f.Consumable:
		return fmt.Sprintf("%s, order when only %d left.", f.went(), f.Hold)
	}
	return fmt.Sprintf("%s, hold %d.", f.went(), f.Hold)
}

// span is how long the records are of.
func (f Forecast) span() string {
	if f.Months == 0 {
		return "less than a month"
	}
	return count(f.Months, "month")
}

// went is what went, how and when, as "Lost 2, broken 1 in 24 months".
func (f Forecast) went() string {
	var parts []string
	for _, kind := range Kinds() {
		if n := f.Counts.Of(kind); n > 0 && kind.Gone() {
			parts = append(parts, fmt.Sprintf("%s %d", kind, n))
		}
	}
	return capital(strings.Join(parts, ", ")) + " in " + f.span()
}

func count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
