package drawing

import (
	"fmt"
	"strings"
)

// Problem is a mistake in a description.
type Problem struct {
	Line int // counted from 1 in the text given to [Parse]
	Text string
}

// Problems is the error that [Parse] returns: every mistake, in order of lines.
type Problems []Problem

// Error lists the mistakes, one a line.
func (p Problems) Error() string {
	lines := make([]string, len(p))
	for i, problem := range p {
		lines[i] = fmt.Sprintf("line %d: %s", problem.Line, problem.Text)
	}
	return strings.Join(lines, "\n")
}
