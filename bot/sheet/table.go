package sheet

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf16"
	"unicode/utf8"
)

var (
	// ErrCell means that a cell holds what no spreadsheet can.
	ErrCell = errors.New("a cell cannot be written")
	// ErrTable means that a table has a wrong shape, a name that no spreadsheet
	// takes, or more rows or columns than one.
	ErrTable = errors.New("a table cannot be written")
)

// Workbook is tables that go into one file, in their order.
type Workbook struct {
	Title  string
	Made   time.Time // stands in the file as its date; no clock is asked
	Paper  string    // Letter or A4; empty is Letter
	Tables []Table
}

// The papers that a workbook can be printed on.
const (
	Letter = "letter"
	A4     = "a4"
)

// Table is rows under headings. The headings stay in view when the rest moves, and
// stand on each printed page.
type Table struct {
	Name      string // of 1 to 31 characters and the only one so called; see FitName
	Columns   []Column
	Rows      []Row
	Landscape bool   // printed across; either way all columns fit one page's width
	Footer    string // left on each printed page, with the page's number on the right
}

// Column is one heading and how wide it is.
type Column struct {
	Heading string
	Width   float64 // in characters, up to 255; 0 is as wide as what stands in it, within reason
}

// Row is cells from the first column on; there may be fewer than columns.
type Row struct {
	Cells  []Cell
	Total  bool // set off by a line above it and bold
	Struck bool // struck through: shown, and in no sum
}

// filled is a row whose line above goes over all columns, if it has one.
func (r Row) filled(columns int) Row {
	if r.Total && len(r.Cells) < columns {
		r.Cells = append(slices.Clone(r.Cells), make([]Cell, columns-len(r.Cells))...)
	}
	return r
}

// numbers says whether the first thing that stands in a column is a number.
func (t Table) numbers(column int) bool {
	for _, row := range t.Rows {
		if column < len(row.Cells) && row.Cells[column].kind != blank {
			return row.Cells[column].kind != text
		}
	}
	return false
}

// Limits of the format (ECMA-376 and what common programs open).
const (
	mostLines      = 1_048_576
	mostColumns    = 16_384
	longestText    = 32_767 // in UTF-16 units, as are the next two
	longestName    = 31
	longestFooter  = 200 // of the 255 that footer, codes and page number share
	greatestWidth  = 255
	notInName      = `[]:*?/\`
	reservedByName = "history"
)

// FitName makes a name for a table of any words: signs that it may not have become
// blanks, and it is cut to 31 characters. Whether it is the only one so called is
// the caller's to see to.
func FitName(words string) string {
	clean := strings.Map(func(r rune) rune {
		if strings.ContainsRune(notInName, r) || !allowed(r) || r < ' ' {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(words, " "))
	name := strings.Trim(cut(strings.Trim(clean, " '"), longestName), " '")
	if name == "" || strings.EqualFold(name, reservedByName) {
		return "Table"
	}
	return name
}

// check says what of the table's shape or cells cannot be written at all.
func (t Table) check() error {
	for i, row := range t.Rows {
		if len(row.Cells) > len(t.Columns) {
			return fmt.Errorf("%w: row %d of %q has %d cells under %d headings", ErrTable, i+1, t.Name, len(row.Cells), len(t.Columns))
		}
		for column, cell := range row.Cells {
			if err := cell.check(); err != nil {
				return fmt.Errorf("check %s of table %q: %w", At(column, i), t.Name, err)
			}
		}
	}
	return nil
}

// checkFits says what of the table a workbook has no room or no name for.
func (t Table) checkFits() error {
	switch {
	case t.Name != FitName(t.Name):
		return fmt.Errorf("%w: no spreadsheet takes %q for a name", ErrTable, t.Name)
	case len(t.Columns) == 0 || len(t.Columns) > mostColumns:
		return fmt.Errorf("%w: %q has %d columns, which is not 1 to %d", ErrTable, t.Name, len(t.Columns), mostColumns)
	case len(t.Rows) >= mostLines:
		return fmt.Errorf("%w: %q has %d rows, and a spreadsheet %d with the headings", ErrTable, t.Name, len(t.Rows), mostLines)
	case units(t.Footer) > longestFooter:
		return fmt.Errorf("%w: the footer of %q is longer than %d characters", ErrTable, t.Name, longestFooter)
	}
	for _, c := range t.Columns {
		if !(c.Width >= 0 && c.Width <= greatestWidth) {
			return fmt.Errorf("%w: the column %q of %q cannot be %v characters wide", ErrTable, c.Heading, t.Name, c.Width)
		}
	}
	return nil
}

// wasCut says in a cell that its text went on.
const wasCut = " … [cut: a spreadsheet's cell holds no more]"

// fitText is a text as a workbook can hold it: characters that XML has not are
// shown as the replacement character, and what is too long is cut and says so.
func fitText(words string) string {
	clean := strings.Map(func(r rune) rune {
		if !allowed(r) {
			return utf8.RuneError
		}
		return r
	}, words)
	if units(clean) <= longestText {
		return clean
	}
	return cut(clean, longestText-units(wasCut)) + wasCut
}

// allowed says whether XML 1.0 has the character (section 2.2).
func allowed(r rune) bool {
	return r == '\t' || r == '\n' || r == '\r' || r >= ' ' && r != 0xfffe && r != 0xffff
}

// units is a text's length as the format counts it, in UTF-16.
func units(words string) int {
	n := 0
	for _, r := range words {
		n += utf16.RuneLen(r)
	}
	return n
}

// cut is as much of a text as n units hold, never half a character.
func cut(words string, n int) string {
	for i, r := range words {
		if n -= utf16.RuneLen(r); n < 0 {
			return words[:i]
		}
	}
	return words
}
