package sheet

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// At is the address of a cell in its own table: of the cell in Rows[row] under
// Columns[column], both from 0. The headings are line 1, so At(0, 0) is A2.
func At(column, row int) string { return letters(column) + strconv.Itoa(row+2) }

// Range is the addresses from one cell to another, both included; see At.
func Range(column, row, lastColumn, lastRow int) string {
	return At(column, row) + ":" + At(lastColumn, lastRow)
}

// In is an address, or a range of them, in another table of the same workbook.
func In(table, address string) string {
	return "'" + strings.ReplaceAll(table, "'", "''") + "'!" + address
}

// letters names a column, from 0: A to Z, AA, AB and so on.
func letters(column int) string {
	if column < 26 {
		return string(rune('A' + column))
	}
	return letters(column/26-1) + string(rune('A'+column%26))
}

// token is one word of a formula. What is not one makes the formula refused: file
// names in brackets, the bar of a link to another program, names that could stand
// for anything.
var token = regexp.MustCompile(`^(?:"(?:[^"]|"")*"|'(?:[^':*?/\\\[\]]|'')+'!|([A-Z]+)\(|\$?[A-Z]{1,3}\$?[0-9]{1,7}|[0-9]+(?:\.[0-9]+)?|TRUE|FALSE|[-+*/^&<>=(),:% ])`)

// functions are those that a formula may call. None reaches beyond the workbook.
var functions = []string{"ABS", "AND", "AVERAGE", "COUNT", "COUNTA", "COUNTIF", "COUNTIFS", "IF", "IFERROR", "INT", "MAX", "MIN",
	"NOT", "OR", "ROUND", "ROUNDDOWN", "ROUNDUP", "SUM", "SUMIF", "SUMIFS", "SUMPRODUCT"}

// longestFormula is the limit of the format, in characters.
const longestFormula = 8192

func checkFormula(formula string) error {
	if len(formula) > longestFormula {
		return fmt.Errorf("%w: a formula of %d characters is longer than %d", ErrCell, len(formula), longestFormula)
	}
	rest := strings.TrimSpace(formula)
	if rest == "" || rest[0] == '=' {
		return fmt.Errorf("%w: the formula %q has nothing before or after its = sign", ErrCell, formula)
	}
	for rest != "" {
		found := token.FindStringSubmatch(rest)
		if found == nil {
			return fmt.Errorf("%w: the formula %q may not have %q", ErrCell, formula, rest)
		}
		if name := found[1]; name != "" && !slices.Contains(functions, name) {
			return fmt.Errorf("%w: the formula %q may not call %s", ErrCell, formula, name)
		}
		rest = rest[len(found[0]):]
	}
	return nil
}
