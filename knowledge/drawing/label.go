package drawing

import "math"

// addLabel puts a label where it hides least: on its part when that is roomy,
// else near it with a line to it. A label that finds no room at all is left
// out; alt text still names the part.
func (p *picture) addLabel(a anchor) {
	best, cost := text{}, math.Inf(1)
	for _, at := range p.candidates(a.at) {
		t := text{words: a.text, box: textBox(a.text, at), plate: true}
		if c := p.cost(&t, a.at); c < cost {
			best, cost = t, c
		}
	}
	if !math.IsInf(cost, 1) {
		p.texts = append(p.texts, best)
	}
}

// candidates are the anchor itself, then the whole canvas in a grid.
func (p *picture) candidates(at point) []point {
	list := []point{at}
	for y := lineHeight; y < p.height; y += lineHeight / 2 {
		for x := margin; x < p.width; x += 10 {
			list = append(list, point{x, y})
		}
	}
	return list
}

// cost weighs what the label would hide and how far it is from its part.
// Infinite means that it cannot stand there.
func (p *picture) cost(t *text, at point) float64 {
	if !(box{3, 3, p.width - 3, p.height - 3}).contains(t.box) {
		return math.Inf(1)
	}
	for _, other := range p.texts {
		if t.box.grow(3).overlaps(other.box) {
			return math.Inf(1)
		}
	}
	cost := p.hidden(t.box)
	if t.box.contains(box{at.x, at.y, at.x, at.y}) {
		return cost
	}
	t.leader = &at
	from := t.box.nearest(at)
	length := math.Hypot(at.x-from.x, at.y-from.y)
	if length < 6 {
		cost += 20
	}
	return cost + length*0.45 + p.crossings(from, at)*60
}

// hidden adds up what lies below the box: a little for large plain shapes,
// much for small parts, tools and arrows.
func (p *picture) hidden(b box) float64 {
	var sum float64
	for _, s := range p.shapes {
		if !bounds(s.outline).grow(4).overlaps(b) {
			continue
		}
		weight := s.look.weight()
		for y := b.y0 + 2; y <= b.y1; y += 6 {
			for x := b.x0 + 2; x <= b.x1; x += 6 {
				if s.covers(point{x, y}) {
					sum += weight
				}
			}
		}
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

// crossings counts what a leader would run through: other leaders and words.
func (p *picture) crossings(a, b point) float64 {
	var n float64
	for _, t := range p.texts {
		if t.leader != nil && cross(a, b, t.box.nearest(*t.leader), *t.leader) {
			n++
		}
		for i := range 9 {
			f := float64(i) / 8
			if q := (point{a.x + f*(b.x-a.x), a.y + f*(b.y-a.y)}); t.box.contains(box{q.x, q.y, q.x, q.y}) {
				n++
				break
			}
		}
	}
	return n
}

func cross(a, b, c, d point) bool {
	side := func(p, q, r point) bool { return (q.x-p.x)*(r.y-p.y) > (q.y-p.y)*(r.x-p.x) }
	return side(a, b, c) != side(a, b, d) && side(c, d, a) != side(c, d, b)
}
