package budget

import "slices"

// LineKind says why a line is in a request.
type LineKind string

// The kinds of lines.
const (
	ByAge       LineKind = "replacement by age"
	ByWear      LineKind = "replacement by wear"
	Consumables LineKind = "consumables"
	SpareParts  LineKind = "spares"
	Conversion  LineKind = "conversion"
	WishLine    LineKind = "wish"
	OwnLine     LineKind = "own line"
)

// LineKinds lists them in the order in which a request shows them.
func LineKinds() []LineKind {
	return []LineKind{ByAge, ByWear, Consumables, SpareParts, Conversion, WishLine, OwnLine}
}

// LineKit is a kit that a line is for, with the unit that carries it; on a shelf
// none does.
type LineKit struct {
	Kit  string `json:"kit"`
	Unit string `json:"unit,omitempty"`
}

// Line is one line of a request.
//
//	Quantity = PerKit × number of Kits + Pieces + Expected + Spares
//	Goods    = Quantity × Each
//
// A line that is Excluded has a quantity, as far as one can be told, and no sums.
type Line struct {
	Key      string    `json:"key"` // names the line for good, in this request
	Kind     LineKind  `json:"kind"`
	Year     int       `json:"year"`           // fiscal year
	Item     string    `json:"item,omitempty"` // empty for what is none
	Title    string    `json:"title"`          // the item's name, or what else it is
	Reason   string    `json:"reason"`         // what the records, the list or the asker give; sentences
	Why      string    `json:"why"`            // the same, with what it leads to in figures
	Kits     []LineKit `json:"kits,omitempty"`
	PerKit   int       `json:"per_kit,omitempty"`
	Pieces   int       `json:"pieces,omitempty"`   // asked for outright
	Expected int       `json:"expected,omitempty"` // to be used up or lost in the year
	Spares   int       `json:"spares,omitempty"`
	Quantity int       `json:"quantity"`
	Price    Price     `json:"price"`              // of one, today
	Each     int64     `json:"each"`               // price of one in the line's year, in cents
	Sums     Sums      `json:"sums"`               // all zero when it is excluded
	Excluded string    `json:"excluded,omitempty"` // why it is in no total
	Evidence []int     `json:"evidence,omitempty"` // of Request.Records: what the line rests on
	Crews    int       `json:"crews,omitempty"`    // that asked for it
	Worth    *Worth    `json:"worth,omitempty"`    // by the model; nil when it says nothing
}

// Request is a request for several years, worked out.
type Request struct {
	Year      int        `json:"year"`   // its first fiscal year
	Years     int        `json:"years"`  // how many
	Starts    string     `json:"starts"` // first day of the first year
	Until     string     `json:"until"`  // day to which records are counted
	Terms     Terms      `json:"terms"`
	Kits      []LineKit  `json:"kits"` // in service: on a unit that the department has
	Lines     []Line     `json:"lines"`
	Problems  []Problem  `json:"problems,omitempty"`
	Forecasts []Forecast `json:"forecasts,omitempty"` // of every item on the list in force
	Records   []Record   `json:"records,omitempty"`   // that its lines rest on, oldest first
	Sample    *Sample    `json:"sample,omitempty"`    // of calls behind the model's column
}

// Line finds a line by its key.
func (r Request) Line(key string) (Line, bool) {
	i := slices.IndexFunc(r.Lines, func(l Line) bool { return l.Key == key })
	if i < 0 {
		return Line{}, false
	}
	return r.Lines[i], true
}

// Forecast finds an item's forecast.
func (r Request) Forecast(item string) (Forecast, bool) {
	i := slices.IndexFunc(r.Forecasts, func(f Forecast) bool { return f.Item == item })
	if i < 0 {
		return Forecast{}, false
	}
	return r.Forecasts[i], true
}

// Behind lists the records that a line rests on, oldest first.
func (r Request) Behind(l Line) []Record {
	records := make([]Record, 0, len(l.Evidence))
	for _, at := range l.Evidence {
		if at >= 0 && at < len(r.Records) { // a request from a journal may be damaged
			records = append(records, r.Records[at])
		}
	}
	return records
}

// Total is what some lines come to.
type Total struct {
	Sums
	Lines    int // that are counted
	Excluded int // that are in no sum
}

// Total is the whole request's.
func (r Request) Total() Total { return r.total(func(Line) bool { return true }) }

// OfYear is a fiscal year's total.
func (r Request) OfYear(year int) Total {
	return r.total(func(l Line) bool { return l.Year == year })
}

// OfKind is the total of one kind of lines over all years.
func (r Request) OfKind(kind LineKind) Total {
	return r.total(func(l Line) bool { return l.Kind == kind })
}

func (r Request) total(take func(Line) bool) Total {
	var t Total
	for _, l := range r.Lines {
		switch {
		case !take(l):
		case l.Excluded != "":
			t.Excluded++
		default:
			t.Sums = t.Plus(l.Sums)
			t.Lines++
		}
	}
	return t
}
