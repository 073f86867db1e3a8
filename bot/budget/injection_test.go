package budget_test

import (
	"bytes"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"kitbell/bot/budget"
	"kitbell/bot/sheet"
)

// plant sets every text in a value but what names others (keys, numbers, the
// currency) and gives how many it set. An empty text stays: it says that nothing is
// there.
func plant(v reflect.Value, words string) int {
	n := 0
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			n = plant(v.Elem(), words)
		}
	case reflect.Slice:
		for i := range v.Len() {
			n += plant(v.Index(i), words)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			field := v.Type().Field(i)
			if field.IsExported() && !slices.Contains([]string{"Key", "Number", "Currency", "Decided"}, field.Name) && field.Type.String() != "time.Time" {
				n += plant(v.Field(i), words)
			}
		}
	case reflect.String:
		if v.Len() > 0 && v.CanSet() {
			v.SetString(words)
			n = 1
		}
	}
	return n
}

// hostile is the full request with words for every text that came from people, and
// for those that did not.
func hostile(t *testing.T, words string) (budget.Submitted, budget.Presentation) {
	t.Helper()
	s := fullLife(t)
	for i := range s.Corrections {
		s.Corrections[i].Line = "" // all of the whole: lines are named by planted words
	}
	if n := plant(reflect.ValueOf(&s).Elem(), words); n < 1000 {
		t.Fatalf("only %d texts were planted", n)
	}
	is := func(string) string { return words }
	p := shown()
	p.Department, p.Item, p.Unit, p.Member = words, is, is, is
	return s, p
}

// What people write makes no formula: a workbook has those of the program and no
// others, and CSV has no field that a spreadsheet could take for one.
func TestNoFormulaFromText(t *testing.T) {
	harmless, p := hostile(t, "harmless")
	own := formulaCells(t, harmless.Workbook(p))
	for _, words := range []string{
		`=HYPERLINK("http://127.0.0.1/","x")`, "+cmd|' /C calc'!A0", "-2+3", "@SUM(1+1)", "=1+1", "\t=1+1", "\r=1+1", "\n=1+1", " =1+1", "x\n=1+1", "x\t=1+1", "x;=1+1",
		`"=1+1`, "＝1+1", "\ufeff=1+1", "=", "'=1+1", "{=1+1}", "1+1", "#REF!",
	} {
		s, p := hostile(t, words)
		book := s.Workbook(p)
		if got := formulaCells(t, book); !slices.Equal(got, own) {
			t.Errorf("%q: formulas %q", words, got)
		}
		for _, table := range book.Tables {
			for i, row := range rowsOf(t, table) {
				for _, field := range row {
					if !neutral(field) {
						t.Errorf("%q: line %d of %s has %q", words, i+1, table.Name, field)
					}
				}
			}
		}
	}
}

// formulaCells are the formulas of a workbook where they stand.
func formulaCells(t *testing.T, book sheet.Workbook) []string {
	file := openBook(t, book)
	var all []string
	for _, table := range file.GetSheetList() {
		for _, at := range formulas(t, file, table) {
			formula, err := file.GetCellFormula(table, at)
			if err != nil {
				t.Fatal(err)
			}
			all = append(all, table+"!"+at+"="+formula)
		}
	}
	return all
}

// start is where a spreadsheet may see a formula start in a field.
var start = regexp.MustCompile("(^|[;\t\r\n])[\\s\u00a0\u3000\ufeff\"]*[=+\\-@＝＋－＠]")

func neutral(field string) bool {
	_, err := strconv.ParseFloat(field, 64)
	return err == nil || !start.MatchString(field)
}

// The same words harm no paper, and no link is in any file.
func TestHostilePaper(t *testing.T) {
	s, p := hostile(t, "=HYPERLINK(\"http://127.0.0.1/\")\t\r\n{nb} \x00\xff)\\(")
	data := printed(t, s, p)
	if bytes.Contains(data, []byte("/URI")) || bytes.Contains(data, []byte("/JavaScript")) {
		t.Error("a link is in the PDF")
	}
	if all := words(textOf(t, data)); !strings.Contains(all, `=HYPERLINK("http://127.0.0.1/") {nb} `+"\ufffd)\\(") {
		t.Error("the words are not shown as they are")
	}
	file := openBook(t, s.Workbook(p))
	for _, table := range file.GetSheetList() {
		if links, err := file.GetHyperLinkCells(table, ""); err != nil || len(links) > 0 {
			t.Errorf("%s: links %q, %v", table, links, err)
		}
	}
	if kind, err := file.GetCellType("Request", "D2"); err != nil || kind != excelize.CellTypeInlineString {
		t.Errorf("%v, %v", kind, err)
	}
}
