package drawing

import "math"

// addLabel puts a label where it hides least: on its part when that is roomy,
// else near it with a line to it. A label that finds no room at all is left
// out; alt text still names the part.
func (p *picture) addLabel(a anchor, ink inkMap) {
	best, cost := text{}, math.Inf(1)
	size := textBox(a.text, point{})
	for _, at := range p.candidates(a.at) {
		t := text{words: a.text, box: size.moved(at), plate: true}
		if c := p.cost(&t, a.at, ink, cost); c < cost {
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
// Infinite means that it cannot stand there. Once the cheap sums reach the
// limit, the rest is not looked at.
func (p *picture) cost(t *text, at point, ink inkMap, limit float64) float64 {
	if !(box{3, 3, p.width - 3, p.height - 3}).contains(t.box) {
		return math.Inf(1)
	}
	cost := ink.under(t.box)
	from := t.box.nearest(at)
	if from != at {
		t.leader = &at
		cost += leaderCost(math.Hypot(at.x-from.x, at.y-from.y))
	}
	if cost >= limit {
		return cost
	}
	for _, other := range p.texts {
		if t.box.grow(3).overlaps(other.box) {
			return math.Inf(1)
		}
	}
	if t.leader == nil {
		return cost
	}
	return cost + p.crossings(from, at)*60 + ink.along(from, at)*0.4
}

// leaderCost prefers short leaders, but none so short that it looks like a dash.
func leaderCost(length float64) float64 {
	if length < 6 {
		return 20 + length*0.45
	}
	return length * 0.45
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
