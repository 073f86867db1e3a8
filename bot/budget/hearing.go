package budget

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"kitbell/bot"
)

// Explanation answers why a line is what it is.
type Explanation struct {
	Line     Line
	Steps    []string  // the sums, one after the other
	Forecast *Forecast // behind it; nil for none
	Records  []Record  // behind it, oldest first
	Counts   Counts    // of the records
	Problems []Problem // with the line
}

// Why explains a line by its key. ErrNotFound when there is none.
func (r Request) Why(key string) (Explanation, error) {
	l, ok := r.Line(key)
	if !ok {
		return Explanation{}, fmt.Errorf("explain line %s: %w", key, bot.ErrNotFound)
	}
	e := Explanation{Line: l, Steps: r.steps(l), Records: r.Behind(l)}
	e.Counts = Count(e.Records)
	if f, known := r.Forecast(l.Item); known && (l.Expected > 0 || l.Spares > 0) {
		e.Forecast = &f
	}
	for _, p := range r.Problems {
		if p.Line == key {
			e.Problems = append(e.Problems, p)
		}
	}
	return e, nil
}

// steps are the sums of a line, in words.
func (r Request) steps(l Line) []string {
	money := func(cents int64) string { return Money(cents, r.Terms.Currency) }
	steps := []string{l.counted(), r.priced(l)}
	if l.Excluded != "" {
		return append(steps, l.Excluded)
	}
	return append(steps,
		fmt.Sprintf("%d × %s = %s.", l.Quantity, money(l.Each), money(l.Sums.Goods)),
		fmt.Sprintf("Shipping %s: %s. Tax %s: %s.", r.Terms.Shipping, money(l.Sums.Shipping), r.Terms.Tax, money(l.Sums.Tax)),
		fmt.Sprintf("Together %s.", money(l.Sums.Total)))
}

// counted is how a line's quantity comes together.
func (l Line) counted() string {
	var parts []string
	if l.PerKit != 0 {
		parts = append(parts, fmt.Sprintf("%d for each of %s", l.PerKit, count(len(l.Kits), "kit")))
	}
	for _, part := range []struct {
		n    int
		what string
	}{{l.Pieces, "asked for outright"}, {l.Expected, "expected to go in the year, to the nearest piece"}, {l.Spares, "to hold as spares"}} {
		if part.n != 0 {
			parts = append(parts, fmt.Sprintf("%d %s", part.n, part.what))
		}
	}
	if len(parts) == 0 {
		return "Nobody said how many."
	}
	return fmt.Sprintf("%d: %s.", l.Quantity, strings.Join(parts, ", "))
}

// priced is where a line's price is from, and what it becomes by its year.
func (r Request) priced(l Line) string {
	if l.Price.Source == NoSource {
		return "Nobody has a price for it."
	}
	words := fmt.Sprintf("%s each, by %s", Money(l.Price.Cents, r.Terms.Currency), l.Price.Source)
	if l.Price.Line > 0 {
		words += fmt.Sprintf(" of line %d", l.Price.Line)
	}
	if l.Price.On != "" {
		words += " on " + l.Price.On
	}
	if l.Price.From != "" {
		words += " (" + l.Price.From + ")"
	}
	if l.Each != l.Price.Cents && l.Each > 0 {
		words += fmt.Sprintf("; with %s a year, %s in %d", r.Terms.Escalation, Money(l.Each, r.Terms.Currency), l.Year)
	}
	return words + "."
}

// Query is what somebody in a hearing says of a line. Zero fields say nothing.
type Query struct {
	Item     string
	Quantity int
	Cents    int64 // of one, or of the whole line
	Year     int
}

// Find gives the lines that a question may be about, in the order of the request.
func (r Request) Find(q Query) []Line {
	var found []Line
	for _, l := range r.Lines {
		if (q.Item == "" || q.Item == l.Item) && (q.Quantity == 0 || q.Quantity == l.Quantity) && (q.Year == 0 || q.Year == l.Year) &&
			(q.Cents == 0 || q.Cents == l.Price.Cents || q.Cents == l.Each || q.Cents == l.Sums.Goods || q.Cents == l.Sums.Total) {
			found = append(found, l)
		}
	}
	return found
}

// Losses is what was lost, broken or worn out in a fiscal year, by item, the most
// first, with the records. What was used up is no loss.
func Losses(records []Record, c Calendar, year int) []Group {
	of := slices.DeleteFunc(OfYear(records, c, year), func(r Record) bool { return !r.Kind.Gone() || r.Kind == UsedUp })
	groups := Tally(of, ByItem)
	slices.SortStableFunc(groups, func(a, b Group) int { return cmp.Compare(b.Counts.Gone(), a.Counts.Gone()) })
	return groups
}
