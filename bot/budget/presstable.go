package budget

// column is a column of a table on paper.
type column struct {
	heading string
	width   float64 // in millimetres; 0 takes what the others leave
	figures bool    // set to the right, and made smaller rather than broken
}

// saying is a paragraph in a cell.
type saying struct {
	style string // B is bold, S struck through
	words string
}

// cell is what stands in one cell, one paragraph below the other.
type cell []saying

func plain(words string) cell { return cell{{"", words}} }

// setLine is one line of a cell as it is set.
type setLine struct {
	style string
	size  float64
	words string
}

// grid is a table on paper.
type grid struct {
	press   *press
	columns []column
}

// table opens a table. Its headings stand again on each page that it goes on to,
// until done is called.
func (p *press) table(columns ...column) (g grid, done func()) {
	g = grid{p, columns}
	rest, open := p.width()-cellGap*float64(len(columns)-1), -1
	for i, c := range columns {
		rest -= c.width
		if c.width == 0 {
			open = i
		}
	}
	if open >= 0 {
		g.columns[open].width = rest
	}
	p.room(6 * lineHeight)
	g.headings()
	p.above = g.headings
	return g, func() { p.above = nil; p.gap(2) }
}

func (g grid) headings() {
	lines := make([][]setLine, len(g.columns))
	for i, c := range g.columns {
		c.figures = false
		lines[i] = g.set(c, cell{{"B", c.heading}})
	}
	for i := range tallest(lines) {
		g.line(lines, i)
	}
	g.press.rule(0, g.press.pdf.GetY()+0.6)
	g.press.gap(1.2)
}

// row sets a row. One that fits on a page is not broken; one that does not goes on
// below the headings of the next.
func (g grid) row(cells ...cell) { g.rowAbove(nil, cells...) }

// rowAbove is a row with a text below it, as wide as all columns but the first.
func (g grid) rowAbove(below cell, cells ...cell) {
	wide := grid{g.press, []column{g.columns[0], {width: g.press.width() - g.columns[0].width - cellGap}}}
	lines, under := g.setAll(cells), wide.setAll([]cell{nil, below})
	height := float64(tallest(lines)+tallest(under)) * lineHeight
	g.press.room(min(height, g.press.bottom/2))
	g.lines(lines)
	wide.lines(under)
	g.press.rule(200, g.press.pdf.GetY()+0.6)
	g.press.gap(1.2)
}

func (g grid) setAll(cells []cell) [][]setLine {
	lines := make([][]setLine, len(g.columns))
	for i, c := range cells {
		lines[i] = g.set(g.columns[i], c)
	}
	return lines
}

// lines sets all lines of some cells, on the next page where this one ends.
func (g grid) lines(cells [][]setLine) {
	for i := range tallest(cells) {
		g.press.room(lineHeight)
		g.line(cells, i)
	}
}

// set breaks a cell into lines, or makes figures fit.
func (g grid) set(c column, content cell) []setLine {
	pdf := g.press.pdf
	var lines []setLine
	for _, s := range content {
		words := onePaper(s.words)
		pdf.SetFont("sans", s.style, cellSize)
		if c.figures {
			size := cellSize * min(1, c.width/max(c.width, pdf.GetStringWidth(words)))
			lines = append(lines, setLine{s.style, size, words})
			continue
		}
		for _, line := range g.press.wrap(words, c.width) {
			lines = append(lines, setLine{s.style, cellSize, line})
		}
	}
	return lines
}

// line sets the nth line of each cell.
func (g grid) line(cells [][]setLine, n int) {
	pdf := g.press.pdf
	x, y := pageMargin, pdf.GetY()
	for i, c := range g.columns {
		if n < len(cells[i]) {
			l := cells[i][n]
			pdf.SetFont("sans", l.style, l.size)
			shift := 0.0
			if c.figures {
				shift = c.width - pdf.GetStringWidth(l.words)
			}
			pdf.Text(x+shift, y+lineHeight*0.8, l.words)
		}
		x += c.width + cellGap
	}
	pdf.SetY(y + lineHeight)
}

func tallest(cells [][]setLine) int {
	most := 0
	for _, lines := range cells {
		most = max(most, len(lines))
	}
	return most
}
