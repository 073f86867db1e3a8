package budget

import (
	"fmt"
	"strings"

	"kitbell/bot/sheet"
)

// The names of tables that formulas refer to.
const (
	linesName = "Request"
	termsName = "Terms"
)

// The columns of the lines.
const (
	atNumber = iota
	atYear
	atKind
	atItem
	atWhy
	atWhose
	atKits
	atPerKit
	atMore
	atQuantity
	atToday
	atSource
	atEach
	atGoods
	atShipping
	atTax
	atTotal
	atCounts
)

// linesTable is a row for each line, then the totals: of all, by kind, by year.
func (v view) linesTable() sheet.Table {
	headings := columns("line", "year", "kind", "item", "why", "for the kits of", "kits", "for each kit", "more pieces",
		"quantity", "price today", "price from", "price each", "goods", "shipping", "tax", "total", "in the totals")
	t := sheet.Table{Name: linesName, Columns: wide(headings, 6, 7, 16, 20, 46, 20, 6, 8, 9, 10, 12, 18, 12, 12, 11, 10, 12, 20)}
	for i, l := range v.request.Lines {
		t.Rows = append(t.Rows, v.lineRow(i, l))
	}
	return v.withTotals(t)
}

func (v view) lineRow(i int, l Line) sheet.Row {
	counts := "yes"
	if l.Excluded != "" {
		counts = "no: " + l.Excluded
	}
	cells := []sheet.Cell{ordinal(i + 1), ordinal(l.Year), sheet.Text(string(l.Kind)), sheet.Text(l.Title), sheet.Text(l.Why),
		sheet.Text(v.whose(l)), whole(len(l.Kits)), whole(l.PerKit), whole(l.Pieces + l.Expected + l.Spares)}
	if l.Excluded == "" {
		cells = append(cells, v.reckoned(i, l)...)
	} else {
		cells = append(cells, v.left(l)...)
	}
	return sheet.Row{Cells: append(cells, sheet.Text(counts)), Struck: l.Excluded != ""}
}

// left are the cells of a line that is in no total, as far as anything is known.
func (v view) left(l Line) []sheet.Cell {
	var none sheet.Cell
	cells := []sheet.Cell{whole(l.Quantity), none, none, none, none, none, none, none}
	if l.Price.Source != NoSource {
		cells[atToday-atQuantity] = v.money(l.Price.Cents)
		cells[atSource-atQuantity] = sheet.Text(v.source(l.Price))
	}
	return cells
}

// reckoned are the cells from the quantity to the total, with live formulas.
func (v view) reckoned(i int, l Line) []sheet.Cell {
	at := func(column int) string { return sheet.At(column, i) }
	t, s := v.request.Terms, l.Sums
	each := v.live(escalated(at(atToday), l.Year-v.request.Year), l.Each, v.rises(l))
	goods := v.live(fmt.Sprintf("ROUND(%s*%s,2)", at(atQuantity), at(atEach)), s.Goods, int64(l.Quantity)*l.Each == s.Goods)
	shipping := v.live(partOf(at(atGoods), millionths(rowShipping)), s.Shipping, gives(t.Shipping, s.Goods, s.Shipping))
	tax := v.live(partOf(at(atGoods), millionths(rowTax)), s.Tax, gives(t.Tax, s.Goods, s.Tax))
	total := v.live(fmt.Sprintf("ROUND(%s+%s+%s,2)", at(atGoods), at(atShipping), at(atTax)), s.Total, s.Goods+s.Shipping+s.Tax == s.Total)
	return []sheet.Cell{v.quantity(i, l), v.money(l.Price.Cents), sheet.Text(v.source(l.Price)), each, goods, shipping, tax, total}
}

func (v view) quantity(i int, l Line) sheet.Cell {
	if l.quantity() != l.Quantity {
		return whole(l.Quantity)
	}
	return sheet.Formula(sheet.At(atKits, i)+"*"+sheet.At(atPerKit, i)+"+"+sheet.At(atMore, i), whole(l.Quantity))
}

// live is an amount with its formula, where that gives what the request has. Where
// it does not, be it that an older program reckoned otherwise or that the figures
// have more digits than a spreadsheet keeps, the cell holds what the request has.
func (v view) live(formula string, cents int64, same bool) sheet.Cell {
	if !same || !kept15(cents) {
		return v.money(cents)
	}
	return sheet.Formula(formula, v.money(cents))
}

// millionths is the cell of the terms that has a rate in parts per million.
func millionths(row int) string { return sheet.In(termsName, sheet.At(atMillionths, row)) }

// partOf is Rate.Of as a formula. It goes by whole cents and whole parts per
// million, as half a cent is not always half a cent when dollars are multiplied.
func partOf(amount, rate string) string {
	return fmt.Sprintf("ROUND(ROUND(%s*100,0)*%s/1000000,0)/100", amount, rate)
}

// escalated is Rate.after as a formula: rounded once for each year.
func escalated(price string, years int) string {
	if years <= 0 {
		return price
	}
	rise := "*(1000000+" + millionths(rowEscalation) + ")/1000000,0)"
	return strings.Repeat("ROUND(", years) + "ROUND(" + price + "*100,0)" + strings.Repeat(rise, years) + "/100"
}

// exact says whether a spreadsheet keeps all digits of an amount times a rate.
func exact(rate Rate, cents int64) bool { return rate == 0 || cents <= mostDigits/int64(rate) }

// gives says whether a spreadsheet finds the part of an amount that the request has.
func gives(rate Rate, cents, part int64) bool { return exact(rate, cents) && rate.Of(cents) == part }

// rises says whether the formula gives the price of the line's year.
func (v view) rises(l Line) bool {
	rate, years := v.request.Terms.Escalation, max(0, l.Year-v.request.Year)
	return exact(one+rate, l.Each) && rate.after(l.Price.Cents, years) == l.Each
}

// source says where a price is from.
func (v view) source(p Price) string {
	words := string(p.Source)
	if p.Line > 0 {
		words += fmt.Sprintf(", queue line %d", p.Line)
	}
	for _, more := range []string{p.On, p.From} {
		if more != "" {
			words += ", " + more
		}
	}
	return words
}

// withTotals adds the total, then those of each kind and of each year.
func (v view) withTotals(t sheet.Table) sheet.Table {
	lines := len(v.request.Lines)
	if lines == 0 {
		return t
	}
	sum := func(column int) string { return "ROUND(SUM(" + sheet.Range(column, 0, column, lines-1) + "),2)" }
	t.Rows = append(t.Rows, sheet.Row{}, v.totalRow("total", sum, v.request.Total().Sums, true))
	for _, kind := range LineKinds() {
		row := v.totalRow("of this kind", v.sumIf(atKind, len(t.Rows)), v.request.OfKind(kind).Sums, false)
		row.Cells[atKind] = sheet.Text(string(kind))
		t.Rows = append(t.Rows, row)
	}
	for _, year := range v.years() {
		row := v.totalRow("of this year", v.sumIf(atYear, len(t.Rows)), v.request.OfYear(year).Sums, false)
		row.Cells[atYear] = ordinal(year)
		t.Rows = append(t.Rows, row)
	}
	return t
}

// sumIf sums up a column over the lines that have in another what the row has.
func (v view) sumIf(by, row int) func(column int) string {
	last := len(v.request.Lines) - 1
	return func(column int) string {
		return fmt.Sprintf("ROUND(SUMIF(%s,%s,%s),2)", sheet.Range(by, 0, by, last), sheet.At(by, row), sheet.Range(column, 0, column, last))
	}
}

func (v view) totalRow(name string, formula func(column int) string, s Sums, total bool) sheet.Row {
	cells := make([]sheet.Cell, atTotal+1)
	cells[atItem] = sheet.Text(name)
	for i, cents := range []int64{s.Goods, s.Shipping, s.Tax, s.Total} {
		cells[atGoods+i] = v.live(formula(atGoods+i), cents, true)
	}
	return sheet.Row{Cells: cells, Total: total}
}

// years are the fiscal years of the request.
func (v view) years() []int {
	years := make([]int, v.request.Years)
	for i := range years {
		years[i] = v.request.Year + i
	}
	return years
}

// yearsTable is each year's total. Lines of other years are in no total.
func (v view) yearsTable() sheet.Table {
	t := sheet.Table{Name: "Years", Columns: columns("fiscal year", "prices against today's", "lines", "in no total", "goods", "shipping", "tax", "total")}
	const first = 4 // the column of the goods
	factor := sheet.Percent(1)
	for i, year := range v.years() {
		of := v.request.OfYear(year)
		if i > 0 {
			factor = v.riseOf(i)
		}
		cells := []sheet.Cell{ordinal(year), factor, whole(of.Lines), whole(of.Excluded)}
		for k, cents := range []int64{of.Goods, of.Shipping, of.Tax, of.Total} {
			cells = append(cells, v.yearSum(atGoods+k, i, cents))
		}
		t.Rows = append(t.Rows, sheet.Row{Cells: cells})
	}
	all := v.request.Total()
	total := []sheet.Cell{sheet.Text("all"), {}, whole(all.Lines), whole(all.Excluded)}
	for k, cents := range []int64{all.Goods, all.Shipping, all.Tax, all.Total} {
		formula := "ROUND(SUM(" + sheet.Range(first+k, 0, first+k, v.request.Years-1) + "),2)"
		total = append(total, v.live(formula, cents, v.request.Years > 0))
	}
	t.Rows = append(t.Rows, sheet.Row{Cells: total, Total: true})
	return t
}

// riseOf is what a price becomes in some years, before it is rounded.
func (v view) riseOf(years int) sheet.Cell {
	rise := 1.0
	for range years {
		rise *= 1 + float64(v.request.Terms.Escalation)/one
	}
	return sheet.Formula(fmt.Sprintf("(1+%s/1000000)^%d", millionths(rowEscalation), years), sheet.Percent(rise))
}

func (v view) yearSum(column, row int, cents int64) sheet.Cell {
	last := len(v.request.Lines) - 1
	in := func(column int) string { return sheet.In(linesName, sheet.Range(column, 0, column, last)) }
	return v.live(fmt.Sprintf("ROUND(SUMIF(%s,%s,%s),2)", in(atYear), sheet.At(0, row), in(column)), cents, last >= 0)
}
