package budget

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"kitbell/bot/sheet"
)

// evidenceTable is the records behind the lines. It names nobody: each says where
// it stands, so that it can be looked up.
func (v view) evidenceTable() sheet.Table {
	t := sheet.Table{Name: "Evidence", Columns: columns("date", "item", "record", "count", "paid", "kit", "carried by", "stands in", "behind lines")}
	behind := make([][]string, len(v.request.Records))
	for i, l := range v.request.Lines {
		for _, at := range l.Evidence {
			if at >= 0 && at < len(behind) { // a request from a journal may be damaged
				behind[at] = append(behind[at], fmt.Sprint(i+1))
			}
		}
	}
	for i, r := range v.request.Records {
		cells := []sheet.Cell{v.day(r.Date), sheet.Text(v.Item(r.Item)), sheet.Text(string(r.Kind)), whole(r.Count), {},
			sheet.Text(r.Kit), sheet.Text(v.Unit(r.Unit)), sheet.Text(r.stands()), sheet.Text(strings.Join(behind[i], ", "))}
		if r.Kind == Paid {
			cells[4] = v.money(r.Cents)
		}
		t.Rows = append(t.Rows, sheet.Row{Cells: cells})
	}
	return t
}

// stands says where a record stands.
func (r Record) stands() string {
	if r.Line > 0 {
		return fmt.Sprintf("queue line %d", r.Line)
	}
	if r.Entry != "" {
		return "journal entry " + r.Entry
	}
	return "not said"
}

// forecastTable is what the records say of each item, and what is expected.
func (v view) forecastTable() sheet.Table {
	headings := columns("item", "in words", "used up", "lost", "broken", "worn out", "months of records", "kit-years of records",
		"prior pieces (assumed)", "prior kit-years (assumed)", "prior (assumed)", "rate a kit-year", "kits", "expected in a year", "from (95 %)", "to (95 %)",
		"days of an order", "expected in them", "chance asked for", "hold (tools)", "order when only (consumables)", "on the shelf")
	t := sheet.Table{Name: "Forecasts", Columns: wide(headings, 20, 34, 7, 7, 8, 8, 10, 10, 11, 11, 30, 9, 6, 11, 8, 8, 10, 11, 10, 9, 15, 8)}
	for _, f := range v.request.Forecasts {
		t.Rows = append(t.Rows, sheet.Row{Cells: v.forecastCells(f)})
	}
	return t
}

func (v view) forecastCells(f Forecast) []sheet.Cell {
	c := f.Counts
	hold, reorder := whole(f.Hold), sheet.Cell{}
	if f.Consumable {
		hold, reorder = reorder, hold
	}
	return []sheet.Cell{sheet.Text(v.Item(f.Item)), sheet.Text(f.Words()), whole(c.UsedUp), whole(c.Lost), whole(c.Broken), whole(c.WornOut), whole(f.Months), sheet.Fraction(f.KitYears),
		sheet.Fraction(f.Prior.Pieces), sheet.Fraction(f.Prior.KitYears), sheet.Text(f.Prior.Says), figure(f.Belief.Rate()), whole(f.Kits),
		sheet.Fraction(f.Year.Mean), whole(f.Year.Low), upTo(f.Year.High), whole(f.LeadDays), sheet.Fraction(f.Lead.Mean), sheet.Percent(f.Protection), hold, reorder, whole(f.Held)}
}

// figure is a number, or words where it is none.
func figure(x float64) sheet.Cell {
	if !finite(x) {
		return sheet.Text("not known")
	}
	return sheet.Fraction(x)
}

func upTo(n int) sheet.Cell {
	if n >= math.MaxInt32 {
		return sheet.Text("no bound")
	}
	return whole(n)
}

// The words that stand with all that the model says.
const (
	modelLabel = "By the door model, which rests on assumptions: nobody measured these figures, and they are in no total."
	modelRange = "From and to: the middle 95 % of what the model says with other mixes of doors that are as likely."
	modelLeast = "At least: the figure if the item had saved nothing on any call that nobody recorded."
	noModel    = "The door model was not asked."
)

// ofModel is what the model says of an item, and of which lines.
type ofModel struct {
	title string
	lines []string // by number
	worth Worth
}

// modelled is what the model says, each item once, in the order of the lines.
func (v view) modelled() []ofModel {
	var all []ofModel
	at := map[string]int{}
	for i, l := range v.request.Lines {
		if l.Worth == nil {
			continue
		}
		k, known := at[l.Item]
		if !known {
			k = len(all)
			at[l.Item] = k
			all = append(all, ofModel{title: v.Item(l.Item), worth: *l.Worth})
		}
		all[k].lines = append(all[k].lines, fmt.Sprint(i+1))
	}
	return all
}

// modelWords are what has to be said with the model's figures.
func (v view) modelWords() []string {
	if v.request.Sample == nil {
		return []string{noModel}
	}
	return []string{modelLabel, v.request.Sample.Words(), modelRange}
}

// modelTable is the model's column by itself, labelled as the model's.
func (v view) modelTable() sheet.Table {
	headings := columns("item", "lines", "minutes saved a call (model)", "from", "to", "at least", "marks saved a call (model)", "from", "to", "at least")
	t := sheet.Table{Name: "Model", Columns: wide(headings, 48, 24, 15, 10, 10, 10, 15, 10, 10, 10)}
	for _, m := range v.modelled() {
		cells := texts(m.title, strings.Join(m.lines, ", "))
		for _, r := range []Range{m.worth.Minutes, m.worth.Marks} {
			cells = append(cells, v.ranged(r)...)
		}
		t.Rows = append(t.Rows, sheet.Row{Cells: cells})
	}
	notes := v.modelWords()
	if v.request.Sample != nil && v.request.Sample.Entries > 0 {
		notes = append(notes, modelLeast)
	}
	for _, words := range notes {
		t.Rows = append(t.Rows, sheet.Row{Cells: texts(words)})
	}
	return t
}

// ranged is a figure with its interval, where there is one, and its least.
func (v view) ranged(r Range) []sheet.Cell {
	cells := []sheet.Cell{figure(r.Mean), {}, {}, {}}
	if r.Bounded {
		cells[1], cells[2] = figure(r.Low), figure(r.High)
	}
	if v.request.Sample != nil {
		if least, ok := v.request.Sample.Floor(r.Mean); ok {
			cells[3] = figure(least)
		}
	}
	return cells
}

// problemTable is what is wrong with what the request is made of: what is in no
// total, and why.
func (v view) problemTable() sheet.Table {
	t := sheet.Table{Name: "Problems", Columns: columns("problem", "line", "item", "unit", "kit", "fiscal year", "in words")}
	for _, p := range v.request.Problems {
		var year sheet.Cell
		if p.Year != 0 {
			year = ordinal(p.Year)
		}
		t.Rows = append(t.Rows, sheet.Row{Cells: []sheet.Cell{sheet.Text(string(p.What)), v.line(p.Line), v.named(v.Item, p.Item), v.named(v.Unit, p.Unit),
			sheet.Text(p.Kit), year, sheet.Text(p.Say)}})
	}
	if len(t.Rows) == 0 {
		t.Rows = []sheet.Row{{Cells: texts("none")}}
	}
	return t
}

func (v view) named(name func(string) string, id string) sheet.Cell {
	if id == "" {
		return sheet.Cell{}
	}
	return sheet.Text(name(id))
}

// priors are those that forecasts start from, each once.
func (r Request) priors() []Prior {
	var all []Prior
	for _, f := range r.Forecasts {
		if !slices.Contains(all, f.Prior) {
			all = append(all, f.Prior)
		}
	}
	return all
}
