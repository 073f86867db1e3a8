package kit

import (
	"errors"
	"time"
)

// Step is what somebody does with an open line, or adds to it. Zero fields leave
// the line as it is.
type Step struct {
	To       State
	Order    string
	Expected time.Time
	Pieces   int   // that came with this delivery
	Paid     int64 // for them, in cents
	Where    Whereabout
	Fetch    string
	FetchBy  time.Time
	Note     string
	By       string // member
	At       time.Time
}

// What keeps a step from being made.
var (
	ErrClosed  = errors.New("the line is closed")
	ErrOpen    = errors.New("the line is open")
	ErrNothing = errors.New("the line is so already")
	ErrPieces  = errors.New("more pieces than were ordered")
)

// Advance makes a step of an open line. A delivery of pieces brings the line to
// InHand once all of them are there; before that it stays where it is. A closed
// line takes no step (ErrClosed); one that changes nothing is ErrNothing, and
// pieces beyond what the line still lacks, or fewer than none, are ErrPieces.
func Advance(line Line, s Step) (Change, error) {
	if !line.State.Open() {
		return Change{}, ErrClosed
	}
	if s.Pieces < 0 || line.Received+s.Pieces > line.Count {
		return Change{}, ErrPieces
	}
	next := s.put(line)
	if next == line {
		return Change{}, ErrNothing
	}
	verb := Noted
	if next.State != line.State {
		verb, next.StateAt = Moved, s.At
	}
	next = step(next, s.At)
	return Change{Verb: verb, Old: line, New: next, By: s.By, At: s.At}, nil
}

// put is line with what the step says of it.
func (s Step) put(line Line) Line {
	next := line
	set(&next.Order, s.Order)
	set(&next.Fetch, s.Fetch)
	set(&next.Note, s.Note)
	set(&next.Where, s.Where)
	if !s.Expected.IsZero() {
		next.Expected = s.Expected
	}
	if !s.FetchBy.IsZero() {
		next.FetchBy = s.FetchBy
	}
	next.Paid += s.Paid
	next.Received += s.Pieces
	set(&next.State, s.To)
	if s.To == InHand {
		next.Received = next.Count
	}
	if s.Pieces > 0 {
		next.State = line.State
		if next.Received == next.Count {
			next.State = InHand
		}
	}
	return next
}

func set[T ~string](field *T, to T) {
	if to != "" {
		*field = to
	}
}

// Reopen opens a closed line again with its history: what came back was not
// right, or was not a fault after all. ErrOpen when it is open.
func Reopen(line Line, by string, at time.Time) (Change, error) {
	if line.State.Open() {
		return Change{}, ErrOpen
	}
	next := step(line, at)
	next.State, next.StateAt, next.Expected, next.Received = Reported, at, time.Time{}, 0
	return Change{Verb: Moved, Old: line, New: next, By: by, At: at}, nil
}

// Limits is how many days a line may stay in a state before it is raised.
type Limits map[State]int

// DefaultLimits are assumptions: the file may state a department's own.
func DefaultLimits() Limits {
	return Limits{Reported: 3, Taken: 7, Ordered: 35, InHand: 7, Dropped: 4}
}

// Past says whether a line has stayed in its state past its limit at now. One
// that is expected on a day is past it two days after that day, whatever the
// limit: the supplier's word counts for more than a rule.
func (l Limits) Past(line Line, now time.Time) bool {
	if !line.State.Open() {
		return false
	}
	if line.State == Ordered && !line.Expected.IsZero() {
		return now.After(line.Expected.AddDate(0, 0, 2))
	}
	days, limited := l[line.State]
	return limited && now.After(line.StateAt.AddDate(0, 0, days))
}
