package budget

import (
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"kitbell/bot/sheet"
)

// Presentation says how a request is shown on paper and in a workbook.
type Presentation struct {
	Department string
	Paper      string                     // sheet.Letter or sheet.A4; empty is Letter
	Made       time.Time                  // the day of a draft, and the files' date; no clock is asked
	Zone       *time.Location             // of all days; nil is UTC
	Item       func(id string) string     // how an item is called; nil: by its id
	Unit       func(id string) string     // how a rig is called; nil: by its id
	Member     func(member string) string // how whoever signed is called; nil: by the id
}

// Workbook is the draft of a request as tables: the lines with live formulas, the
// years, and what both rest on. WriteCSV writes each of its tables with the same
// amounts.
func (r Request) Workbook(p Presentation) sheet.Workbook { return newView(r, nil, p).workbook() }

// Workbook is a request that was handed in as tables, with what became of it.
// What stands there is what was signed: nothing is reckoned anew, and a cell whose
// formula would give another amount than the signed one has none.
func (s Submitted) Workbook(p Presentation) sheet.Workbook {
	return newView(s.Request, &s, p).workbook()
}

// view is a request as its outputs show it: lines by number, things by name.
type view struct {
	Presentation
	request   Request
	submitted *Submitted     // nil for a draft
	numbers   map[string]int // of lines, by their key
}

func newView(r Request, s *Submitted, p Presentation) view {
	itself := func(id string) string { return id }
	for _, name := range []*func(string) string{&p.Item, &p.Unit, &p.Member} {
		if *name == nil {
			*name = itself
		}
	}
	if p.Zone == nil {
		p.Zone = time.UTC
	}
	v := view{p, r, s, map[string]int{}}
	for i, l := range r.Lines {
		v.numbers[l.Key] = i + 1
	}
	return v
}

func (v view) workbook() sheet.Workbook {
	tables := []sheet.Table{v.linesTable(), v.yearsTable(), v.evidenceTable(), v.forecastTable(), v.modelTable(), v.problemTable(), v.termsTable()}
	if v.submitted != nil {
		tables = append(tables, v.lifeTable())
	}
	for i := range tables {
		tables[i].Landscape, tables[i].Footer = true, v.footer()
	}
	return sheet.Workbook{Title: v.title(), Made: v.Made, Paper: v.Paper, Tables: tables}
}

// title names the request, as "Budget request, fiscal years 2028 to 2030".
func (v view) title() string {
	first, last := v.request.Year, v.request.Year+v.request.Years-1
	if last <= first {
		return fmt.Sprintf("Budget request, fiscal year %d", first)
	}
	return fmt.Sprintf("Budget request, fiscal years %d to %d", first, last)
}

// standing says whether the request is a draft, or who signed it and when.
func (v view) standing() string {
	if v.submitted == nil {
		return fmt.Sprintf("Draft of %s. Nobody has signed it.", v.date(v.Made))
	}
	return fmt.Sprintf("Request %s, handed in on %s, signed by %s.", v.submitted.Number, v.date(v.submitted.At), v.Member(v.submitted.Signer))
}

func (v view) date(at time.Time) string { return at.In(v.Zone).Format("2 Jan 2006") }

// longestFooter is in bytes; the sheet has room for 200 characters.
const longestFooter = 180

// footer is what stands below each page: first whether anybody signed it.
func (v view) footer() string {
	words := v.standing()
	if v.Department != "" {
		words += " " + v.Department
	}
	for len(words) > longestFooter {
		_, last := utf8.DecodeLastRuneInString(words)
		words = words[:len(words)-last]
	}
	return words
}

// mostDigits is the largest whole number of 15 digits, all that a spreadsheet keeps.
const mostDigits = 999_999_999_999_999

// money is an amount; one that no spreadsheet keeps stands in words.
func (v view) money(cents int64) sheet.Cell {
	if !kept15(cents) {
		return sheet.Text(v.say(cents))
	}
	return sheet.Money(cents, v.request.Terms.Currency)
}

// whole is a count; one that was mistyped beyond what a spreadsheet keeps stands in
// words.
func whole[T int | int64](n T) sheet.Cell {
	if !kept15(int64(n)) {
		return sheet.Text(fmt.Sprint(n))
	}
	return sheet.Whole(int64(n))
}

// ordinal is the number of a line, or a year.
func ordinal(n int) sheet.Cell { return sheet.Ordinal(int64(n)) }

func kept15(n int64) bool { return -mostDigits <= n && n <= mostDigits }

func (v view) say(cents int64) string { return Money(cents, v.request.Terms.Currency) }

func (v view) day(at time.Time) sheet.Cell { return sheet.Date(at.In(v.Zone)) }

// line is a line by its number; nothing for a key that no line has.
func (v view) line(key string) sheet.Cell {
	if n, known := v.numbers[key]; known {
		return ordinal(n)
	}
	return sheet.Cell{}
}

// whose are the kits of a line, by who carries them.
func (v view) whose(l Line) string {
	if len(l.Kits) > 1 && slices.Equal(l.Kits, v.request.Kits) {
		return fmt.Sprintf("all %d in service", len(l.Kits))
	}
	names := make([]string, len(l.Kits))
	for i, k := range l.Kits {
		if names[i] = v.Unit(k.Unit); k.Unit == "" {
			names[i] = k.Kit + " on the shelf"
		}
	}
	return strings.Join(names, ", ")
}

// Arithmetic is how a line's quantity comes together, as "2 × 11 kits + 1 spare".
func (l Line) Arithmetic() string {
	var parts []string
	if l.PerKit != 0 {
		parts = append(parts, fmt.Sprintf("%d × %s", l.PerKit, count(len(l.Kits), "kit")))
	}
	if l.Pieces != 0 {
		parts = append(parts, fmt.Sprint(l.Pieces))
	}
	if l.Expected != 0 {
		parts = append(parts, fmt.Sprintf("%d expected to go", l.Expected))
	}
	if l.Spares != 0 {
		parts = append(parts, count(l.Spares, "spare"))
	}
	if len(parts) == 0 {
		return "nobody said how many"
	}
	return strings.Join(parts, " + ")
}

// columns are columns under these headings, as wide as what stands in them.
func columns(headings ...string) []sheet.Column {
	all := make([]sheet.Column, len(headings))
	for i, h := range headings {
		all[i].Heading = h
	}
	return all
}

// wide gives columns their widths, in characters.
func wide(columns []sheet.Column, widths ...float64) []sheet.Column {
	for i, width := range widths {
		columns[i].Width = width
	}
	return columns
}

func texts(words ...string) []sheet.Cell {
	cells := make([]sheet.Cell, len(words))
	for i, w := range words {
		cells[i] = sheet.Text(w)
	}
	return cells
}
