package sheet_test

import (
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"kitbell/bot/sheet"
)

func TestFormulas(t *testing.T) {
	for _, row := range []struct {
		name, formula string
		fits          bool
	}{
		{"a sum", "SUM(A2:A4)", true},
		{"of another table", "SUM(" + sheet.In("Chief's lines", sheet.Range(1, 0, 27, 9)) + ")*1.06", true},
		{"words and conditions", `IF(A2>=3,"a ""b"" | c",ROUND(-B2%,2)&"x")`, true},
		{"fixed addresses", "SUMIFS($C$2:$C$9,$A$2:$A$9,A12)", true},
		{"truth", "IF(AND(TRUE,A2<>0),1,2)", true},
		{"with its sign", "=SUM(A2:A4)", false},
		{"a link to a program", "cmd|' /C calc'!A0", false},
		{"a link", `HYPERLINK("https://example.org")`, false},
		{"the network", `WEBSERVICE("https://example.org")`, false},
		{"another file", "[1]Sheet1!A1", false},
		{"another file by its path", "'C:[book.xlsx]A'!A1", false},
		{"a name", "SECRET+1", false},
		{"a list in braces", "SUM({1,2})", false},
		{"an open quote", `"abc`, false},
		{"lower case", "sum(A1)", false},
		{"two lines", "SUM(A1)\n", true},
		{"a line's end within", "SUM(\nA1)", false},
		{"too long", strings.Repeat("1+", 4096) + "1", false},
	} {
		table := texts("a")
		table.Rows[0].Cells[0] = sheet.Formula(row.formula, sheet.Whole(1))
		var out strings.Builder
		if err := sheet.WriteCSV(&out, table); (err == nil) != row.fits || err != nil && !errors.Is(err, sheet.ErrCell) {
			t.Errorf("%s: %v", row.name, err)
		}
	}
}

// No formula that is let through reaches beyond the workbook.
func FuzzFormula(f *testing.F) {
	for _, seed := range []string{"SUM(A1:B2)", "'a'!A1", `"x"&"y"`, "HYPERLINK(A1)", "[a]b!c", "cmd|'x'!A0", "''!A1", "1e5"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, formula string) {
		table := texts("a")
		table.Rows[0].Cells[0] = sheet.Formula(formula, sheet.Whole(1))
		if sheet.WriteCSV(io.Discard, table) != nil {
			return
		}
		outside := ""
		for i, part := range strings.Split(formula, `"`) { // every second is quoted words
			if i%2 == 0 {
				outside += part + " "
			}
		}
		if strings.ContainsAny(outside, "|[]{}\\@#") || strings.Contains(outside, "HYPERLINK(") || strings.Contains(outside, "://") {
			if !strings.Contains(outside, "'") {
				t.Fatalf("%q was let through", formula)
			}
		}
		open(t, write(t, book(table)))
	})
}

func TestAddresses(t *testing.T) {
	got := []string{sheet.At(0, 0), sheet.At(25, 8), sheet.At(26, 0), sheet.At(701, 0), sheet.At(702, 0), sheet.Range(2, 0, 2, 24), sheet.In("Chief's", "A2")}
	want := []string{"A2", "Z10", "AA2", "ZZ2", "AAA2", "C2:C26", "'Chief''s'!A2"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	rapid.Check(t, func(t *rapid.T) {
		column, row := rapid.IntRange(0, 16_383).Draw(t, "column"), rapid.IntRange(0, 1_048_574).Draw(t, "row")
		if at, err := excelize.CoordinatesToCellName(column+1, row+2); err != nil || sheet.At(column, row) != at {
			t.Fatal(sheet.At(column, row), at, err)
		}
	})
}
