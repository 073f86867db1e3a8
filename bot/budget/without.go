package budget

import (
	"fmt"
	"slices"

	"kitbell/bot"
)

// Without is the request worked out again with the kits of some units left out.
// The rates stay: they come from everything that was recorded. It needs nothing
// but the request, so it answers for a frozen one too. A unit without a kit in it
// is a *bot.UserError.
func (r Request) Without(units ...string) (Request, error) {
	for _, unit := range units {
		if !slices.ContainsFunc(r.Kits, func(k LineKit) bool { return k.Unit == unit }) {
			return Request{}, bot.SayBudgetNoKit.With(unit)
		}
	}
	stays := func(kits []LineKit) []LineKit {
		return slices.DeleteFunc(slices.Clone(kits), func(k LineKit) bool { return slices.Contains(units, k.Unit) })
	}
	less := r
	less.Kits, less.Forecasts, less.Lines = stays(r.Kits), slices.Clone(r.Forecasts), nil
	for i := range less.Forecasts {
		if err := less.Forecasts[i].expect(len(less.Kits)); err != nil {
			return Request{}, fmt.Errorf("leave out %v: %w", units, err)
		}
	}
	for _, l := range r.Lines {
		had := len(l.Kits)
		l.Kits = stays(l.Kits)
		problem, bad := less.settle(&l)
		if bad && problem.What == NoCount && (had > len(l.Kits) || l.Kind == SpareParts) {
			continue // it was for those units alone
		}
		less.Lines = append(less.Lines, l)
	}
	less.Problems = slices.DeleteFunc(slices.Clone(r.Problems), func(p Problem) bool {
		_, there := less.Line(p.Line)
		return p.Line != "" && !there
	})
	return less, nil
}

// LineDifference is a line in two requests; a line that one of them does not have
// is zero there.
type LineDifference struct {
	Key    string
	Title  string
	Before Line
	After  Line
}

// Difference is what changes from one request to another.
type Difference struct {
	Before, After Total
	Lines         []LineDifference // those whose count or sums differ, in the order of the requests
}

// Saved is what the second request costs less.
func (d Difference) Saved() Sums { return d.Before.Minus(d.After.Sums) }

// Words sum the difference up.
func (d Difference) Words(currency string) string {
	words := fmt.Sprintf("%s becomes %s", Money(d.Before.Total, currency), Money(d.After.Total, currency))
	switch saved := d.Saved().Total; {
	case saved > 0:
		return fmt.Sprintf("%s: %s less.", words, Money(saved, currency))
	case saved < 0:
		return fmt.Sprintf("%s: %s more.", words, Money(-saved, currency))
	}
	return words + ": the same."
}

// Compare finds what differs between two requests, line by line.
func Compare(before, after Request) Difference {
	d := Difference{Before: before.Total(), After: after.Total()}
	for _, l := range before.Lines {
		other, _ := after.Line(l.Key)
		if l.Quantity != other.Quantity || l.Sums != other.Sums {
			d.Lines = append(d.Lines, LineDifference{l.Key, l.Title, l, other})
		}
	}
	for _, l := range after.Lines {
		if _, there := before.Line(l.Key); !there {
			d.Lines = append(d.Lines, LineDifference{l.Key, l.Title, Line{}, l})
		}
	}
	return d
}
