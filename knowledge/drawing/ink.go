package drawing

import "math"

// inkMap tells how much of a drawing a label would hide: a little over large
// plain shapes, much over small parts, tools and arrows. It keeps sums over all
// cells to the left of and below each one, so a box is looked up in four steps.
type inkMap struct {
	columns, rows int
	sums          []float64
}

const inkCell = 5.0 // canvas units

func newInkMap(p *picture) inkMap {
	m := inkMap{columns: int(p.width/inkCell) + 2, rows: int(p.height/inkCell) + 2}
	m.sums = make([]float64, m.columns*m.rows)
	for _, s := range p.shapes {
		m.add(s)
	}
	for y := 1; y < m.rows; y++ {
		for x := 1; x < m.columns; x++ {
			m.sums[y*m.columns+x] += m.at(x-1, y) + m.at(x, y-1) - m.at(x-1, y-1)
		}
	}
	return m
}

func (m inkMap) at(x, y int) float64 { return m.sums[y*m.columns+x] }

// add puts the shape's weight into the cells it covers. Cell x, y has its
// middle at (x-0.5, y-0.5) cells; row and column 0 stay empty.
func (m inkMap) add(s shape) {
	b := bounds(s.outline).grow(inkCell)
	for y := max(1, int(b.y0/inkCell)); y < m.rows && float64(y-1)*inkCell <= b.y1; y++ {
		for x := max(1, int(b.x0/inkCell)); x < m.columns && float64(x-1)*inkCell <= b.x1; x++ {
			if s.covers(point{(float64(x) - 0.5) * inkCell, (float64(y) - 0.5) * inkCell}) {
				m.sums[y*m.columns+x] += s.look.weight()
			}
		}
	}
}

// under is the weight of all that lies below the box.
func (m inkMap) under(b box) float64 {
	column := func(v float64) int { return min(max(int(math.Round(v/inkCell)), 0), m.columns-1) }
	row := func(v float64) int { return min(max(int(math.Round(v/inkCell)), 0), m.rows-1) }
	x0, x1, y0, y1 := column(b.x0), column(b.x1), row(b.y0), row(b.y1)
	return m.at(x1, y1) - m.at(x0, y1) - m.at(x1, y0) + m.at(x0, y0)
}

// along is the weight below a leader, but for its end at the part itself.
func (m inkMap) along(from, at point) float64 {
	const step, spare = 2 * inkCell, 12.0
	var sum float64
	length := math.Hypot(at.x-from.x, at.y-from.y)
	for d := 0.0; d < length-spare; d += step {
		x, y := from.x+(at.x-from.x)*d/length, from.y+(at.y-from.y)*d/length
		sum += m.under(box{x, y, x, y}.grow(inkCell))
	}
	return sum
}

// weight is what hiding one spot of a shape costs.
func (l look) weight() float64 {
	switch l {
	case lookFrame, lookDoor, lookGlass:
		return 0.15
	case lookVoid, lookPlate:
		return 2
	case lookGhost:
		return 0.5
	}
	return 8
}

// covers reports whether the shape has ink at or near the point.
func (s shape) covers(p point) bool {
	if s.look.closed() && inside(s.outline, p) {
		return true
	}
	n := len(s.outline)
	for i := range n {
		if i == n-1 && !s.look.closed() {
			break
		}
		if distance(p, s.outline[i], s.outline[(i+1)%n]) < 4 {
			return true
		}
	}
	return false
}

// inside tells by the even-odd rule.
func inside(outline []point, p point) bool {
	in := false
	for i, a := range outline {
		b := outline[(i+1)%len(outline)]
		if (a.y > p.y) != (b.y > p.y) && p.x < a.x+(p.y-a.y)/(b.y-a.y)*(b.x-a.x) {
			in = !in
		}
	}
	return in
}

// distance is from p to the segment from a to b.
func distance(p, a, b point) float64 {
	dx, dy := b.x-a.x, b.y-a.y
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = min(max(((p.x-a.x)*dx+(p.y-a.y)*dy)/l, 0), 1)
	}
	return math.Hypot(p.x-a.x-t*dx, p.y-a.y-t*dy)
}
