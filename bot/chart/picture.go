package chart

import (
	"bytes"
	"errors"
	"fmt"
	"html"
	"image/png"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"
)

// ErrData means that the figures cannot be true, or that they are more than a
// drawing for a phone can hold.
var ErrData = errors.New("the figures cannot be drawn")

// Picture is one drawing. The same figures give the same bytes.
type Picture struct {
	PNG, SVG []byte
	Alt      string // says in words what is drawn, the summary first
}

// Options say how large a drawing is.
type Options struct {
	Width int // of the PNG in pixels, 200 to 2400; 0 is 800, for a phone's screen of 400 points
}

// Widths of a drawing in pixels. The canvas is as wide as a phone; its text has 13
// units or more.
const (
	canvasWidth   = 400.0
	usualWidth    = 800
	leastWidth    = 200
	greatestWidth = 2400
)

// figures are what can be drawn: they check themselves, and give a sketch and what
// it shows in words.
type figures interface {
	layOut() (s *sketch, alt string, err error)
}

func (o Options) draw(f figures) (Picture, error) {
	width := o.Width
	if width == 0 {
		width = usualWidth
	}
	if width < leastWidth || width > greatestWidth {
		return Picture{}, fmt.Errorf("a width of %d pixels is not from %d to %d", width, leastWidth, greatestWidth)
	}
	s, alt, err := f.layOut()
	if err != nil {
		return Picture{}, err
	}
	alt = clean(alt)
	pixels, err := s.png(width)
	if err != nil {
		return Picture{}, fmt.Errorf("write pixels: %w", err)
	}
	vector, err := s.svg(alt)
	if err != nil {
		return Picture{}, fmt.Errorf("write vectors: %w", err)
	}
	return Picture{PNG: pixels, SVG: vector, Alt: alt}, nil
}

func (s *sketch) png(width int) ([]byte, error) {
	k := float64(width) / canvasWidth
	const dotsPerInch = 72 // so that a point of vg is a pixel
	canvas := vgimg.NewWith(vgimg.UseWH(vg.Length(width), vg.Length(math.Round(s.height*k))), vgimg.UseDPI(dotsPerInch))
	painter{canvas, s.height, k}.paint(s)
	var out bytes.Buffer
	if err := png.Encode(&out, canvas.Image()); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

func (s *sketch) svg(alt string) ([]byte, error) {
	canvas := vgsvg.New(canvasWidth, vg.Length(s.height))
	painter{canvas, s.height, 1}.paint(s)
	var out bytes.Buffer
	if _, err := canvas.WriteTo(&out); err != nil {
		return nil, err
	}
	return []byte(s.described(out.String(), alt)), nil
}

// described adds what the library leaves out: a role and a description for screen
// readers, pixels in place of points, fonts to fall back on, and how wide each text
// is, so that another font does not push it out of its place.
func (s *sketch) described(svg, alt string) string {
	start := strings.Index(svg, "<svg")
	end := start + strings.Index(svg[start:], ">") + 1
	var out strings.Builder
	fmt.Fprintf(&out, `<svg width="%.0f" height="%.0f" viewBox="0 0 %.5g %.5g" role="img" xmlns="http://www.w3.org/2000/svg"><desc>%s</desc>`,
		canvasWidth, s.height, canvasWidth, s.height, html.EscapeString(alt))
	body := strings.ReplaceAll(svg[end:], "font-family:Liberation Sans;", "font-family:'Liberation Sans',Arial,Helvetica,sans-serif;")
	for i, part := range strings.Split(body, "<text ") {
		if i > 0 {
			fmt.Fprintf(&out, `<text textLength="%.1f" lengthAdjust="spacingAndGlyphs" `, s.texts[i-1].width())
		}
		out.WriteString(part)
	}
	return out.String()
}
