package measure

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"kitbell/bot/understand"
)

// MessageReader is the part of an understand.Reader that reports and doors are
// scored with. Read is called from one goroutine and must not block.
type MessageReader interface {
	Read(text string, c understand.Context) understand.Reading
}

// ReportCase is one line of a reports file: who says what, and what it means.
type ReportCase struct {
	ID   string `json:"id"`
	From *struct {
		Unit    string `json:"unit"`
		Platoon string `json:"shift"`
	} `json:"from"` // nil is an anonymous member without a unit
	Text   string `json:"text"`
	Expect struct {
		Intent  understand.Intent   `json:"intent"`
		Lines   []understand.Line   `json:"lines"`
		Alt     [][]understand.Line `json:"alt"`      // other line lists that count as right
		AskBack []string            `json:"ask_back"` // must ask about at least these
		Unit    string              `json:"unit"`     // whose kit a check is about
	} `json:"expect"`
}

// ReportScore is what a reader made of a reports file. All figures are counts.
type ReportScore struct {
	Cases        int
	IntentRight  int
	LineCases    int // cases that expect lines, or none: all that need no asking
	LinesRight   int // exactly the lines, or one of the other lists
	AskCases     int
	Asked        int // asked about everything that had to be asked
	WronglyAsked int // asked about a unit or item although it was plain
	Guessed      int // a line with a unit or item that no expected line has
	UnitCases    int
	UnitRight    int
}

// ReadReports reads a reports file: one JSON object a line. The error names the
// line.
func ReadReports(r io.Reader) ([]ReportCase, error) { return readLines[ReportCase](r) }

// readLines decodes one JSON object a line.
func readLines[T any](r io.Reader) ([]T, error) {
	var all []T
	decoder := json.NewDecoder(r)
	for decoder.More() {
		var one T
		if err := decoder.Decode(&one); err != nil {
			return nil, fmt.Errorf("read case %d: %w", len(all)+1, err)
		}
		all = append(all, one)
	}
	return all, nil
}

// Reports scores a reader on cases and prints each miss to misses, which may be
// io.Discard.
func Reports(reader MessageReader, cases []ReportCase, misses io.Writer) (ReportScore, error) {
	var score ReportScore
	for _, c := range cases {
		var context understand.Context
		if c.From != nil {
			context.Unit, context.Platoon = c.From.Unit, c.From.Platoon
		}
		wrong := score.add(c, reader.Read(c.Text, context))
		if len(wrong) == 0 {
			continue
		}
		if _, err := fmt.Fprintf(misses, "%s %q\n    %s\n", c.ID, c.Text, strings.Join(wrong, "\n    ")); err != nil {
			return score, fmt.Errorf("print a miss: %w", err)
		}
	}
	return score, nil
}

// add scores one reading and says what is wrong with it.
func (s *ReportScore) add(c ReportCase, got understand.Reading) (wrong []string) {
	s.Cases++
	if got.Intent == c.Expect.Intent {
		s.IntentRight++
	} else {
		wrong = append(wrong, fmt.Sprintf("intent %s, want %s", got.Intent, c.Expect.Intent))
	}
	if c.Expect.Unit != "" {
		s.UnitCases++
		if got.Unit == c.Expect.Unit {
			s.UnitRight++
		} else {
			wrong = append(wrong, fmt.Sprintf("unit %q, want %q", got.Unit, c.Expect.Unit))
		}
	}
	if len(c.Expect.AskBack) > 0 {
		return append(wrong, s.addAsking(c, got)...)
	}
	return append(wrong, s.addLines(c, got)...)
}

func (s *ReportScore) addAsking(c ReportCase, got understand.Reading) (wrong []string) {
	s.AskCases++
	asked := true
	for _, about := range c.Expect.AskBack {
		asked = asked && got.Asks(about)
	}
	if asked {
		s.Asked++
		return nil
	}
	return []string{fmt.Sprintf("asks %v, want %v; lines %v", got.AskBack, c.Expect.AskBack, got.Lines)}
}

func (s *ReportScore) addLines(c ReportCase, got understand.Reading) (wrong []string) {
	s.LineCases++
	if len(got.AskBack) > 0 {
		s.WronglyAsked++
		wrong = append(wrong, fmt.Sprintf("asks %v", got.AskBack))
	}
	if guessed(c, got) {
		s.Guessed++
	}
	for _, want := range append([][]understand.Line{c.Expect.Lines}, c.Expect.Alt...) {
		if sameLines(got.Lines, want) {
			s.LinesRight++
			return wrong
		}
	}
	return append(wrong, fmt.Sprintf("lines %v, want %v", got.Lines, c.Expect.Lines))
}

// guessed says whether a line names a unit and item that no expected list has.
func guessed(c ReportCase, got understand.Reading) bool {
	for _, line := range got.Lines {
		known := func(want understand.Line) bool { return want.Unit == line.Unit && want.Item == line.Item }
		right := slices.ContainsFunc(c.Expect.Lines, known)
		for _, alt := range c.Expect.Alt {
			right = right || slices.ContainsFunc(alt, known)
		}
		if !right {
			return true
		}
	}
	return false
}

// sameLines compares without regard to order.
func sameLines(a, b []understand.Line) bool {
	a, b = slices.Clone(a), slices.Clone(b)
	slices.SortFunc(a, compareLines)
	slices.SortFunc(b, compareLines)
	return slices.Equal(a, b)
}

func compareLines(a, b understand.Line) int {
	return cmp.Or(cmp.Compare(a.Unit, b.Unit), cmp.Compare(a.Item, b.Item), cmp.Compare(a.Condition, b.Condition), a.Count-b.Count)
}

// Print writes the score as a small table.
func (s ReportScore) Print(w io.Writer) error {
	return printed(fmt.Fprintf(w, "reports            %d\nintent right       %s\nlines exactly      %s\nasked when needed  %s\nwrongly asked      %s\nguessed            %s\ncheck unit right   %s\n",
		s.Cases, share(s.IntentRight, s.Cases), share(s.LinesRight, s.LineCases), share(s.Asked, s.AskCases),
		share(s.WronglyAsked, s.LineCases), share(s.Guessed, s.LineCases), share(s.UnitRight, s.UnitCases)))
}

// share writes "38 of 40, 95.0 %".
func share(part, whole int) string {
	if whole == 0 {
		return "none to score"
	}
	return fmt.Sprintf("%d of %d, %.1f %%", part, whole, 100*float64(part)/float64(whole))
}
