package budget

import (
	"fmt"
	"math"
	"strings"
)

// settle works a line out from what it rests on: its kits, the forecast, the
// price. It gives what keeps the line out of the totals; false when nothing does.
func (r *Request) settle(l *Line) (Problem, bool) {
	r.foresee(l)
	l.Quantity, l.Each, l.Sums = l.quantity(), 0, Sums{}
	if l.Price.Cents > 0 && l.Price.Cents <= mostCents {
		l.Each = r.Terms.Escalation.after(l.Price.Cents, max(0, l.Year-r.Year))
	} else if l.Price.Cents > mostCents {
		l.Each = l.Price.Cents
	}
	l.Why = r.because(*l)
	if p, bad := l.fault(); bad {
		l.Excluded = p.Say
		return p, true
	}
	if l.Excluded == "" {
		l.Sums = r.Terms.sums(int64(l.Quantity) * l.Each)
	}
	return Problem{}, false
}

// quantity adds up how many pieces a line is for, up to just beyond what can be
// meant, so that no mistyped count wraps around.
func (l Line) quantity() int {
	kits := int64(min(max(l.PerKit, -mostUnits), mostUnits+1)) * int64(len(l.Kits))
	pieces := int64(min(max(l.Pieces, -mostUnits), mostUnits+1))
	return int(min(kits+pieces+int64(l.Expected)+int64(l.Spares), mostUnits+1))
}

// foresee fills in what a line takes from the item's forecast.
func (r *Request) foresee(l *Line) {
	f, known := r.Forecast(l.Item)
	if !known {
		return
	}
	switch l.Kind {
	case ByWear, Consumables:
		l.Expected = int(math.Round(f.Belief.Rate() * float64(len(l.Kits))))
	case SpareParts:
		l.Spares = max(0, f.Hold-f.Held)
	}
}

// sums adds shipping and tax to an amount.
func (t Terms) sums(goods int64) Sums {
	shipping, tax := t.Shipping.Of(goods), t.Tax.Of(goods)
	return Sums{Goods: goods, Shipping: shipping, Tax: tax, Total: goods + shipping + tax}
}

// because is a line's reason with the figures that it leads to.
func (r *Request) because(l Line) string {
	f, known := r.Forecast(l.Item)
	var parts []string
	switch {
	case l.Kind == SpareParts && known:
		parts = append(parts, f.Words(), fmt.Sprintf("With a chance of %s no more than %d go in the %s of an order; on the shelf: %d.", percent(f.Protection), f.Hold, count(f.LeadDays, "day"), f.Held))
	case (l.Kind == ByWear || l.Kind == Consumables) && known:
		year := f.Belief.predict(float64(len(l.Kits)))
		parts = append(parts, f.went()+".",
			fmt.Sprintf("In a year about %.1f are expected of %s (%d to %d), an assumed start counted in.", year.Mean, count(len(l.Kits), "kit"), year.Low, year.High))
	}
	if l.Reason != "" {
		parts = append(parts, l.Reason)
	}
	return strings.Join(parts, " ")
}

func percent(level float64) string { return RateOf(level).String() }
