package chart

import (
	"image/color"

	"gonum.org/v1/plot/vg"
)

// painter puts a sketch on any canvas of gonum's vg, k times as large.
type painter struct {
	canvas vg.Canvas
	height float64
	k      float64
}

func (p painter) paint(s *sketch) {
	p.shape(shape{outline: box(0, 0, canvasWidth, s.height), fill: ground})
	for _, shape := range s.shapes {
		p.shape(shape)
	}
	for _, t := range s.texts {
		p.text(t)
	}
}

func (p painter) shape(s shape) {
	var path vg.Path
	for i, at := range s.outline {
		if i == 0 {
			path.Move(p.at(at))
		} else {
			path.Line(p.at(at))
		}
	}
	if s.fill != (color.RGBA{}) {
		path.Close()
		p.canvas.SetColor(s.fill)
		p.canvas.Fill(path)
	}
	if s.width > 0 {
		var dash []vg.Length
		for _, l := range s.dash {
			dash = append(dash, vg.Length(l*p.k))
		}
		p.canvas.SetColor(ink)
		p.canvas.SetLineWidth(vg.Length(s.width * p.k))
		p.canvas.SetLineDash(dash, 0)
		p.canvas.Stroke(path)
	}
}

func (p painter) text(t text) {
	at := t.at
	at.x -= t.align * t.width()
	p.canvas.SetColor(t.colour)
	p.canvas.FillString(faceOf(t.size*p.k, t.bold), p.at(at), t.words)
}

// at turns a place on the sketch, counted from the top, into one on a canvas,
// counted from the bottom.
func (p painter) at(place point) vg.Point {
	return vg.Point{X: vg.Length(place.x * p.k), Y: vg.Length((p.height - place.y) * p.k)}
}
