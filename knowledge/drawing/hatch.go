package drawing

import (
	"math"
	"slices"
)

// lines returns the parts of parallel lines that lie inside the outline, by
// the even-odd rule; canvases of vg cannot clip.
func (h hatching) lines(outline []point) [][]point {
	sin, cos := math.Sincos(h.angle * math.Pi / 180)
	turn := func(p point) point { return point{p.x*cos + p.y*sin, p.y*cos - p.x*sin} }
	back := func(p point) point { return point{p.x*cos - p.y*sin, p.x*sin + p.y*cos} }
	turned := make([]point, len(outline))
	for i, p := range outline {
		turned[i] = turn(p)
	}
	b := bounds(turned)
	var lines [][]point
	for y := math.Ceil(b.y0/h.spacing) * h.spacing; y < b.y1; y += h.spacing {
		xs := cuts(turned, y)
		for i := 0; i+1 < len(xs); i += 2 {
			lines = append(lines, []point{back(point{xs[i], y}), back(point{xs[i+1], y})})
		}
	}
	return lines
}

// cuts returns where the outline crosses a level, from left to right.
func cuts(outline []point, y float64) []float64 {
	var xs []float64
	for i, a := range outline {
		b := outline[(i+1)%len(outline)]
		if (a.y > y) != (b.y > y) {
			xs = append(xs, a.x+(y-a.y)/(b.y-a.y)*(b.x-a.x))
		}
	}
	slices.Sort(xs)
	return xs
}
