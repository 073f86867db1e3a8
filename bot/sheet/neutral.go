package sheet

import "regexp"

// sign starts a formula where a spreadsheet may see the start of a cell: at the
// front, and after what some programs split a cell at; blanks and quotes between
// do not hide it.
var sign = regexp.MustCompile("(^|[;\t\r\n])([ \u00a0\u3000\ufeff\"]*[=+\\-@＝＋－＠])")

// Neutral is a text that no spreadsheet takes for a formula when it reads it from
// a CSV file: an apostrophe stands before each sign that could start one, so that
// it is shown as text.
func Neutral(text string) string { return sign.ReplaceAllString(text, "$1'$2") }
