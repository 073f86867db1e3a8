package sheet_test

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"kitbell/bot/sheet"
)

var made = time.Date(2026, time.November, 28, 12, 0, 0, 0, time.UTC)

func book(tables ...sheet.Table) sheet.Workbook {
	return sheet.Workbook{Title: "Request of 2027", Made: made, Tables: tables}
}

// fataler is a test or a property.
type fataler interface{ Fatal(...any) }

func write(t fataler, b sheet.Workbook) []byte {
	var out bytes.Buffer
	if err := sheet.WriteXLSX(&out, b); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func open(t fataler, data []byte) *excelize.File {
	file, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return file
}

func TestWriteXLSX(t *testing.T) {
	file := open(t, write(t, book(kinds())))
	for _, row := range []struct {
		name, at, shown, raw string
		holds                excelize.CellType
	}{
		{"heading", "B1", "value", "value", excelize.CellTypeInlineString},
		{"a text like a formula", "B2", `=HYPERLINK("x")`, `=HYPERLINK("x")`, excelize.CellTypeInlineString},
		{"whole", "B3", "-12,345", "-12345", excelize.CellTypeUnset},
		{"fraction", "B4", "0.13", "0.125", excelize.CellTypeUnset},
		{"percent", "B5", "7.00%", "0.07", excelize.CellTypeUnset},
		{"money", "B6", "-$1,234.56", "-1234.56", excelize.CellTypeUnset},
		{"date", "B7", "2026-11-28", "46354", excelize.CellTypeUnset},
		{"hours", "B8", "1.67", "1.67", excelize.CellTypeUnset},
		{"nothing", "B9", "", "", excelize.CellTypeUnset},
		{"the value of a formula is a number too", "B11", "-$2,469.12", "-2469.12", excelize.CellTypeUnset},
	} {
		shown, err := file.GetCellValue("Kinds", row.at)
		raw, err2 := file.GetCellValue("Kinds", row.at, excelize.Options{RawCellValue: true})
		holds, err3 := file.GetCellType("Kinds", row.at)
		if err := errors.Join(err, err2, err3); err != nil || shown != row.shown || raw != row.raw || holds != row.holds {
			t.Errorf("%s: %q, %q, %v, %v; want %q, %q, %v", row.name, shown, raw, holds, err, row.shown, row.raw, row.holds)
		}
		formula, err := file.GetCellFormula("Kinds", row.at)
		if want := map[string]string{"B11": "ROUND(B6*2,2)"}[row.at]; err != nil || formula != want {
			t.Errorf("%s: formula %q, %v; want %q", row.name, formula, err, want)
		}
	}
	if value, err := file.CalcCellValue("Kinds", "B11", excelize.Options{RawCellValue: true}); err != nil || value != "-2469.12" {
		t.Errorf("the formula gives %s, %v", value, err)
	}
}

// What a printer and a screen need is there: headings that stay, the page's width,
// its number, bold totals.
func TestPrintSetUp(t *testing.T) {
	file := open(t, write(t, book(kinds(), texts("a"))))
	layout, _ := file.GetPageLayout("Kinds")
	other, _ := file.GetPageLayout("Texts")
	props, _ := file.GetSheetProps("Kinds")
	panes, _ := file.GetPanes("Kinds")
	footer, _ := file.GetHeaderFooter("Kinds")
	width, _ := file.GetColWidth("Kinds", "A")
	calc, _ := file.GetCalcProps()
	total, heading := styleOf(t, file, "Kinds", "B11"), styleOf(t, file, "Kinds", "B1")
	got := fmt.Sprintln(*layout.Orientation, *other.Orientation, *layout.Size, *layout.FitToWidth, *layout.FitToHeight, *props.FitToPage,
		panes.Freeze, panes.YSplit, width, *calc.FullCalcOnLoad, total.Font.Bold, total.Border[0].Type, heading.Font.Bold, heading.Alignment.Horizontal) + footer.OddHeader + footer.OddFooter
	if want := "landscape portrait 1 1 0 true true 1 20 true true top true left\n&LKinds&L 4 R&&D sheets&RPage &P of &N"; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	names := file.GetDefinedName()
	if len(names) != 2 || names[0].Name != "_xlnm.Print_Titles" || names[0].RefersTo != "'Kinds'!$1:$1" || names[1].Scope != "Texts" {
		t.Errorf("names %+v", names)
	}
}

// The line over a total goes on where it has no cells, and a heading stands on the
// side of its numbers.
func TestTotals(t *testing.T) {
	file := open(t, write(t, book(lines(0))))
	last, text, number := styleOf(t, file, "Lines", "E6"), styleOf(t, file, "Lines", "A1"), styleOf(t, file, "Lines", "C1")
	if len(last.Border) != 1 || last.Border[0].Type != "top" || text.Alignment.Horizontal != "left" || number.Alignment.Horizontal != "right" {
		t.Errorf("%+v, %+v, %+v", last.Border, text.Alignment, number.Alignment)
	}
	if family, err := file.GetDefaultFont(); err != nil || last.Font.Family != family {
		t.Errorf("bold is %s, all else %s, %v", last.Font.Family, family, err)
	}
}

func styleOf(t *testing.T, file *excelize.File, table, at string) *excelize.Style {
	id, err := file.GetCellStyle(table, at)
	if err != nil {
		t.Fatal(err)
	}
	style, err := file.GetStyle(id)
	if err != nil {
		t.Fatal(err)
	}
	return style
}

// parts are what the archive holds, by name.
func parts(t *testing.T, data []byte) map[string]string {
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]string{}
	for _, f := range archive.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		content, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		all[f.Name] = string(content)
	}
	return all
}

// No text makes a link or a formula, and the file says of itself only who made it
// and when.
func TestNothingFromText(t *testing.T) {
	all := parts(t, write(t, book(texts("=1+1", "=cmd|' /C calc'!A0", "@SUM(A1)", "https://example.org", "mailto:a@example.org", `\\host\share`))))
	for name, content := range all {
		for _, no := range []string{"<f>", "hyperlink", "externalLink", "ddeLink", "xuri", "Excelize", "2006-09-16"} {
			if strings.Contains(content, no) {
				t.Errorf("%s has %s", name, no)
			}
		}
	}
	if core := all["docProps/core.xml"]; !strings.Contains(core, "2026-11-28T12:00:00Z") || !strings.Contains(core, "Request of 2027") {
		t.Error(core)
	}
}

func TestSameBytes(t *testing.T) {
	first := write(t, book(kinds(), texts("a"), texts2("b"), texts2("c")))
	for range 10 {
		if !bytes.Equal(first, write(t, book(kinds(), texts("a"), texts2("b"), texts2("c")))) {
			t.Fatal("other bytes")
		}
	}
}

func texts2(name string) sheet.Table {
	table := texts("x")
	table.Name = name
	return table
}

// Words that XML or the library have their own reading of come back as they were,
// or as the sign for what cannot be shown.
func TestHardTexts(t *testing.T) {
	long := strings.Repeat("\U0001F511", 32_767/2) // two units each
	for _, row := range []struct{ name, words, want string }{
		{"an escape of the format", "_x0041_", "_x0041_"},
		{"an escaped escape", "_x005F_x0041_", "_x005F_x0041_"},
		{"marks of XML", `<a href="&amp;">'</a>`, `<a href="&amp;">'</a>`},
		{"blanks at the ends", " a\t", " a\t"},
		{"lines", "a\nb", "a\nb"},
		{"a control character", "a\x00b\x1f", "a\ufffdb\ufffd"},
		{"broken letters", "a\xffb", "a\ufffdb"},
		{"no character", "\uffff", "\ufffd"},
		{"as long as may be", long, long},
		{"too long", long + "xy", long[:4*((32_767-44)/2)] + " … [cut: a spreadsheet's cell holds no more]"},
	} {
		got, err := open(t, write(t, book(texts(row.words)))).GetCellValue("Texts", "A2")
		if err != nil || got != row.want {
			t.Errorf("%s: %d bytes %.60q…, want %d, %v", row.name, len(got), got, len(row.want), err)
		}
	}
}

func cellOf(t *rapid.T) sheet.Cell {
	limit := int64(999_999_999_999_999)
	cell := rapid.OneOf(
		rapid.Map(rapid.String().Filter(printable), sheet.Text),
		rapid.Map(rapid.StringMatching(`[=+@;\t -]{1,3}[A-Z0-9_x|!"',]*`), sheet.Text),
		rapid.Map(rapid.Int64Range(-limit, limit), sheet.Whole),
		rapid.Map(rapid.Float64Range(-1e12, 1e12), sheet.Fraction),
		rapid.Map(rapid.Int64Range(-limit, limit), func(cents int64) sheet.Cell { return sheet.Money(cents, "EUR") }),
		rapid.Map(rapid.Int64Range(0, 3_000_000_000), func(s int64) sheet.Cell { return sheet.Hours(time.Duration(s) * time.Second) }),
	).Draw(t, "cell")
	return cell
}

func printable(s string) bool {
	return strings.IndexFunc(s, func(r rune) bool { return r < ' ' && r != '\n' && r != '\t' || r == 0xfffe || r == 0xffff }) < 0
}

// What is written is read back the same, from both.
func TestReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table := sheet.Table{Name: "Any"}
		for i := range rapid.IntRange(1, 4).Draw(t, "columns") {
			table.Columns = append(table.Columns, sheet.Column{Heading: strconv.Itoa(i)})
		}
		for range rapid.IntRange(0, 4).Draw(t, "rows") {
			row := sheet.Row{Total: rapid.Bool().Draw(t, "total")}
			for range table.Columns {
				row.Cells = append(row.Cells, cellOf(t))
			}
			table.Rows = append(table.Rows, row)
		}
		var out bytes.Buffer
		if err := sheet.WriteCSV(&out, table); err != nil {
			t.Fatal(err)
		}
		lines, err := csv.NewReader(&out).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		file := open(t, write(t, book(table)))
		for i, row := range table.Rows {
			for j, cell := range row.Cells {
				compare(t, file, sheet.At(j, i), cell.String(), lines[i+1][j])
			}
		}
	})
}

// compare holds what both readers found against what was written: a number by
// value, a text to the letter but for the apostrophe of CSV.
func compare(t *rapid.T, file *excelize.File, at, want, inCSV string) {
	got, err := file.GetCellValue("Any", at, excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	kind, _ := file.GetCellType("Any", at)
	if kind == excelize.CellTypeUnset && want != "" {
		wrote, _ := strconv.ParseFloat(want, 64)
		read, err := strconv.ParseFloat(got, 64)
		plain, err2 := strconv.ParseFloat(inCSV, 64)
		if err != nil || err2 != nil || read != wrote || plain != wrote {
			t.Fatalf("%s: wrote %s, read %s and %s", at, want, got, inCSV)
		}
		return
	}
	if got != want || !same([]string{inCSV}, want) {
		t.Fatalf("%s: wrote %q, read %q and %q", at, want, got, inCSV)
	}
}

// An amount is the number of its cents over a hundred, to the last bit.
func TestMoneyIsExact(t *testing.T) {
	for _, cents := range []int64{0, 1, 10, 99, -1, 100_07, 33_33, 999_999_999_999_999, -999_999_999_999_998} {
		table := sheet.Table{Name: "Any", Columns: []sheet.Column{{}}, Rows: []sheet.Row{{Cells: []sheet.Cell{sheet.Money(cents, "USD")}}}}
		raw, err := open(t, write(t, book(table))).GetCellValue("Any", "A2", excelize.Options{RawCellValue: true})
		value, err2 := strconv.ParseFloat(raw, 64)
		if err != nil || err2 != nil || value != float64(cents)/100 || int64(math.Round(value*100)) != cents {
			t.Errorf("%d cents: %s", cents, raw)
		}
	}
}

func TestRefused(t *testing.T) {
	with := func(c sheet.Cell) sheet.Workbook {
		return book(sheet.Table{Name: "A", Columns: []sheet.Column{{}}, Rows: []sheet.Row{{Cells: []sheet.Cell{c}}}})
	}
	named := func(names ...string) sheet.Workbook {
		var b sheet.Workbook
		for _, n := range names {
			b.Tables = append(b.Tables, texts2(n))
		}
		return book(b.Tables...)
	}
	changed := func(change func(b *sheet.Workbook)) sheet.Workbook {
		b := named("A")
		change(&b)
		return b
	}
	for name, row := range map[string]struct {
		book sheet.Workbook
		want error
	}{
		"no number":              {with(sheet.Fraction(math.NaN())), sheet.ErrCell},
		"without end":            {with(sheet.Percent(math.Inf(-1))), sheet.ErrCell},
		"sixteen digits":         {with(sheet.Whole(1_000_000_000_000_000)), sheet.ErrCell},
		"the least number":       {with(sheet.Money(math.MinInt64, "USD")), sheet.ErrCell},
		"a currency of words":    {with(sheet.Money(1, `"`)), sheet.ErrCell},
		"before days were right": {with(sheet.Date(time.Date(1900, 2, 28, 0, 0, 0, 0, time.UTC))), sheet.ErrCell},
		"no day":                 {with(sheet.Date(time.Time{})), sheet.ErrCell},
		"an empty formula":       {with(sheet.Formula("", sheet.Whole(1))), sheet.ErrCell},
		"a formula's value":      {with(sheet.Formula("1/3", sheet.Fraction(math.Inf(1)))), sheet.ErrCell},
		"no tables":              {book(), sheet.ErrTable},
		"no date":                {changed(func(b *sheet.Workbook) { b.Made = time.Time{} }), sheet.ErrTable},
		"no such paper":          {changed(func(b *sheet.Workbook) { b.Paper = "foolscap" }), sheet.ErrTable},
		"no name":                {named(""), sheet.ErrTable},
		"a long name":            {named(strings.Repeat("a", 32)), sheet.ErrTable},
		"a sign in the name":     {named("a/b"), sheet.ErrTable},
		"a reserved name":        {named("History"), sheet.ErrTable},
		"the same name":          {named("Lines", "lines"), sheet.ErrTable},
		"no columns":             {changed(func(b *sheet.Workbook) { b.Tables[0] = sheet.Table{Name: "A"} }), sheet.ErrTable},
		"too many columns":       {changed(func(b *sheet.Workbook) { b.Tables[0].Columns = make([]sheet.Column, 16_385) }), sheet.ErrTable},
		"too many rows":          {changed(func(b *sheet.Workbook) { b.Tables[0].Rows = make([]sheet.Row, 1_048_576) }), sheet.ErrTable},
		"too wide":               {changed(func(b *sheet.Workbook) { b.Tables[0].Columns[0].Width = 256 }), sheet.ErrTable},
		"a long footer":          {changed(func(b *sheet.Workbook) { b.Tables[0].Footer = strings.Repeat("a", 201) }), sheet.ErrTable},
		"more cells than heads":  {changed(func(b *sheet.Workbook) { b.Tables[0].Columns = b.Tables[0].Columns[:0] }), sheet.ErrTable},
	} {
		var out bytes.Buffer
		if err := sheet.WriteXLSX(&out, row.book); !errors.Is(err, row.want) || out.Len() > 0 {
			t.Errorf("%s: %v and %d bytes", name, err, out.Len())
		}
	}
	if err := sheet.WriteCSV(io.Discard, with(sheet.Fraction(math.NaN())).Tables[0]); !errors.Is(err, sheet.ErrCell) {
		t.Error(err)
	}
}

// A made name is always one that a workbook takes.
func TestFitName(t *testing.T) {
	for words, want := range map[string]string{"Engine 4": "Engine 4", "a/b [c]": "a b  c", "'lines'": "lines", "": "Table", "history": "Table",
		strings.Repeat("ab ", 20): "ab ab ab ab ab ab ab ab ab ab a"} {
		if got := sheet.FitName(words); got != want {
			t.Errorf("%q: %q, want %q", words, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		write(t, book(texts2(sheet.FitName(rapid.String().Draw(t, "words")))))
	})
}

// A year has no comma, a small fraction its digits, a struck row a line through it,
// and a row is as tall as its longest text.
func TestShown(t *testing.T) {
	long := strings.Repeat("a reason that goes on ", 20)
	file := open(t, write(t, book(sheet.Table{Name: "Shown", Columns: []sheet.Column{{Heading: "value", Width: 40}}, Rows: []sheet.Row{
		{Cells: []sheet.Cell{sheet.Ordinal(2027)}},
		{Cells: []sheet.Cell{sheet.Fraction(0.0525)}},
		{Cells: []sheet.Cell{sheet.Text("in no sum")}, Struck: true},
		{Cells: []sheet.Cell{sheet.Text(long)}},
		{Cells: []sheet.Cell{sheet.Text(strings.Repeat(long, 30))}},
	}})))
	for _, row := range []struct {
		name, at, shown string
		struck          bool
		line            int
		least, most     float64
	}{
		{"year", "A2", "2027", false, 2, 15, 15},
		{"small fraction", "A3", "0.0525", false, 3, 15, 15},
		{"struck", "A4", "in no sum", true, 4, 15, 15},
		{"long", "A5", long, false, 5, 11 * 15, 15 * 15}, // 440 characters, 40 a line
		{"longer than a row can be", "A6", strings.Repeat(long, 30), false, 6, 409, 409},
	} {
		shown, err := file.GetCellValue("Shown", row.at)
		height, err2 := file.GetRowHeight("Shown", row.line)
		id, err3 := file.GetCellStyle("Shown", row.at)
		style, err4 := file.GetStyle(id)
		if err := errors.Join(err, err2, err3, err4); err != nil || shown != row.shown || height < row.least || height > row.most {
			t.Errorf("%s: %.60q, %v high, %v", row.name, shown, height, err)
		} else if struck := style.Font != nil && style.Font.Strike; struck != row.struck {
			t.Errorf("%s: struck %v", row.name, struck)
		}
	}
}
