package budget_test

import (
	"testing"

	"kitbell/bot/budget"
)

// A wish for every kit is one for each of the eleven that ride.
func TestWishForEveryKit(t *testing.T) {
	b := tarnHarbor()
	b.Asks = []budget.Ask{{Key: "w1", Item: "under-door-lever", PerKit: 1, Why: "Ours bend.", Crews: 4}}
	r := build(t, b)
	l, ok := r.Line("wish/2028/w1")
	want := budget.Sums{Goods: 11 * 118_00, Shipping: 77_88, Total: 1375_88}
	if !ok || l.Quantity != 11 || l.Each != 118_00 || l.Sums != want {
		t.Errorf("%+v", l)
	}
}
