package budget

import (
	"fmt"
	"strings"

	"kitbell/bot/sheet"
)

// The columns of what became of a request that hold sums.
var lifeSums = []int{4, 7, 8, 10, 11}

// lifeTable is what became of each line. Corrections stand beside it and are in no
// sum.
func (v view) lifeTable() sheet.Table {
	headings := columns("line", "year", "item", "asked", "asked for", "decision", "granted", "granted with",
		"not granted", "bought", "paid", "paid beyond the grant", "in the kits", "steps", "corrections (in no sum)")
	t := sheet.Table{Name: "What became of it", Columns: wide(headings, 6, 7, 22, 7, 12, 14, 9, 12, 12, 8, 12, 12, 8, 44, 32)}
	for i, l := range v.submitted.Lines {
		t.Rows = append(t.Rows, v.lifeRow(i, l))
	}
	if len(t.Rows) > 0 {
		t.Rows = append(t.Rows, v.lifeTotal(len(t.Rows)-1))
	}
	if whole := v.corrections(""); whole != "" {
		row := make([]sheet.Cell, len(t.Columns))
		row[2], row[len(row)-1] = sheet.Text("the whole request"), sheet.Text(whole)
		t.Rows = append(t.Rows, sheet.Row{Cells: row})
	}
	return t
}

func (v view) lifeRow(i int, l LineLife) sheet.Row {
	decision := string(l.Decided)
	switch {
	case l.Line.Excluded != "":
		decision = "in no total"
	case decision == "":
		decision = "not decided"
	}
	return sheet.Row{Struck: l.Line.Excluded != "", Cells: []sheet.Cell{ordinal(i + 1), ordinal(l.Line.Year), sheet.Text(l.Line.Title), whole(l.Line.Quantity), v.money(l.Line.Sums.Total),
		sheet.Text(decision), whole(l.GrantedPieces), v.money(l.Granted), v.money(l.Refused()), whole(l.Bought), v.money(l.Paid), v.money(max(0, l.Over())), whole(l.InKits),
		sheet.Text(v.stepsOf(l)), sheet.Text(v.corrections(l.Line.Key))}}
}

func (v view) lifeTotal(last int) sheet.Row {
	sums := make([]int64, len(lifeSums))
	for _, l := range v.submitted.Lines {
		for i, cents := range []int64{l.Line.Sums.Total, l.Granted, l.Refused(), l.Paid, max(0, l.Over())} {
			sums[i] += cents
		}
	}
	cells := make([]sheet.Cell, 13)
	cells[2] = sheet.Text("total")
	for i, column := range lifeSums {
		cells[column] = v.live("ROUND(SUM("+sheet.Range(column, 0, column, last)+"),2)", sums[i], true)
	}
	return sheet.Row{Cells: cells, Total: true}
}

// stepsOf are a line's steps in words. Who made them is not told.
func (v view) stepsOf(l LineLife) string {
	words := make([]string, len(l.Steps))
	for i, s := range l.Steps {
		words[i] = v.date(s.At) + ": " + v.step(s)
	}
	return strings.Join(words, "; ")
}

func (v view) step(s Step) string {
	words := string(s.What)
	if s.Pieces > 0 {
		words += fmt.Sprintf(", %d", s.Pieces)
	}
	if s.Cents > 0 {
		words += ", " + v.say(s.Cents)
	}
	if s.Order != "" {
		words += ", order " + s.Order
	}
	if s.Reason != "" {
		words += ", " + s.Reason
	}
	return words
}

// corrections of a line, or of the whole request, in words.
func (v view) corrections(key string) string {
	var words []string
	for _, s := range v.submitted.Corrections {
		if s.Line == key {
			words = append(words, v.date(s.At)+": "+v.step(s))
		}
	}
	return strings.Join(words, "; ")
}
