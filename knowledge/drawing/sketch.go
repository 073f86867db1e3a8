package drawing

import "math"

// point is a place in inches while a view is sketched, and in canvas units,
// upward, once it is laid out. One canvas unit is a pixel at the width of a phone.
type point struct{ x, y float64 }

func (p point) plus(dx, dy float64) point { return point{p.x + dx, p.y + dy} }

// look is how a shape is filled and stroked; the palettes colour it.
type look int

const (
	lookFrame look = iota
	lookDoor
	lookGlass
	lookPlate
	lookSteel
	lookVoid
	lookPin
	lookTool
	lookGhost  // dashed: hidden behind something, or where it will be
	lookLine   // a thin line of ink
	lookRod    // a tool that is a line: a rod, a film, a strip
	lookPath   // the way a tool moves, with an arrow head
	lookMotion // the way the door or the latch moves, dashed, with a head
)

// shape is one polygon or line of a drawing.
type shape struct {
	look    look
	outline []point
	width   float64 // of a line in canvas units; 0 for the look's usual
}

func (l look) closed() bool {
	switch l {
	case lookLine, lookRod, lookPath, lookMotion:
		return false
	}
	return true
}

// anchor is what a label points at.
type anchor struct {
	text string
	at   point
}

// sketch collects shapes and anchors of one view, in inches.
type sketch struct {
	scene   Scene
	shapes  []shape
	anchors []anchor
	flip    bool // y is turned over: the pull side is up
}

func (k *sketch) point(x, y float64) point {
	if k.flip {
		y = -y
	}
	return point{x, y}
}

// polygon takes x and y alternately, as line does.
func (k *sketch) polygon(l look, xy ...float64) { k.line(l, 0, xy...) }

func (k *sketch) line(l look, width float64, xy ...float64) {
	if len(xy) == 0 {
		return
	}
	outline := make([]point, 0, len(xy)/2)
	for i := 0; i+1 < len(xy); i += 2 {
		outline = append(outline, k.point(xy[i], xy[i+1]))
	}
	k.shapes = append(k.shapes, shape{l, outline, width})
}

func (k *sketch) box(l look, x0, y0, x1, y1 float64) {
	k.polygon(l, x0, y0, x1, y0, x1, y1, x0, y1)
}

func (k *sketch) circle(l look, x, y, r float64) { k.oval(l, x, y, r, r) }

func (k *sketch) oval(l look, x, y, rx, ry float64) {
	k.shapes = append(k.shapes, shape{l, arc(k.point(x, y), rx, ry, 0, 2*math.Pi), 0})
}

// arc draws an open arc from one angle to the other, in radians.
func (k *sketch) arc(l look, x, y, r, from, to float64) {
	if k.flip {
		from, to = -from, -to
	}
	k.shapes = append(k.shapes, shape{l, arc(k.point(x, y), r, r, from, to), 0})
}

func arc(c point, rx, ry, from, to float64) []point {
	n := max(6, int(math.Abs(to-from)*6))
	points := make([]point, 0, n+1)
	for i := range n + 1 {
		a := from + (to-from)*float64(i)/float64(n)
		points = append(points, c.plus(rx*math.Cos(a), ry*math.Sin(a)))
	}
	return points
}

// label asks for a part's label at that place.
func (k *sketch) label(p Part, x, y float64) {
	k.write(p, partWords[p].label, x, y)
}

func (k *sketch) labelTool(t Tool, x, y float64) {
	k.write(Part(t), toolWords[t].label, x, y)
}

// write asks for a label; the card's own words come first.
func (k *sketch) write(p Part, usual string, x, y float64) {
	text := usual
	if own, given := k.scene.Labels[p]; given {
		text = own
	}
	if text != "" {
		k.anchors = append(k.anchors, anchor{text, k.point(x, y)})
	}
}

// labelIfNamed labels what is always there only where the card names it.
func (k *sketch) labelIfNamed(p Part, x, y float64) {
	if _, given := k.scene.Labels[p]; given || k.scene.Has(p) {
		k.label(p, x, y)
	}
}

func (k *sketch) has(p Part) bool { return k.scene.Has(p) }
