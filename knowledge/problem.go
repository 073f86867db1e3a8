package knowledge

import (
	"cmp"
	"fmt"
	"slices"
)

// Problem is something wrong with a card file, in words for whoever wrote it.
type Problem struct {
	File string
	Line int // 0 when it is about the whole file
	Say  string
}

// Error makes a Problem an error: "cards/door-chock.md:12: reason".
func (p Problem) Error() string {
	if p.Line == 0 {
		return fmt.Sprintf("%s: %s", p.File, p.Say)
	}
	return fmt.Sprintf("%s:%d: %s", p.File, p.Line, p.Say)
}

func sortProblems(problems []Problem) {
	slices.SortStableFunc(problems, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line))
	})
}

// report collects the problems of one file.
type report struct {
	file     string
	problems []Problem
}

func (r *report) add(line int, format string, args ...any) {
	r.problems = append(r.problems, Problem{r.file, line, fmt.Sprintf(format, args...)})
}
