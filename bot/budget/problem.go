package budget

import (
	"strings"

	"kitbell/bot"
)

// Trouble names what is wrong with something that a request is made of.
type Trouble string

// What can be wrong. Lines with the first seven are excluded from the totals.
const (
	NoPrice      Trouble = "no price"
	ZeroPrice    Trouble = "price of zero"
	BadPrice     Trouble = "price below zero"
	BadCount     Trouble = "count below zero"
	NoCount      Trouble = "no count"
	TooMuch      Trouble = "too much"
	OtherYear    Trouble = "another year"
	SilentYear   Trouble = "year without records"
	BadRecords   Trouble = "bad records"
	UnitSold     Trouble = "unit sold"
	UnitReserve  Trouble = "reserve without a kit"
	UnitBare     Trouble = "unit without a kit"
	UnitStranger Trouble = "unknown unit"
	NoList       Trouble = "unknown list"
	NoAge        Trouble = "age not known"
)

// Problem is something wrong with what a request is made of. It is said beside
// the request and never hidden in a total.
type Problem struct {
	What Trouble `json:"what"`
	Line string  `json:"line,omitempty"` // key of the line, where it is about one
	Item string  `json:"item,omitempty"`
	Unit string  `json:"unit,omitempty"`
	Kit  string  `json:"kit,omitempty"`
	Year int     `json:"year,omitempty"` // fiscal year
	Say  string  `json:"say"`            // sentences for people
}

// fault is what keeps a line out of the totals; false when nothing does.
func (l Line) fault() (Problem, bool) {
	what, say := Trouble(""), bot.Sentence("")
	switch {
	case l.PerKit < 0 || l.Pieces < 0:
		what, say = BadCount, bot.SayBudgetBadCount
	case l.Quantity == 0:
		what, say = NoCount, bot.SayBudgetNoCount
	case l.Price.Source == NoSource:
		what, say = NoPrice, bot.SayBudgetNoPrice
	case l.Price.Cents == 0:
		what, say = ZeroPrice, bot.SayBudgetZeroPrice
	case l.Price.Cents < 0:
		what, say = BadPrice, bot.SayBudgetBadPrice
	case l.Quantity > mostUnits || l.Each > mostCents:
		what, say = TooMuch, bot.SayBudgetTooMuch
	default:
		return Problem{}, false
	}
	return Problem{What: what, Line: l.Key, Item: l.Item, Year: l.Year, Say: say.With(lower(l.Title)).Say}, true
}

// lower is a line's title in the middle of a sentence. One that begins with a word in
// capitals keeps it.
func lower(title string) string {
	if len(title) > 1 && title[1] >= 'a' && title[1] <= 'z' {
		return strings.ToLower(title[:1]) + title[1:]
	}
	return title
}
