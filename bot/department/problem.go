package department

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// Problem is one mistake in a department's file, or a warning.
type Problem struct {
	File    string
	Line    int    // from 1; 0 when it is about the file as a whole
	Column  int    // in characters, from 1
	Text    string // the line itself
	Say     string // what is wrong and what to write, in plain words
	Warning bool   // the file can be used all the same
}

// String shows the problem with its place, the line and a caret under the
// column.
func (p Problem) String() string {
	if p.Line == 0 {
		return fmt.Sprintf("%s: %s", p.File, p.say())
	}
	text, column := excerpt(p.Text, p.Column)
	number := fmt.Sprint(p.Line)
	return fmt.Sprintf("%s:%d:%d: %s\n  %s | %s\n  %s | %s^", p.File, p.Line, p.Column, p.say(),
		number, text, strings.Repeat(" ", len(number)), strings.Repeat(" ", column-1))
}

func (p Problem) say() string {
	if p.Warning {
		return "warning: " + p.Say
	}
	return p.Say
}

// excerpt cuts a long line around a column and replaces what would disturb a
// terminal, so that the caret stands where it should.
func excerpt(line string, column int) (text string, at int) {
	const before, after, whole = 40, 80, 120
	runes := []rune(line)
	for i, r := range runes {
		if !unicode.IsPrint(r) {
			runes[i] = ' '
		}
	}
	column = max(1, min(column, len(runes)+1))
	if len(runes) <= whole {
		return string(runes), column
	}
	from := max(0, column-1-before)
	to := min(len(runes), column-1+after)
	return string(runes[from:to]), column - from
}

// Problems are all the problems of one or several files.
type Problems []Problem

// Err is one error with every problem in it; nil when there are warnings only.
func (ps Problems) Err() error {
	if !slices.ContainsFunc(ps, func(p Problem) bool { return !p.Warning }) {
		return nil
	}
	return errors.New(ps.String())
}

// String shows the problems in the order of the file.
func (ps Problems) String() string {
	texts := make([]string, len(ps))
	for i, p := range ps {
		texts[i] = p.String()
	}
	return strings.Join(texts, "\n")
}

func (ps Problems) sort() {
	slices.SortStableFunc(ps, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
}

// didYouMean ends a sentence with the nearest known word, when one is near.
func didYouMean(word string, known []string) string {
	best, least := "", min(max(2, len(word)/4), len(word)-1)+1
	for _, k := range known {
		if d := distance(strings.ToLower(word), strings.ToLower(k)); d < least {
			best, least = k, d
		}
	}
	if best == "" {
		return ""
	}
	return fmt.Sprintf("; did you mean %q?", best)
}

// distance counts the letters to add, drop or change between two words
// (Levenshtein). Long words are not compared.
func distance(a, b string) int {
	if len(a) > 64 || len(b) > 64 {
		return 64
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diagonal
			if a[i] != b[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
