package budget

import (
	"fmt"

	"kitbell/bot/sheet"
)

// The rows and the column of the terms that formulas refer to.
const (
	rowTax = iota
	rowShipping
	rowEscalation

	atMillionths = 2
)

// term is one thing that a request is reckoned with.
type term struct{ name, value, says string }

// termsTable is what the request is reckoned with: the rates, which may be changed
// in the workbook to see what becomes of the totals, then the rules and what is
// assumed.
func (v view) termsTable() sheet.Table {
	t := sheet.Table{Name: termsName, Columns: wide(columns("term", "value", "parts per million", "what it means"), 20, 34, 12, 80)}
	terms := v.request.Terms
	for i, r := range []struct {
		name string
		rate Rate
		says string
	}{{"tax", terms.Tax, saysTax}, {"shipping", terms.Shipping, saysShipping}, {"escalation", terms.Escalation, saysEscalation}} {
		parts := sheet.Formula("ROUND("+sheet.At(1, i)+"*1000000,0)", sheet.Whole(int64(r.rate)))
		t.Rows = append(t.Rows, sheet.Row{Cells: []sheet.Cell{sheet.Text(r.name), sheet.Percent(float64(r.rate) / one), parts, sheet.Text(r.says)}})
	}
	for _, more := range append(v.rules(), v.signature()...) {
		t.Rows = append(t.Rows, sheet.Row{Cells: []sheet.Cell{sheet.Text(more.name), sheet.Text(more.value), {}, sheet.Text(more.says)}})
	}
	return t
}

// What the rates mean.
const (
	saysTax        = "Of a line's goods, rounded by itself. Shipping is not taxed."
	saysShipping   = "Of a line's goods, rounded by itself."
	saysEscalation = "What prices are assumed to rise by a year: once for each year after the first, rounded each time."
)

// How forecasts are made, and of what.
const (
	saysForecast = "What goes of an item is taken for a Poisson process; its rate has a Gamma distribution, of the prior and the records. " +
		"No line is asked for on an assumption alone."
	saysRecord = "What the queue's lines and the journal say of an item of a kit: used, wanted and absent, used up, lost, broken, worn out, days short, paid. " +
		"It names nobody."
)

// rates are the same as terms in words, for paper.
func (v view) rates() []term {
	t := v.request.Terms
	return []term{{"tax", t.Tax.String(), saysTax}, {"shipping", t.Shipping.String(), saysShipping}, {"escalation", t.Escalation.String(), saysEscalation}}
}

// rules are the terms that are no rates, the rules, and what is assumed.
func (v view) rules() []term {
	r := v.request
	all := []term{
		{"currency", r.Terms.Currency, "All amounts are in whole cents of it, or hundredths."},
		{"rounding", "half a cent up", "Shipping and tax of each line, and a price once for each year. Totals are sums of lines, so every output has the same."},
		{"lead time", count(r.Terms.LeadDays, "day"), "From an order to its delivery."},
		{"protection", percent(r.Terms.Protection), "The chance that a spare is there when one is needed while an order is on its way."},
	}
	for _, p := range r.priors() {
		all = append(all, term{"prior (assumed)", fmt.Sprintf("pieces: %g, kit-years: %g", p.Pieces, p.KitYears), p.Says})
	}
	return append(all,
		term{"forecast", "Gamma and Poisson", saysForecast},
		term{"record", "a dated fact", saysRecord},
		term{"records until", r.Until, "Later ones do not count here."},
		term{"first year begins", r.Starts, "A fiscal year that does not begin on 1 January has the number of the year in which it ends."},
		term{"struck lines", count(r.Total().Excluded, "line"), "They are shown and in no total; the problems say why."})
}

// signature says what the tables are of, and whose word they are.
func (v view) signature() []term {
	all := []term{{"department", v.Department, ""}, {"request", v.title(), v.standing()}}
	if v.submitted != nil {
		check := "SHA-256 of what was signed, byte for byte."
		if !v.submitted.Intact() {
			check = "This is not what was signed: the text has another SHA-256."
		}
		all = append(all, term{"digest", v.submitted.Digest, check})
	}
	return all
}
