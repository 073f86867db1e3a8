package kit

import (
	"slices"
	"time"
)

// LoanStep is a tool that went from one holder to another for a while, or came
// back. It is the body of a journal entry. A holder is a kit's id, or Outside.
type LoanStep struct {
	Key   string    `json:"key"`
	Back  bool      `json:"back,omitempty"`
	Item  string    `json:"item,omitempty"`
	Count int       `json:"count,omitempty"`
	From  string    `json:"from,omitempty"`
	To    string    `json:"to,omitempty"`
	Due   time.Time `json:"due,omitzero"` // when somebody is reminded of it
}

// Outside is the holder of what another department has, or has lent.
const Outside = "outside"

// Loan is a tool that is out. It is a movement and no shortage: the queue does
// not have it.
type Loan struct {
	LoanStep
	By string
	At time.Time
}

// Loans folds steps, oldest first, into the loans that are out. by gives who
// made a step, and when.
func Loans(steps []LoanStep, by func(i int) (string, time.Time)) []Loan {
	var out []Loan
	for i, s := range steps {
		at := slices.IndexFunc(out, func(l Loan) bool { return l.Key == s.Key })
		switch {
		case s.Back && at >= 0:
			out = slices.Delete(out, at, at+1)
		case !s.Back && at < 0:
			l := Loan{LoanStep: s}
			l.By, l.At = by(i)
			out = append(out, l)
		}
	}
	return out
}

// LentOut is how many pieces of an item a kit has lent, less those that it has
// borrowed: negative when it has more than its own.
func LentOut(loans []Loan, kitID, item string) int {
	away := 0
	for _, l := range loans {
		switch {
		case l.Item != item:
		case l.From == kitID:
			away += l.Count
		case l.To == kitID:
			away -= l.Count
		}
	}
	return away
}
