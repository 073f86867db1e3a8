package budget

import (
	"fmt"
	"strings"
)

// Opening is how a new year begins: what was asked for the one before, what was
// promised, and what came of it.
type Opening struct {
	Number      string // of the request
	Year        int    // fiscal year
	Currency    string
	Lines       []LineLife // of that year, those in no total among them
	Asked       int64      // cents, like all of them
	Granted     int64
	Paid        int64
	Undecided   int    // lines that nobody has decided on
	Excluded    int    // lines in no sum
	Corrections []Step // of the request, or of one of these lines
}

// Opening sums up one fiscal year of a request.
func (s Submitted) Opening(year int) Opening {
	o := Opening{Number: s.Number, Year: year, Currency: s.Request.Terms.Currency}
	for _, l := range s.Lines {
		if l.Line.Year != year {
			continue
		}
		o.Lines = append(o.Lines, l)
		o.Asked += l.Line.Sums.Total
		o.Granted += l.Granted
		o.Paid += l.Paid
		switch {
		case l.Line.Excluded != "":
			o.Excluded++
		case l.Decided == "":
			o.Undecided++
		}
	}
	for _, c := range s.Corrections {
		if l, of := s.Line(c.Line); c.Line == "" || of && l.Line.Year == year {
			o.Corrections = append(o.Corrections, c)
		}
	}
	return o
}

// Words sum it up in a sentence.
func (o Opening) Words() string {
	words := fmt.Sprintf("Request %s: asked %s, granted %s, paid %s.", o.Number, Money(o.Asked, o.Currency), Money(o.Granted, o.Currency), Money(o.Paid, o.Currency))
	if o.Undecided > 0 {
		words += fmt.Sprintf(" Not decided: %s.", count(o.Undecided, "line"))
	}
	if o.Excluded > 0 {
		words += fmt.Sprintf(" In no sum: %s.", count(o.Excluded, "line"))
	}
	return words
}

// Refused is what was asked for and not granted, once that is decided; in cents.
func (l LineLife) Refused() int64 {
	if l.Decided == "" {
		return 0
	}
	return l.Line.Sums.Total - l.Granted
}

// Over is what was paid beyond what was granted, in cents; below zero when less
// was paid.
func (l LineLife) Over() int64 { return l.Paid - l.Granted }

// Words say what became of the line, and where it differs from what was asked.
func (l LineLife) Words(currency string) string {
	if l.Line.Excluded != "" {
		return l.Line.Excluded
	}
	parts := []string{fmt.Sprintf("Asked: %d for %s", l.Line.Quantity, Money(l.Line.Sums.Total, currency))}
	switch l.Decided {
	case "":
		parts = append(parts, "not decided")
	case PartlyFunded:
		parts = append(parts, fmt.Sprintf("partly funded with %s", Money(l.Granted, currency)))
	default:
		parts = append(parts, string(l.Decided))
	}
	if l.Bought > 0 {
		parts = append(parts, fmt.Sprintf("%d bought for %s", l.Bought, Money(l.Paid, currency)), fmt.Sprintf("%d in the kits", l.InKits))
	}
	if over := l.Over(); over > 0 {
		parts = append(parts, Money(over, currency)+" more than granted")
	}
	return strings.Join(parts, ", ") + "."
}
