package drawing

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
)

// painter puts a picture on any canvas of gonum's vg, k times as large.
type painter struct {
	canvas  vg.Canvas
	palette palette
	k       float64
}

func (d painter) paint(p picture) {
	d.fill([]point{{0, 0}, {p.width, 0}, {p.width, p.height}, {0, p.height}}, d.palette.ground)
	for _, s := range p.shapes {
		d.shape(s)
	}
	if p.figure != nil {
		d.person(*p.figure)
	}
	for _, t := range p.texts {
		if t.leader != nil {
			d.leader(t)
		}
	}
	for _, t := range p.texts {
		d.text(t)
	}
}

func (d painter) shape(s shape) {
	style := d.palette.style(s.look)
	if s.width > 0 {
		style.width = s.width
	}
	if s.look.closed() {
		if style.fill.A > 0 {
			d.fill(s.outline, style.fill)
		}
		for _, h := range style.hatch {
			for _, segment := range h.lines(s.outline) {
				d.stroke(segment, false, d.palette.quiet, 0.8, nil)
			}
		}
		d.stroke(s.outline, true, style.stroke, style.width, style.dash)
		return
	}
	d.openLine(s.outline, style)
}

func (d painter) openLine(outline []point, style style) {
	var head []point
	if style.head {
		outline, head = arrow(outline, style.width)
	}
	if style.halo > 0 {
		d.stroke(outline, false, d.palette.ground, style.width+style.halo, nil)
	}
	if style.casing > 0 {
		d.stroke(outline, false, d.palette.ink, style.width+style.casing, nil)
		if head != nil {
			d.stroke(head, true, d.palette.ink, style.casing, nil)
		}
	}
	d.stroke(outline, false, style.stroke, style.width, style.dash)
	if head != nil {
		d.fill(head, style.stroke)
	}
}

// arrow splits a line into its shaft, a little shorter, and a head.
func arrow(outline []point, width float64) (shaft, head []point) {
	n := len(outline)
	tip := outline[n-1]
	from := outline[n-2]
	l := math.Hypot(tip.x-from.x, tip.y-from.y)
	ux, uy := (tip.x-from.x)/l, (tip.y-from.y)/l
	long, wide := 7+1.8*width, 3.5+1.1*width
	neck := tip.plus(-ux*long, -uy*long)
	shaft = append(append([]point{}, outline[:n-1]...), neck)
	for len(shaft) > 2 && math.Hypot(shaft[len(shaft)-2].x-tip.x, shaft[len(shaft)-2].y-tip.y) < long {
		shaft = append(shaft[:len(shaft)-2], neck)
	}
	return shaft, []point{tip, neck.plus(-uy*wide, ux*wide), neck.plus(uy*wide, -ux*wide)}
}

// person is the crew seen from above: shoulders and a helmet.
func (d painter) person(at point) {
	d.fill(arc(at, 15, 6, 0, 2*math.Pi), d.palette.ink)
	d.fill(arc(at, 8.5, 8.5, 0, 2*math.Pi), d.palette.ground)
	d.fill(arc(at, 6.5, 6.5, 0, 2*math.Pi), d.palette.ink)
}

func (d painter) leader(t text) {
	from := t.box.nearest(*t.leader)
	d.stroke([]point{from, *t.leader}, false, d.palette.ground, 3.4, nil)
	d.stroke([]point{from, *t.leader}, false, d.palette.ink, 1.3, nil)
	d.fill(arc(*t.leader, 2.6, 2.6, 0, 2*math.Pi), d.palette.ink)
}

func (d painter) text(t text) {
	if t.plate {
		b := box{t.box.x0, t.box.y0 + 0.5, t.box.x1, t.box.y1 - 0.5}
		d.fill([]point{{b.x0, b.y0}, {b.x1, b.y0}, {b.x1, b.y1}, {b.x0, b.y1}}, d.palette.ground)
	}
	d.canvas.SetColor(d.palette.ink)
	d.canvas.FillString(faceOf(textSize*d.k), d.at(point{t.box.x0 + 3, t.box.y0 + 4.5}), t.words)
}

func (d painter) at(p point) vg.Point {
	return vg.Point{X: vg.Length(p.x * d.k), Y: vg.Length(p.y * d.k)}
}

func (d painter) path(points []point, closed bool) vg.Path {
	var path vg.Path
	for i, p := range points {
		if i == 0 {
			path.Move(d.at(p))
		} else {
			path.Line(d.at(p))
		}
	}
	if closed {
		path.Close()
	}
	return path
}

func (d painter) fill(points []point, c color.Color) {
	d.canvas.SetColor(c)
	d.canvas.Fill(d.path(points, true))
}

func (d painter) stroke(points []point, closed bool, c color.Color, width float64, dash []float64) {
	lengths := make([]vg.Length, len(dash))
	for i, l := range dash {
		lengths[i] = vg.Length(l * d.k)
	}
	d.canvas.SetColor(c)
	d.canvas.SetLineWidth(vg.Length(width * d.k))
	d.canvas.SetLineDash(lengths, 0)
	d.canvas.Stroke(d.path(points, closed))
}
