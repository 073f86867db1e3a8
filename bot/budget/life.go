package budget

import (
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"kitbell/bot"
)

// StepKind is the journal's word for what becomes of requests.
const StepKind = "budget-request"

// StepWhat names a step of a request that was handed in.
type StepWhat string

// The steps.
const (
	HandedIn     StepWhat = "handed in"
	Approved     StepWhat = "approved"      // in full
	PartlyFunded StepWhat = "partly funded" // with Cents of it
	Cut          StepWhat = "cut"
	Bought       StepWhat = "bought"
	InTheKits    StepWhat = "in the kits"
	Corrected    StepWhat = "corrected" // something in the request was not so; it stands beside it
)

// StepWhats lists them in the order in which they come.
func StepWhats() []StepWhat {
	return []StepWhat{HandedIn, Approved, PartlyFunded, Cut, Bought, InTheKits, Corrected}
}

// Step is one dated entry about a request, as the journal keeps it.
type Step struct {
	Number string    `json:"number"` // of the request
	What   StepWhat  `json:"what"`
	Frozen *Frozen   `json:"frozen,omitempty"` // handed in
	Line   string    `json:"line,omitempty"`   // key; empty: approved or cut are the first year's lines that are undecided, corrected is the whole
	Pieces int       `json:"pieces,omitempty"` // bought, in the kits; partly funded: where that was said
	Cents  int64     `json:"cents,omitempty"`  // partly funded: granted; bought: paid; corrected: what is right
	Reason string    `json:"reason,omitempty"` // cut, corrected
	Order  string    `json:"order,omitempty"`  // bought: order or invoice
	By     string    `json:"by"`               // member
	At     time.Time `json:"at"`
}

// HandIn is the step that hands a frozen request in.
func HandIn(f Frozen) Step {
	return Step{Number: f.Number, What: HandedIn, Frozen: &f, By: f.Signer, At: f.At}
}

// Entry is the step for the journal.
func (s Step) Entry() bot.Entry { return bot.NewEntry(StepKind, s.Number, s.By, s.At, s) }

// ReadStep reads a journal's entry.
func ReadStep(e bot.Entry) (Step, error) {
	var s Step
	if err := json.Unmarshal(e.Body, &s); err != nil {
		return Step{}, fmt.Errorf("read step of request %s: %w", e.Subject, err)
	}
	return s, nil
}

// Submitted is a request that was handed in, with all that became of it.
type Submitted struct {
	Frozen
	Lines       []LineLife // of all lines of the request, in its order
	Corrections []Step     // of the request or its lines; none of them is in any sum
}

// LineLife is what became of one line.
type LineLife struct {
	Line          Line
	Decided       StepWhat // approved, partly funded or cut; empty until somebody decides
	Granted       int64    // cents
	GrantedPieces int
	Paid          int64 // cents
	Bought        int   // pieces
	InKits        int   // pieces
	Steps         []Step
}

// Submissions folds steps, oldest first, into the requests that were handed in.
// Steps that CheckStep would refuse where they stand change nothing and are given
// back, so that whoever shows the result can say so.
func Submissions(steps []Step) (all []Submitted, refused []Step) {
	for _, s := range steps {
		if err := CheckStep(all, s); err != nil {
			refused = append(refused, s)
			continue
		}
		if s.What == HandedIn {
			all = append(all, newSubmitted(*s.Frozen))
			continue
		}
		at := slices.IndexFunc(all, func(o Submitted) bool { return o.Number == s.Number })
		all[at].take(s)
	}
	return all, refused
}

func newSubmitted(f Frozen) Submitted {
	s := Submitted{Frozen: f}
	for _, l := range f.Request.Lines {
		s.Lines = append(s.Lines, LineLife{Line: l})
	}
	return s
}

// take applies a step that CheckStep lets through.
func (s *Submitted) take(step Step) {
	if step.What == Corrected {
		s.Corrections = append(s.Corrections, step)
		return
	}
	for i := range s.Lines {
		if l := &s.Lines[i]; step.Line == l.Line.Key || step.Line == "" && s.open(*l) {
			l.take(step)
		}
	}
}

// open says whether a line waits for the decision on the whole request: that is
// about its first year, the others are an outlook.
func (s *Submitted) open(l LineLife) bool {
	return l.Decided == "" && l.Line.Excluded == "" && l.Line.Year == s.Request.Year
}

func (l *LineLife) take(step Step) {
	l.Steps = append(l.Steps, step)
	switch step.What {
	case Approved:
		l.Decided, l.Granted, l.GrantedPieces = Approved, l.Line.Sums.Total, l.Line.Quantity
	case PartlyFunded:
		l.Decided, l.Granted, l.GrantedPieces = PartlyFunded, step.Cents, step.Pieces
		if step.Pieces == 0 {
			l.GrantedPieces = l.Line.Quantity
		}
	case Cut:
		l.Decided = Cut
	case Bought:
		l.Bought += step.Pieces
		l.Paid += step.Cents
	case InTheKits:
		l.InKits += step.Pieces
	}
}

// Find gives the request of a number.
func Find(all []Submitted, number string) (Submitted, bool) {
	at := slices.IndexFunc(all, func(o Submitted) bool { return o.Number == number })
	if at < 0 {
		return Submitted{}, false
	}
	return all[at], true
}

// Last gives the request of a fiscal year that was handed in last.
func Last(all []Submitted, year int) (Submitted, bool) {
	for _, s := range slices.Backward(all) {
		if s.Request.Year == year {
			return s, true
		}
	}
	return Submitted{}, false
}

// Line gives what became of a line.
func (s Submitted) Line(key string) (LineLife, bool) {
	at := slices.IndexFunc(s.Lines, func(l LineLife) bool { return l.Line.Key == key })
	if at < 0 {
		return LineLife{}, false
	}
	return s.Lines[at], true
}
