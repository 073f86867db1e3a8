package sheet

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"time"
)

// kind says what a cell holds and so how it is shown.
type kind int

const (
	blank kind = iota
	text
	whole
	ordinal
	fraction
	percent
	money
	date
	duration
)

// Cell is what one cell holds. The zero Cell is empty. Cells are made by the
// functions of this package; one that no spreadsheet can hold is refused when it
// is written, with ErrCell.
type Cell struct {
	kind     kind
	text     string
	number   float64
	integer  int64 // a whole number, or cents
	currency string
	day      time.Time
	formula  string
}

// Text is words. It is never read as a formula, a number or a link. A workbook
// shows at most 32,767 of its characters, and then says that it was cut.
func Text(words string) Cell { return Cell{kind: text, text: words} }

// Whole is a count or a year, of 15 digits at most.
func Whole(n int64) Cell { return Cell{kind: whole, integer: n} }

// Ordinal is a number that names something, such as a year or a line: it is shown
// without commas. 15 digits at most.
func Ordinal(n int64) Cell { return Cell{kind: ordinal, integer: n} }

// Fraction is a number of 15 digits, as spreadsheets keep them, shown in a workbook
// with two decimals, below a tenth with four, and in full in CSV. It has to be
// finite.
func Fraction(x float64) Cell { return Cell{kind: fraction, number: kept(x)} }

// Percent is a share: 0.06 is shown as 6.00%. It has to be finite.
func Percent(share float64) Cell { return Cell{kind: percent, number: kept(share)} }

// kept is a number as far as a spreadsheet keeps it.
func kept(x float64) float64 {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(x, 'e', 14, 64), 64)
	if err != nil {
		return x // beyond the greatest number after rounding
	}
	return rounded
}

// Money is an amount in hundredths of the currency, a code of three capitals. It
// is a number with two decimals, equal to cents/100; 15 digits at most.
func Money(cents int64, currency string) Cell {
	return Cell{kind: money, integer: cents, currency: currency}
}

// Date is the calendar day that the time has in its own zone, from March 1900
// (before it spreadsheets count days differently) to 9999.
func Date(at time.Time) Cell {
	year, month, day := at.Date()
	return Cell{kind: date, day: time.Date(year, month, day, 0, 0, 0, 0, time.UTC)}
}

// Hours is a duration as hours to two decimals: 100 minutes are 1.67.
func Hours(d time.Duration) Cell {
	return Cell{kind: duration, number: math.Round(d.Hours()*100) / 100}
}

// Formula is a live formula, written without its = sign, with the value that the
// caller computed for it. The value says how the cell is shown. Formulas are made
// by the program and never from what people write: only addresses, numbers,
// quoted words and common functions pass, and others are refused with ErrCell.
func Formula(formula string, computed Cell) Cell {
	computed.formula = formula
	if formula == "" {
		computed.formula = " " // refused when it is written
	}
	return computed
}

// String is the cell as CSV has it, before it is made neutral: a number with a
// point, a day as 2026-11-28, of a formula the value computed for it.
func (c Cell) String() string {
	switch c.kind {
	case text:
		return c.text
	case whole, ordinal:
		return strconv.FormatInt(c.integer, 10)
	case fraction, duration:
		return decimal(c.number)
	case percent:
		return decimal(math.Round(c.number*1e10)/1e8) + "%"
	case money:
		return cents(c.integer)
	case date:
		return c.day.Format(time.DateOnly)
	}
	return ""
}

// cents is an amount with its two decimals.
func cents(n int64) string {
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	return fmt.Sprintf("%s%d.%02d", sign, n/100, n%100)
}

func decimal(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// widest is the greatest whole number that a spreadsheet keeps to the last digit:
// it has 15.
const widest = 999_999_999_999_999

var (
	capitals = regexp.MustCompile(`^[A-Z]{3}$`)
	earliest = time.Date(1900, time.March, 1, 0, 0, 0, 0, time.UTC)
	latest   = time.Date(9999, time.December, 31, 0, 0, 0, 0, time.UTC)
)

// check says why a spreadsheet cannot hold the cell.
func (c Cell) check() error {
	switch {
	case math.IsNaN(c.number) || math.IsInf(c.number, 0):
		return fmt.Errorf("%w: %v is not a number that can be shown", ErrCell, c.number)
	case c.integer > widest || c.integer < -widest:
		return fmt.Errorf("%w: %d has more than 15 digits", ErrCell, c.integer)
	case c.kind == money && !capitals.MatchString(c.currency):
		return fmt.Errorf("%w: %q is not a currency's code", ErrCell, c.currency)
	case c.kind == date && (c.day.Before(earliest) || c.day.After(latest)):
		return fmt.Errorf("%w: no spreadsheet has the day %s", ErrCell, c.day.Format(time.DateOnly))
	case c.formula != "":
		return checkFormula(c.formula)
	}
	return nil
}

// dayZero is the day before a spreadsheet's first, as it counts from March 1900 on.
var dayZero = time.Date(1899, time.December, 30, 0, 0, 0, 0, time.UTC)

// value is what a workbook stores.
func (c Cell) value() any {
	if c.text == "" && c.kind == text {
		return nil // an empty cell; other programs make no difference either
	}
	switch c.kind {
	case text:
		return fitText(c.text)
	case whole, ordinal:
		return c.integer
	case fraction, percent, duration:
		return c.number
	case money:
		return float64(c.integer) / 100
	case date:
		return int64(c.day.Sub(dayZero) / (24 * time.Hour))
	}
	return nil
}
