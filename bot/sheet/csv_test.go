package sheet_test

import (
	"encoding/csv"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot/sheet"
)

func TestNeutral(t *testing.T) {
	for _, row := range []struct{ name, cell, want string }{
		{"empty", "", ""},
		{"words", "Inward latches", "Inward latches"},
		{"a number", "2.5", "2.5"},
		{"a formula", "=1+1", "'=1+1"},
		{"a sum", "+1", "'+1"},
		{"a minus", "-1", "'-1"},
		{"a function of old", "@SUM(A1)", "'@SUM(A1)"},
		{"after blanks", "  =1+1", "'  =1+1"},
		{"after a blank that does not break", "\u00a0=1+1", "'\u00a0=1+1"},
		{"after a tab", "\t=1+1", "\t'=1+1"},
		{"after a line's end", "\r\n=1+1", "\r\n'=1+1"},
		{"a wide sign", "＝1+1", "'＝1+1"},
		{"a sign in the middle", "1=1", "1=1"},
		{"after a semicolon", "a;=1;b; -2", "a;'=1;b;' -2"},
		{"after a quote", `a;"=1`, `a;'"=1`},
	} {
		if got := sheet.Neutral(row.cell); got != row.want {
			t.Errorf("%s: %q, want %q", row.name, got, row.want)
		}
	}
}

// texts is a table of one row of texts.
func texts(words ...string) sheet.Table {
	table := sheet.Table{Name: "Texts", Rows: []sheet.Row{{}}}
	for _, w := range words {
		table.Columns = append(table.Columns, sheet.Column{Heading: w})
		table.Rows[0].Cells = append(table.Rows[0].Cells, sheet.Text(w))
	}
	return table
}

// Whatever a text holds, what is read back is it, but for apostrophes,
// and no reader that splits at commas, semicolons or tabs sees a formula.
func FuzzWriteCSV(f *testing.F) {
	for _, seed := range []string{"", "=1", "a;=1", "a\"\n=1,", " \t@x", "\ufeff-2", "plain"} {
		f.Add(seed, "x")
	}
	f.Fuzz(func(t *testing.T, one, two string) {
		var out strings.Builder
		if err := sheet.WriteCSV(&out, texts(one, two)); err != nil {
			t.Fatal(err)
		}
		for _, comma := range []rune{',', ';', '\t'} {
			r := csv.NewReader(strings.NewReader(out.String()))
			r.Comma, r.LazyQuotes, r.FieldsPerRecord = comma, comma != ',', -1
			rows, err := r.ReadAll()
			if err != nil {
				t.Fatalf("%q: %v", out.String(), err)
			}
			if comma == ',' && (len(rows) != 2 || !same(rows[0], one, two) || !same(rows[1], one, two)) {
				t.Fatalf("%q and %q became %q", one, two, rows)
			}
			for _, cell := range slices.Concat(rows...) {
				if strings.HasPrefix(cell, "=") || strings.HasPrefix(cell, "@") || strings.HasPrefix(cell, "+") || strings.HasPrefix(cell, "-") {
					t.Fatalf("split at %q, %q holds %q", comma, out.String(), cell)
				}
			}
		}
	})
}

// same compares a line with what was written. Go's reader takes every line's end
// for the short one.
func same(row []string, want ...string) bool {
	bare := func(s string) string { return strings.ReplaceAll(strings.ReplaceAll(s, "\r\n", "\n"), "'", "") }
	return slices.EqualFunc(row, want, func(a, b string) bool { return bare(a) == bare(b) })
}

var day = time.Date(2026, time.November, 28, 23, 30, 0, 0, time.FixedZone("east", 9*60*60))

// kinds has a cell of each kind, and of a formula.
func kinds() sheet.Table {
	return sheet.Table{
		Name: "Kinds", Footer: "4 R&D sheets", Landscape: true,
		Columns: []sheet.Column{{Heading: "kind", Width: 20}, {Heading: "value"}},
		Rows: []sheet.Row{
			{Cells: []sheet.Cell{sheet.Text("text"), sheet.Text(`=HYPERLINK("x")`)}},
			{Cells: []sheet.Cell{sheet.Text("whole"), sheet.Whole(-12345)}},
			{Cells: []sheet.Cell{sheet.Text("fraction"), sheet.Fraction(0.125)}},
			{Cells: []sheet.Cell{sheet.Text("percent"), sheet.Percent(0.07)}},
			{Cells: []sheet.Cell{sheet.Text("money"), sheet.Money(-123456, "USD")}},
			{Cells: []sheet.Cell{sheet.Text("date"), sheet.Date(day)}},
			{Cells: []sheet.Cell{sheet.Text("hours"), sheet.Hours(100 * time.Minute)}},
			{Cells: []sheet.Cell{sheet.Text("nothing")}},
			{},
			{Cells: []sheet.Cell{sheet.Text("total"), sheet.Formula("ROUND("+sheet.At(1, 4)+"*2,2)", sheet.Money(-246912, "USD"))}, Total: true},
		},
	}
}

func TestWriteCSV(t *testing.T) {
	var out strings.Builder
	if err := sheet.WriteCSV(&out, kinds()); err != nil {
		t.Fatal(err)
	}
	want := strings.ReplaceAll(`"kind","value"
"text","'=HYPERLINK(""x"")"
"whole","-12345"
"fraction","0.125"
"percent","7%"
"money","-1234.56"
"date","2026-11-28"
"hours","1.67"
"nothing",""
"",""
"total","-2469.12"
`, "\n", "\r\n")
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Error(diff)
	}
}

type brokenPipe struct{}

func (brokenPipe) Write([]byte) (int, error) { return 0, errors.New("broken pipe") }

func TestWritersSayWhatFailed(t *testing.T) {
	if err := sheet.WriteCSV(brokenPipe{}, texts("a")); err == nil || !strings.Contains(err.Error(), "write csv") {
		t.Error(err)
	}
	if err := sheet.WriteXLSX(brokenPipe{}, book(texts("a"))); err == nil || !strings.Contains(err.Error(), "write workbook") {
		t.Error(err)
	}
}
