package budget_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"kitbell/bot/budget"
	"kitbell/bot/sheet"
)

var raw = excelize.Options{RawCellValue: true}

func openBook(t fataler, book sheet.Workbook) *excelize.File {
	file, err := excelize.OpenReader(bytes.NewReader(xlsx(t, book)))
	if err != nil {
		t.Fatal(err)
	}
	return file
}

// formulas are the addresses of a table's live formulas.
func formulas(t fataler, file *excelize.File, table string) []string {
	rows, err := file.GetRows(table)
	if err != nil {
		t.Fatal(err)
	}
	var found []string
	for i, row := range rows {
		for j := range row {
			at, _ := excelize.CoordinatesToCellName(j+1, i+1)
			if formula, _ := file.GetCellFormula(table, at); formula != "" {
				found = append(found, at)
			}
		}
	}
	return found
}

// recomputed is how many formulas of a workbook give, computed anew, what stands
// beside them.
func recomputed(t fataler, file *excelize.File) int {
	n := 0
	for _, table := range file.GetSheetList() {
		for _, at := range formulas(t, file, table) {
			is, err := file.CalcCellValue(table, at, raw)
			if err != nil {
				t.Fatalf("%s!%s: %v", table, at, err)
			}
			wrote, _ := file.GetCellValue(table, at, raw)
			x, y := number(t, []byte(is)), number(t, []byte(wrote))
			if math.Abs(x-y) > 1e-9*math.Max(1, math.Abs(y)) {
				formula, _ := file.GetCellFormula(table, at)
				t.Fatalf("%s!%s: %s gives %s, and %s stands beside it", table, at, formula, is, wrote)
			}
			n++
		}
	}
	return n
}

// column is where a table has a heading.
func column(t fataler, rows [][]string, heading string) int {
	at := slices.Index(rows[0], heading)
	if at < 0 {
		t.Fatalf("no column %q in %q", heading, rows[0])
	}
	return at
}

// sums are the amounts of the row that begins with some cells, in cents.
func sums(t fataler, rows [][]string, is func(row []string) bool) budget.Sums {
	first := column(t, rows, "goods")
	for _, row := range rows[1:] {
		if len(row) > first+3 && is(row) {
			var cents [4]int64
			for i := range cents {
				words := strings.NewReplacer("$", "", ",", "").Replace(row[first+i]) // what no spreadsheet keeps stands in words
				cents[i] = int64(math.Round(number(t, []byte(words)) * 100))
			}
			return budget.Sums{Goods: cents[0], Shipping: cents[1], Tax: cents[2], Total: cents[3]}
		}
	}
	return budget.Sums{}
}

// rowsOf are a table's rows as CSV has them.
func rowsOf(t fataler, table sheet.Table) [][]string {
	var out bytes.Buffer
	if err := sheet.WriteCSV(&out, table); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&out).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

func tableOf(t fataler, book sheet.Workbook, name string) sheet.Table {
	at := slices.IndexFunc(book.Tables, func(table sheet.Table) bool { return table.Name == name })
	if at < 0 {
		t.Fatalf("no table %q", name)
	}
	return book.Tables[at]
}

// outputsAgree holds CSV and XLSX to the request's own totals.
func outputsAgree(t fataler, r budget.Request) {
	book := r.Workbook(shown())
	file := openBook(t, book)
	inCSV := rowsOf(t, tableOf(t, book, "Request"))
	inXLSX, err := file.GetRows("Request", raw)
	if err != nil {
		t.Fatal(err)
	}
	for name, rows := range map[string][][]string{"CSV": inCSV, "XLSX": inXLSX} {
		same := func(what string, want budget.Sums, is func(row []string) bool) {
			if got := sums(t, rows, is); got != want {
				t.Fatalf("%s: %s is %+v, and %+v by the request", name, what, got, want)
			}
		}
		item := column(t, rows, "item")
		if len(r.Lines) > 0 {
			same("the total", r.Total().Sums, func(row []string) bool { return row[0] == "" && row[item] == "total" })
		}
		for _, kind := range budget.LineKinds() {
			same(string(kind), r.OfKind(kind).Sums, func(row []string) bool { return row[item] == "of this kind" && row[2] == string(kind) })
		}
		for year := r.Year; year < r.Year+r.Years; year++ {
			same(fmt.Sprint(year), r.OfYear(year).Sums, func(row []string) bool { return row[item] == "of this year" && row[1] == fmt.Sprint(year) })
		}
		for i, l := range r.Lines {
			if l.Excluded == "" {
				same(l.Key, l.Sums, func(row []string) bool { return row[0] == fmt.Sprint(i+1) })
			}
		}
	}
	years := rowsOf(t, tableOf(t, book, "Years"))
	if got := sums(t, years, func(row []string) bool { return row[0] == "all" }); got != r.Total().Sums {
		t.Fatalf("years: %+v", got)
	}
}

// agreeOnPaper holds the PDF to them.
func agreeOnPaper(t fataler, r budget.Request) {
	all := words(textOf(t, printed(t, r, shown())))
	money := func(cents int64) string { return budget.Money(cents, r.Terms.Currency) }
	row := "total"
	for year := r.Year; year < r.Year+r.Years; year++ {
		if (year-r.Year)%5 == 0 {
			row = "total"
		}
		row += "\n" + money(r.OfYear(year).Total)
		if year == r.Year+r.Years-1 {
			row += "\n" + money(r.Total().Sums.Total)
		}
		if (year-r.Year)%5 == 4 || year == r.Year+r.Years-1 {
			if !strings.Contains(all, row+"\n") {
				t.Fatalf("no row %q on paper", row)
			}
		}
		if of := r.OfYear(year); of.Lines > 0 {
			if sums := fmt.Sprintf("total\n%s\n%s\n%s\n", money(of.Goods), money(of.Shipping+of.Tax), money(of.Sums.Total)); !strings.Contains(all, sums) {
				t.Fatalf("no sums %q on paper", sums)
			}
		}
	}
}

// Every output has the same cents: totals of all, by kind and by year, and each
// line's.
func TestOutputsAgree(t *testing.T) {
	halves := fullBasis()
	halves.Terms.Tax, halves.Terms.Shipping, halves.Terms.Escalation = budget.RateOf(0.05), budget.RateOf(0.015), budget.RateOf(0.005)
	whole := fullBasis()
	whole.Terms.Tax, whole.Terms.Shipping, whole.Years = 1_000_000, 1, 10
	euros := fullBasis()
	euros.Terms.Currency = "EUR"
	great := fullBasis()
	great.Asks = append(great.Asks, budget.Ask{Own: true, Title: "dear", Pieces: 1_000_000, Year: 2029, Price: budget.Price{Cents: 970_873_786, Source: budget.AskersPrice}},
		budget.Ask{Own: true, Title: "beyond counting", Pieces: math.MaxInt, Price: budget.Price{Cents: math.MaxInt64, Source: budget.AskersPrice}})
	empty := tarnHarbor()
	empty.Kits = nil
	for name, basis := range map[string]budget.Basis{"of every kind": fullBasis(), "half cents": halves, "rates at their ends": whole, "euros": euros, "great amounts": great, "empty": empty} {
		t.Run(name, func(t *testing.T) {
			r := build(t, basis)
			outputsAgree(t, r)
			recomputed(t, openBook(t, r.Workbook(shown())))
			agreeOnPaper(t, r)
		})
	}
}

func TestAnyOutputsAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBasis(t)
		b.Terms.Escalation = budget.Rate(rapid.Int64Range(0, 120_000).Draw(t, "escalation"))
		r, err := budget.Build(b)
		if err != nil {
			t.Fatal(err)
		}
		outputsAgree(t, r)
		switch rapid.IntRange(0, 9).Draw(t, "more") { // both take their time
		case 0:
			agreeOnPaper(t, r)
		case 1, 2:
			recomputed(t, openBook(t, r.Workbook(shown())))
		}
	})
}

// The formulas live: other rates in the workbook give the totals that the request
// has with them. The prices of the request's lines were chosen so that half cents
// come about.
func TestOtherTerms(t *testing.T) {
	b := fullBasis()
	file := openBook(t, build(t, b).Workbook(shown()))
	b.Terms.Tax, b.Terms.Shipping, b.Terms.Escalation = budget.RateOf(0.05), budget.RateOf(0.0725), budget.RateOf(0.025)
	for at, rate := range map[string]float64{"B2": 0.05, "B3": 0.0725, "B4": 0.025} {
		if err := file.SetCellValue("Terms", at, rate); err != nil {
			t.Fatal(err)
		}
	}
	other := build(t, b)
	want := []string{}
	for year := 2028; year <= 2030; year++ {
		want = append(want, fmt.Sprint(other.OfYear(year).Total))
	}
	want = append(want, fmt.Sprint(other.Total().Sums.Total))
	var got []string
	for row := 2; row <= 5; row++ {
		value, err := file.CalcCellValue("Years", fmt.Sprintf("H%d", row), raw)
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, fmt.Sprint(int64(math.Round(number(t, []byte(value))*100))))
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// What was signed stands as it was signed, even if it does not add up: then there
// is no formula that would say otherwise.
func TestSignedStands(t *testing.T) {
	r := fullRequest(t)
	at := slices.IndexFunc(r.Lines, func(l budget.Line) bool { return l.Key == "wish/2028/lever" })
	r.Lines[at].Sums.Shipping++ // as if an older program had rounded otherwise
	r.Lines[at].Sums.Total++
	file := openBook(t, r.Workbook(shown()))
	recomputed(t, file)
	line := formulas(t, file, "Request")
	if address := fmt.Sprintf("O%d", at+2); slices.Contains(line, address) || !slices.Contains(line, fmt.Sprintf("P%d", at+2)) {
		t.Errorf("the shipping that was signed has a formula, or its tax none")
	}
}

// Lines in no total are shown, struck through, without any amount, and say why.
func TestStruckLines(t *testing.T) {
	r := fullRequest(t)
	book := r.Workbook(shown())
	table := tableOf(t, book, "Request")
	rows := rowsOf(t, table)
	struck := 0
	for i, l := range r.Lines {
		row := rows[i+1]
		counts, amounts := row[column(t, rows, "in the totals")], strings.Join(row[column(t, rows, "price each"):column(t, rows, "in the totals")], "")
		if table.Rows[i].Struck != (l.Excluded != "") || (counts == "yes") != (l.Excluded == "") {
			t.Errorf("%s: struck %v, %q", l.Key, table.Rows[i].Struck, counts)
		}
		if l.Excluded != "" {
			struck++
			if counts != "no: "+l.Excluded || amounts != "" {
				t.Errorf("%s: %q, %q", l.Key, counts, amounts)
			}
		}
	}
	if struck != 3 {
		t.Errorf("%d lines are struck", struck)
	}
	if problems := rowsOf(t, tableOf(t, book, "Problems")); len(problems) != 4 {
		t.Errorf("%q", problems)
	}
}

// Each table of what was handed in, a row of it.
func TestTables(t *testing.T) {
	s := fullLife(t)
	book := s.Workbook(shown())
	for _, row := range []struct{ table, line string }{
		{"Request", "42|2028|wish|under door lever|Ours bend on heavy doors. 4 crews ask for it.|all 11 in service|11|1|2|13|118.00|list price, invented|118.00|1534.00|92.04|126.56|1752.60|yes"},
		{"Request", "40|2028|conversion|latch film|Version 3 of the kit list has 2 of it.|engine 5, tower 6|2|1|0|2|20.83|receipt, queue line 52, 2026-10-01|20.83|41.66|2.50|3.44|47.60|yes"},
		{"Years", "2029|103%|20|0|866.29|51.98|71.46|989.73"},
		{"Evidence", "2026-11-01|under door lever|wanted and absent|1||k03|engine 2|journal entry use/2026-11-01/7|42"},
		{"Evidence", "2026-10-01|latch film|paid|3|62.50|k01|engine 1|queue line 52|16, 28, 40, 60, 81"},
		{"Model", "under door lever|11, 31, 42, 55, 76|0.16|0.084|0.312|0.0953846153846154|0.01|0.00525|0.0195|0.00596153846153846"},
		{"Model", "31 of 52 entry calls recorded. Recorded calls are a sample that nobody drew: crews write down what they remember, so the rest may differ."},
		{"Problems", "no price|44||||2028|Nobody has a price for the something without a price. It is in no total."},
		{"Terms", "tax|8.25%|82500|Of a line's goods, rounded by itself. Shipping is not taxed."},
		{"Terms", "prior (assumed)|pieces: 0.5, kit-years: 5||assumed before records: one piece lost or broken in ten kit-years"},
		{"Terms", "digest|" + s.Digest + "||SHA-256 of what was signed, byte for byte."},
		{"What became of it", "42|2028|under door lever|13|1752.60|partly funded|8|1000.00|752.60|5|620.00|0.00|4|" +
			"1 Jul 2027: partly funded, 8, $1,000.00; 1 Jul 2027: bought, 5, $620.00, order 4711; 1 Jul 2027: in the kits, 4|1 Jul 2027: corrected, $120.00, the council's word"},
	} {
		var lines []string
		for _, cells := range rowsOf(t, tableOf(t, book, row.table)) {
			lines = append(lines, strings.TrimRight(strings.Join(cells, "|"), "|"))
		}
		if !slices.Contains(lines, row.line) {
			t.Errorf("%s: no row %q in\n%s", row.table, row.line, strings.Join(lines, "\n"))
		}
	}
	forecast := rowsOf(t, tableOf(t, book, "Forecasts"))
	if len(forecast) != 26 || forecast[0][8] != "prior pieces (assumed)" {
		t.Errorf("%d forecasts, %q", len(forecast), forecast[0])
	}
	if n := recomputed(t, openBook(t, book)); n < 500 {
		t.Errorf("only %d formulas", n)
	}
}

// KITBELL_REQUESTS names a folder for workbooks that another program computes anew;
// .ci/sheet/run sets it.
func TestWorkbooksForOthers(t *testing.T) {
	folder := os.Getenv("KITBELL_REQUESTS")
	if folder == "" {
		t.Skip("KITBELL_REQUESTS names no folder: no workbook was written")
	}
	halves := fullBasis()
	halves.Terms.Tax, halves.Terms.Shipping, halves.Terms.Escalation, halves.Years = budget.RateOf(0.05), budget.RateOf(0.015), budget.RateOf(0.005), 10
	for name, book := range map[string]sheet.Workbook{"request": fullLife(t).Workbook(shown()), "half-cents": build(t, halves).Workbook(shown())} {
		if err := os.WriteFile(filepath.Join(folder, name+".xlsx"), xlsx(t, book), 0o600); err != nil {
			t.Fatal(err)
		}
	}
}
