package sheet_test

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"kitbell/bot/sheet"
)

// Another program opens each workbook, computes it anew and finds in every cell
// what was written, and no formula where none was. KITBELL_SPREADSHEET names the
// program (soffice), KITBELL_WORKBOOKS more workbooks to try, with colons between;
// .ci/sheet/run sets both.
func TestRecalculated(t *testing.T) {
	program := os.Getenv("KITBELL_SPREADSHEET")
	if program == "" {
		t.Skip("KITBELL_SPREADSHEET names no spreadsheet program: nothing was recalculated")
	}
	request := save(t, book(lines(0), summary(), texts("=1+1", "+SUM(A1)", "@x", "-1", "1.50", "2026-11-28", " https://example.org")))
	wrong := save(t, book(lines(1), summary()))
	files := append([]string{request, wrong}, filepath.SplitList(os.Getenv("KITBELL_WORKBOOKS"))...)
	anew := recalculate(t, program, files)
	for i, file := range files {
		formulas, off := differences(t, file, anew[i])
		t.Logf("%s: %d formulas", filepath.Base(file), formulas)
		switch {
		case file == wrong:
			want := []string{"Lines!D6: wrote 300.1, and it is 300.09"} // one cent was planted
			if !slices.Equal(off, want) {
				t.Errorf("the planted cent: found %q, want %q", off, want)
			}
		case len(off) > 0:
			t.Errorf("%s:\n%s", file, strings.Join(off, "\n"))
		case file == request && formulas < 19:
			t.Errorf("only %d formulas", formulas)
		}
	}
}

// lines are four lines with their totals; planted cents make the last wrong.
func lines(planted int64) sheet.Table {
	table := sheet.Table{Name: "Lines", Columns: []sheet.Column{{Heading: "item"}, {Heading: "quantity"}, {Heading: "price"}, {Heading: "total"}, {Heading: "year"}}}
	var sum int64
	for i, l := range []struct {
		item            string
		quantity, price int64
		year            int64
	}{{"air wedge", 2, 4400, 2027}, {"wood wedge", 44, 250, 2027}, {"notched card", 33, 120, 2028}, {"latch film", 3, 2083, 2028}} {
		total := l.quantity * l.price
		sum += total
		table.Rows = append(table.Rows, sheet.Row{Cells: []sheet.Cell{sheet.Text(l.item), sheet.Whole(l.quantity), sheet.Money(l.price, "USD"),
			sheet.Formula(sheet.At(1, i)+"*"+sheet.At(2, i), sheet.Money(total, "USD")), sheet.Whole(l.year)}})
	}
	all := sheet.Formula("SUM("+sheet.Range(3, 0, 3, 3)+")", sheet.Money(sum+planted, "USD"))
	table.Rows = append(table.Rows, sheet.Row{Cells: []sheet.Cell{sheet.Text("total"), {}, {}, all}, Total: true})
	return table
}

// summary has a formula of each sort that a request needs, across tables.
func summary() sheet.Table {
	total := sheet.In("Lines", sheet.Range(3, 0, 3, 3))
	years := sheet.In("Lines", sheet.Range(4, 0, 4, 3))
	table := sheet.Table{Name: "Chief's summary", Columns: []sheet.Column{{Heading: "what"}, {Heading: "value"}}}
	for _, row := range []struct {
		name    string
		formula string
		value   sheet.Cell
	}{
		{"goods", "SUM(" + total + ")", sheet.Money(300_09, "USD")},
		{"of 2027", "SUMIFS(" + total + "," + years + ",2027)", sheet.Money(198_00, "USD")},
		{"of 2028", "SUMIF(" + years + ",2028," + total + ")", sheet.Money(102_09, "USD")},
		{"shipping, 6 %", "ROUND(" + sheet.At(1, 0) + "*0.06,2)", sheet.Money(18_01, "USD")},
		{"with shipping", sheet.At(1, 0) + "+" + sheet.At(1, 3), sheet.Money(318_10, "USD")},
		{"next year, 3 % more", "ROUND(" + sheet.At(1, 4) + "*1.03,2)", sheet.Money(327_64, "USD")},
		{"share of 2027", sheet.At(1, 1) + "/" + sheet.At(1, 0), sheet.Percent(19_800.0 / 30_009)},
		{"lines", "COUNTA(" + sheet.In("Lines", sheet.Range(0, 0, 0, 3)) + ")", sheet.Whole(4)},
		{"dearest line", "MAX(" + total + ")", sheet.Money(110_00, "USD")},
		{"pieces", "SUMPRODUCT(" + sheet.In("Lines", sheet.Range(1, 0, 1, 3)) + ")", sheet.Whole(82)},
		{"words", `IF(` + sheet.At(1, 0) + `>100,"more than ""a hundred""","less")`, sheet.Text(`more than "a hundred"`)},
		{"a week later", sheet.At(1, 14) + "+7", sheet.Date(day.AddDate(0, 0, 7))},
		{"no words", `IF(` + sheet.At(1, 0) + `>100,"","less")`, sheet.Text("")},
		{"hours", "SUM(1.5,0.17)", sheet.Hours(100 * time.Minute)},
	} {
		table.Rows = append(table.Rows, sheet.Row{Cells: []sheet.Cell{sheet.Text(row.name), sheet.Formula(row.formula, row.value)}})
	}
	table.Rows = append(table.Rows, sheet.Row{Cells: []sheet.Cell{sheet.Text("day"), sheet.Date(day)}})
	return table
}

func save(t *testing.T, b sheet.Workbook) string {
	path := filepath.Join(t.TempDir(), fmt.Sprintf("book-%d.xlsx", len(b.Tables)))
	if err := os.WriteFile(path, write(t, b), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// always makes LibreOffice compute what it opens, whatever the values in it.
const always = `<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry"><item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item></oor:items>
`

// recalculate has the program open the workbooks and write them anew.
func recalculate(t *testing.T, program string, files []string) []string {
	profile, out := t.TempDir(), t.TempDir()
	if err := os.MkdirAll(filepath.Join(profile, "user"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(profile, "user", "registrymodifications.xcu"), []byte(always), 0o600); err != nil {
		t.Fatal(err)
	}
	args := []string{"-env:UserInstallation=file://" + profile, "--headless", "--convert-to", "xlsx", "--outdir", out}
	command := exec.CommandContext(t.Context(), program, append(args, files...)...)
	if said, err := command.CombinedOutput(); err != nil {
		t.Fatalf("%s: %v\n%s", program, err, said)
	}
	var anew []string
	for _, file := range files {
		anew = append(anew, filepath.Join(out, filepath.Base(file)))
	}
	return anew
}

// differences are the cells of a workbook that another program has otherwise.
func differences(t *testing.T, file, other string) (formulas int, off []string) {
	written, found := openFile(t, file), openFile(t, other)
	for _, table := range written.GetSheetList() {
		rows, err := written.GetRows(table)
		if err != nil {
			t.Fatal(err)
		}
		for i, row := range rows {
			for j := range row {
				at, _ := excelize.CoordinatesToCellName(j+1, i+1)
				formula, _ := written.GetCellFormula(table, at)
				if formula != "" {
					formulas++
				}
				if theirs, _ := found.GetCellFormula(table, at); (theirs == "") != (formula == "") {
					off = append(off, fmt.Sprintf("%s!%s: formula %q became %q", table, at, formula, theirs))
				}
				if wrote, is := value(written, table, at), value(found, table, at); !equal(wrote, is) {
					off = append(off, fmt.Sprintf("%s!%s: wrote %s, and it is %s", table, at, wrote, is))
				}
			}
		}
	}
	return formulas, off
}

func openFile(t *testing.T, path string) *excelize.File {
	file, err := excelize.OpenFile(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { file.Close() })
	return file
}

// value is a cell's, with a mark before what is a text.
func value(file *excelize.File, table, at string) string {
	raw, _ := file.GetCellValue(table, at, excelize.Options{RawCellValue: true})
	if kind, _ := file.GetCellType(table, at); raw != "" && kind != excelize.CellTypeUnset && kind != excelize.CellTypeNumber {
		return "text " + raw
	}
	return raw
}

// equal lets numbers differ in the fifteenth digit.
func equal(a, b string) bool {
	x, err := strconv.ParseFloat(a, 64)
	y, err2 := strconv.ParseFloat(b, 64)
	if err != nil || err2 != nil {
		return a == b
	}
	return math.Abs(x-y) <= 1e-14*math.Max(math.Abs(x), math.Abs(y))
}
