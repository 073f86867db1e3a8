package drawing

import (
	"math"
	"strings"
)

// Canvas measures in canvas units. Text never gets smaller than textSize, so a
// phone of 390 pixels shows it at 13.
const (
	canvasWidth = 390.0
	margin      = 10.0
	textSize    = 13.0
	lineHeight  = 16.0
	zoneHeight  = 26.0 // a strip that says which side is which
	maxHeight   = 340.0
	maxScale    = 50.0 // canvas units an inch
)

// picture is a scene laid out on the canvas, ready to paint.
type picture struct {
	width, height float64
	shapes        []shape
	texts         []text
	figure        *point // the crew, seen from above
}

// text is one line of words on the canvas.
type text struct {
	words  string
	box    box
	leader *point // what it points at, nil when the text lies on it
	plate  bool   // ground behind it, so that hatching does not run through
}

// box is an upright rectangle on the canvas.
type box struct{ x0, y0, x1, y1 float64 }

func (b box) overlaps(o box) bool {
	return b.x0 < o.x1 && o.x0 < b.x1 && b.y0 < o.y1 && o.y0 < b.y1
}

func (b box) contains(o box) bool {
	return b.x0 <= o.x0 && b.y0 <= o.y0 && b.x1 >= o.x1 && b.y1 >= o.y1
}

func (b box) grow(d float64) box { return box{b.x0 - d, b.y0 - d, b.x1 + d, b.y1 + d} }

func (b box) moved(by point) box { return box{b.x0 + by.x, b.y0 + by.y, b.x1 + by.x, b.y1 + by.y} }

// nearest returns the point of the box that is nearest to p.
func (b box) nearest(p point) point {
	return point{min(max(p.x, b.x0), b.x1), min(max(p.y, b.y0), b.y1)}
}

func bounds(points []point) box {
	b := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, p := range points {
		b = box{min(b.x0, p.x), min(b.y0, p.y), max(b.x1, p.x), max(b.y1, p.y)}
	}
	return b
}

// layOut sketches the scene's view, fits it on the canvas and places its words.
func layOut(s Scene) picture { return compose(sketchOf(s)) }

func sketchOf(s Scene) *sketch {
	k := &sketch{scene: s}
	switch s.View {
	case Lock:
		sketchLock(k)
	case Edge:
		sketchEdge(k)
	case Face:
		sketchFace(k)
	case Head, Foot:
		sketchSide(k)
	case Card:
		sketchCard(k)
	default:
		sketchPlan(k)
	}
	return k
}

func compose(k *sketch) picture {
	var all []point
	for _, shape := range k.shapes {
		all = append(all, shape.outline...)
	}
	inches := bounds(all)
	scale := min(maxScale, (canvasWidth-2*margin)/(inches.x1-inches.x0), maxHeight/(inches.y1-inches.y0))
	caption := wrap(k.scene.Caption, canvasWidth-2*margin)
	below := margin + lineHeight*float64(len(caption))
	above := margin + zoneHeight
	switch k.scene.View {
	case Plan:
		below += zoneHeight
	case Card:
		below, above = below+3*lineHeight, 5*lineHeight // words go around the tool
	}
	p := picture{width: canvasWidth}
	p.height = math.Ceil(below + (inches.y1-inches.y0)*scale + above)
	left := (canvasWidth - (inches.x1-inches.x0)*scale) / 2
	place := func(q point) point {
		return point{left + (q.x-inches.x0)*scale, below + (q.y-inches.y0)*scale}
	}
	p.addShapes(k.shapes, place)
	p.addCaption(caption)
	p.addZones(k.scene, below-zoneHeight/2)
	ink := newInkMap(&p)
	for _, a := range k.anchors {
		p.addLabel(anchor{a.text, place(a.at)}, ink)
	}
	return p
}

// addShapes moves shapes from inches to the canvas.
func (p *picture) addShapes(shapes []shape, place func(point) point) {
	for _, s := range shapes {
		moved := make([]point, len(s.outline))
		for i, q := range s.outline {
			moved[i] = place(q)
		}
		s.outline = moved
		p.shapes = append(p.shapes, s)
	}
}

// wrap breaks words into as few lines as fit the width, about equally long.
func wrap(words string, width float64) []string {
	lines := fill(words, width)
	for narrower := width - 10; len(lines) > 1 && narrower > 0; narrower -= 10 {
		again := fill(words, narrower)
		if len(again) > len(lines) {
			break
		}
		lines = again
	}
	return lines
}

// fill puts as many words as fit on each line.
func fill(words string, width float64) []string {
	var lines []string
	for _, word := range strings.Fields(words) {
		last := len(lines) - 1
		if last >= 0 && textWidth(lines[last]+" "+word) <= width {
			lines[last] += " " + word
		} else {
			lines = append(lines, word)
		}
	}
	return lines
}

func (p *picture) addCaption(lines []string) {
	for i, line := range lines {
		y := margin/2 + lineHeight*float64(len(lines)-1-i)
		p.texts = append(p.texts, text{words: line, box: textBox(line, point{p.width / 2, y + lineHeight/2})})
	}
}

// addZones marks inside and outside, and where the crew stands.
func (p *picture) addZones(s Scene, low float64) {
	zone := func(words string, x, y float64) {
		half := textWidth(words) / 2
		x = min(max(x, margin+half), p.width-margin-half)
		p.texts = append(p.texts, text{words: words, box: textBox(words, point{x, y}), plate: true})
	}
	high := p.height - margin/2 - zoneHeight/2
	switch s.View {
	case Plan:
		zone("INSIDE", p.width/2, high)
		words := "YOU ARE HERE, OUTSIDE"
		zone(words, p.width/2, low)
		p.figure = &point{p.width/2 - textWidth(words)/2 - 22, low}
	case Head, Foot, Edge:
		zone("YOU ARE HERE, OUTSIDE", 0, high)
		zone("INSIDE", p.width, high)
	case Lock, Face:
		words := "SEEN FROM OUTSIDE, YOUR SIDE"
		if s.seenFromInside() {
			words = "SEEN FROM INSIDE"
		}
		zone(words, p.width/2, high)
	}
}
