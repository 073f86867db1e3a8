package budget

import (
	"fmt"
	"io"
	"strings"
)

// PDF writes the draft of a request for paper: the sums by kind and year, each
// line with its reason and its arithmetic, the model's column on a page of its own,
// the problems and the assumptions. The same request gives the same bytes.
func (r Request) PDF(w io.Writer, p Presentation) error { return newView(r, nil, p).pdf(w) }

// PDF writes a request that was handed in, with its number, day and signer, and
// with what became of it.
func (s Submitted) PDF(w io.Writer, p Presentation) error { return newView(s.Request, &s, p).pdf(w) }

// pdf sets the pages twice, as each says how many there are.
func (v view) pdf(w io.Writer) error {
	count := v.set(0)
	return v.set(count.pdf.PageNo()).output(w)
}

func (v view) set(pages int) *press {
	p := newPress(v, pages)
	v.setTitle(p)
	v.setSummary(p)
	v.setLines(p)
	if v.submitted != nil {
		v.setLife(p)
	}
	v.setProblems(p)
	v.setTerms(p)
	v.setModel(p)
	return p
}

func (v view) setTitle(p *press) {
	p.say("B", 16, v.title())
	if v.Department != "" {
		p.say("", 11, v.Department)
	}
	p.say("", textSize, v.standing())
	if v.submitted != nil && !v.submitted.Intact() {
		p.say("B", textSize, "This is not what was signed: the text has another digest.")
	}
	r := v.request
	first, all := r.OfYear(r.Year), r.Total()
	words := fmt.Sprintf("Asked for in fiscal year %d: %s.", r.Year, v.say(first.Total))
	if r.Years > 1 {
		words += fmt.Sprintf(" With the outlook to %d: %s.", r.Year+r.Years-1, v.say(all.Total))
	}
	p.gap(2)
	p.say("B", 11, words)
	words = fmt.Sprintf("Records are counted until %s. All amounts of the table are with shipping (%s of goods) and tax (%s of goods).", r.Until, r.Terms.Shipping, r.Terms.Tax)
	if all.Excluded > 0 {
		words += fmt.Sprintf(" In no total: %s, struck through below; see the problems.", count(all.Excluded, "line"))
	}
	p.say("", textSize, words)
}

// yearsAcross is how many years stand beside each other.
const yearsAcross = 5

// setSummary is the sums by kind and year. More years than fit make more tables,
// with those of all years in the last.
func (v view) setSummary(p *press) {
	p.heading("By kind and year")
	for years := v.years(); len(years) > 0; {
		some := years[:min(yearsAcross, len(years))]
		years = years[len(some):]
		v.setYears(p, some, len(years) == 0)
	}
}

func (v view) setYears(p *press, years []int, last bool) {
	columns := []column{{heading: "kind"}}
	for _, year := range years {
		columns = append(columns, column{fmt.Sprint(year), 22, true})
	}
	if last {
		columns = append(columns, column{"all years", 24, true})
	}
	g, done := p.table(columns...)
	defer done()
	for _, kind := range LineKinds() {
		if v.request.OfKind(kind).Lines > 0 {
			ofKind := func(l Line) bool { return l.Kind == kind }
			g.row(v.across(string(kind), "", years, last, ofKind)...)
		}
	}
	g.row(v.across("total", "B", years, last, func(Line) bool { return true })...)
}

// across is the totals of some lines year by year, and of all years.
func (v view) across(name, style string, years []int, last bool, of func(Line) bool) []cell {
	cells := []cell{{{style, name}}}
	for _, year := range years {
		t := v.request.total(func(l Line) bool { return l.Year == year && of(l) })
		cells = append(cells, cell{{style, v.say(t.Total)}})
	}
	if last {
		cells = append(cells, cell{{"B", v.say(v.request.total(of).Total)}})
	}
	return cells
}

// setLines is the lines, year by year, those of years that are not asked for last.
func (v view) setLines(p *press) {
	for _, year := range v.years() {
		v.setYear(p, fmt.Sprintf("Fiscal year %d", year), func(l Line) bool { return l.Year == year })
	}
	first, last := v.request.Year, v.request.Year+v.request.Years-1
	v.setYear(p, "Other years", func(l Line) bool { return l.Year < first || l.Year > last })
}

func (v view) setYear(p *press, title string, of func(Line) bool) {
	t := v.request.total(of)
	if t.Lines+t.Excluded == 0 {
		return
	}
	p.heading(title)
	g, done := p.table(column{"#", 7, false}, column{"what, and why", 0, false}, column{"pieces", 13, true}, column{"each", 19, true}, column{"goods", 21, true},
		column{"ship, tax", 18, true}, column{"total", 22, true})
	defer done()
	for i, l := range v.request.Lines {
		if of(l) {
			g.rowAbove(v.because(l), v.lineCells(i, l)...)
		}
	}
	if t.Lines > 0 {
		bold := func(words string) cell { return cell{{"B", words}} }
		g.row(nil, bold("total"), nil, nil, bold(v.say(t.Goods)), bold(v.say(t.Shipping+t.Tax)), bold(v.say(t.Sums.Total)))
	}
}

// lineCells are a line's figures. One that is in no total is struck through.
func (v view) lineCells(i int, l Line) []cell {
	number := plain(fmt.Sprint(i + 1))
	if l.Excluded != "" {
		return []cell{number, {{"BS", l.Title}}, {{"S", fmt.Sprint(l.Quantity)}}, nil, nil, nil, plain("in no total")}
	}
	return []cell{number, {{"B", l.Title}}, plain(fmt.Sprint(l.Quantity)), plain(v.say(l.Each)), plain(v.say(l.Sums.Goods)),
		plain(v.say(l.Sums.Shipping + l.Sums.Tax)), plain(v.say(l.Sums.Total))}
}

// because is what stands below a line's figures: why, how many, and where the price
// is from.
func (v view) because(l Line) cell {
	words := capital(string(l.Kind)) + "."
	if l.Why != "" {
		words += " " + l.Why
	}
	words += " How many: " + l.Arithmetic()
	if whose := v.whose(l); whose != "" && l.PerKit != 0 {
		words += " (" + whose + ")"
	}
	words += ". " + v.request.priced(l)
	if len(l.Evidence) > 0 {
		words += " Rests on " + count(len(l.Evidence), "record") + "."
	}
	if l.Excluded != "" {
		return cell{{"", words}, {"B", l.Excluded}}
	}
	return plain(words)
}

// capital begins a sentence.
func capital(words string) string { return strings.ToUpper(words[:1]) + words[1:] }

// setLife is what became of the request, year by year, corrections beside it.
func (v view) setLife(p *press) {
	p.heading("What became of it")
	for _, year := range v.years() {
		p.say("", textSize, fmt.Sprintf("%d: %s", year, strings.TrimPrefix(v.submitted.Opening(year).Words(), "Request "+v.submitted.Number+": ")))
	}
	if whole := v.corrections(""); whole != "" {
		p.say("", textSize, "Correction of the whole request, in no sum: "+whole)
	}
	g, done := p.table(column{"#", 7, false}, column{"what", 45, false}, column{"what became of it", 0, false})
	defer done()
	for i, l := range v.submitted.Lines {
		words := l.Words(v.request.Terms.Currency)
		if steps := v.stepsOf(l); steps != "" {
			words += " Steps: " + steps + "."
		}
		became := plain(words)
		if beside := v.corrections(l.Line.Key); beside != "" {
			became = append(became, saying{"", "Correction, in no sum: " + beside})
		}
		g.row(plain(fmt.Sprint(i+1)), plain(l.Line.Title), became)
	}
}

func (v view) setProblems(p *press) {
	p.heading("Problems")
	if len(v.request.Problems) == 0 {
		p.say("", textSize, "None: nothing is left out.")
		return
	}
	g, done := p.table(column{"problem", 38, false}, column{"line", 10, false}, column{"in words", 0, false})
	defer done()
	for _, problem := range v.request.Problems {
		number := ""
		if n, known := v.numbers[problem.Line]; known {
			number = fmt.Sprint(n)
		}
		g.row(plain(string(problem.What)), plain(number), plain(problem.Say))
	}
}

func (v view) setTerms(p *press) {
	p.heading("Assumptions and terms")
	g, done := p.table(column{"term", 30, false}, column{"value", 42, false}, column{"what it means", 0, false})
	defer done()
	for _, t := range append(v.rates(), v.rules()...) {
		g.row(plain(t.name), plain(t.value), plain(t.says))
	}
	if v.submitted != nil {
		g.row(plain("digest"), plain(v.submitted.Digest), plain("SHA-256 of what was signed, byte for byte."))
	}
}

// setModel is the model's column, on pages of its own.
func (v view) setModel(p *press) {
	if v.request.Sample == nil {
		return
	}
	p.page()
	p.say("B", 13, "What the door model says")
	for _, words := range v.modelWords() {
		p.say("", textSize, words)
	}
	p.gap(2)
	g, done := p.table(column{"item", 0, false}, column{"lines", 26, false}, column{"minutes saved a call (model)", 30, true}, column{"from, to", 26, true},
		column{"marks saved a call (model)", 30, true}, column{"from, to", 26, true})
	defer done()
	for _, m := range v.modelled() {
		g.row(plain(m.title), plain(strings.Join(m.lines, ", ")), plain(decimals(m.worth.Minutes.Mean)), plain(between(m.worth.Minutes)),
			plain(decimals(m.worth.Marks.Mean)), plain(between(m.worth.Marks)))
	}
}

func decimals(x float64) string { return fmt.Sprintf("%.3f", x) }

func between(r Range) string {
	if !r.Bounded {
		return "not known"
	}
	return decimals(r.Low) + " to " + decimals(r.High)
}
