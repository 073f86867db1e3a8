package drawing

import "slices"

// Box is a rectangle of the laid-out canvas, for tests.
type Box struct{ X0, Y0, X1, Y1 float64 }

// Layout tells where the words of a scene stand, for tests.
type Layout struct {
	Canvas Box
	Words  map[string]Box
	Wanted int // labels that the view asked for
	Placed int
}

// LayOut lays a scene out as PNG and SVG do.
func LayOut(s Scene) Layout {
	p := layOut(s)
	k := sketchOf(s)
	l := Layout{Canvas: Box{0, 0, p.width, p.height}, Words: map[string]Box{}, Wanted: len(k.anchors)}
	fixed := len(p.texts)
	for _, t := range p.texts {
		l.Words[t.words] = Box{t.box.x0, t.box.y0, t.box.x1, t.box.y1}
	}
	l.Placed = fixed - fixedTexts(s)
	return l
}

func fixedTexts(s Scene) int {
	p := picture{width: canvasWidth, height: canvasWidth}
	p.addCaption(wrap(s.Caption, canvasWidth-2*margin))
	p.addZones(s, 0)
	return len(p.texts)
}

// Constants and colours that tests hold against published figures.
const (
	BevelSlope  = bevelSlope
	TextSize    = textSize
	CanvasWidth = canvasWidth
)

// Contrasts returns colours of a palette that must differ: each with the ground.
func (o Options) Contrasts() (ground [3]uint8, text [3]uint8, marks map[string][3]uint8) {
	c := o.palette()
	rgb := func(v interface{ RGBA() (r, g, b, a uint32) }) [3]uint8 {
		r, g, b, _ := v.RGBA()
		return [3]uint8{uint8(r >> 8), uint8(g >> 8), uint8(b >> 8)}
	}
	return rgb(c.ground), rgb(c.ink), map[string][3]uint8{
		"tool": rgb(c.tool), "motion": rgb(c.motion), "pin": rgb(c.pin), "steel": rgb(c.steel),
	}
}

// HatchLines hatches an outline given as x and y in turn.
func HatchLines(angle, spacing float64, xy ...float64) (lines [][4]float64) {
	var outline []point
	for i := 0; i+1 < len(xy); i += 2 {
		outline = append(outline, point{xy[i], xy[i+1]})
	}
	for _, l := range (hatching{angle, spacing}).lines(outline) {
		lines = append(lines, [4]float64{l[0].x, l[0].y, l[1].x, l[1].y})
	}
	return lines
}

// Build is the part that p needs beside it in a [Face]; empty for most.
func Build(p Part) Part { return p.build() }

// Shows reports whether a scene has a place for a part.
func Shows(s Scene, p Part) bool { return s.shows(p) }

// Misfit says why a tool cannot be drawn in a scene, or nothing.
func Misfit(s Scene, t Tool) string { return s.misfit(t) }

// AllParts and AllTools are the vocabulary of a view.
func AllParts(v View) (parts []Part) {
	for _, p := range knownParts() {
		if partWords[p].in(v) {
			parts = append(parts, p)
		}
	}
	return parts
}

// AllTools lists the tools that a view draws.
func AllTools(v View) (tools []Tool) {
	for t, w := range toolWords {
		if w.in(v) {
			tools = append(tools, t)
		}
	}
	slices.Sort(tools)
	return tools
}
