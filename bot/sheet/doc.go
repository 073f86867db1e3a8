// Package sheet writes tables as workbooks (XLSX) and as CSV. A Table is neutral:
// typed cells under headings, with what a printer needs to know. Both writers make
// the same of it, and neither lets a text become a formula.
//
//	lines := sheet.Table{Name: "Lines", Columns: []sheet.Column{{Heading: "item"}, {Heading: "total"}}, Rows: []sheet.Row{
//		{Cells: []sheet.Cell{sheet.Text("air wedge"), sheet.Money(4400, "USD")}},
//		{Cells: []sheet.Cell{sheet.Text("total"), sheet.Formula("SUM("+sheet.Range(1, 0, 1, 0)+")", sheet.Money(4400, "USD"))}, Total: true},
//	}}
//	err := sheet.WriteXLSX(file, sheet.Workbook{Title: "Request", Made: now, Tables: []sheet.Table{lines}})
//	err = sheet.WriteCSV(other, lines)
//
// It computes nothing: a live formula comes with the value that its author
// computed, which stands in the CSV and which a spreadsheet replaces when it opens
// the workbook. `.ci/sheet` has another program recalculate them.
package sheet
