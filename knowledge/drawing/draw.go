package drawing

import (
	"bytes"
	"fmt"
	"html"
	"image/png"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"
)

// Widths of a drawing in pixels.
const (
	usualWidth    = 390
	leastWidth    = 160
	greatestWidth = 2400
)

func (o Options) width() (int, error) {
	switch {
	case o.Width == 0:
		return usualWidth, nil
	case o.Width < leastWidth || o.Width > greatestWidth:
		return 0, fmt.Errorf("draw scene: a width of %d pixels is not from %d to %d", o.Width, leastWidth, greatestWidth)
	}
	return o.Width, nil
}

// PNG draws the scene as a PNG image. The height follows from the scene. The
// only error is a width out of range.
func (s Scene) PNG(o Options) ([]byte, error) {
	width, err := o.width()
	if err != nil {
		return nil, err
	}
	p := layOut(s)
	k := float64(width) / p.width
	const dotsPerInch = 72 // so that a point of vg is a pixel
	canvas := vgimg.NewWith(vgimg.UseWH(vg.Length(width), vg.Length(math.Round(p.height*k))), vgimg.UseDPI(dotsPerInch))
	painter{canvas, o.palette(), k}.paint(p)
	var out bytes.Buffer
	if err := png.Encode(&out, canvas.Image()); err != nil {
		return nil, fmt.Errorf("write drawing: %w", err)
	}
	return out.Bytes(), nil
}

// SVG draws the scene as an SVG document. Its description is the scene's alt
// text. The only error is a width out of range.
func (s Scene) SVG(o Options) ([]byte, error) {
	width, err := o.width()
	if err != nil {
		return nil, err
	}
	p := layOut(s)
	k := float64(width) / p.width
	canvas := vgsvg.New(vg.Length(p.width*k), vg.Length(p.height*k))
	painter{canvas, o.palette(), k}.paint(p)
	var out bytes.Buffer
	if _, err := canvas.WriteTo(&out); err != nil {
		return nil, fmt.Errorf("write drawing: %w", err)
	}
	return []byte(s.describe(out.String(), k*p.width, k*p.height)), nil
}

// describe adds what the library leaves out: a role and a description for
// screen readers, pixels in place of points, and fonts to fall back on.
func (s Scene) describe(svg string, width, height float64) string {
	const namespace = `xmlns="http://www.w3.org/2000/svg"`
	start := strings.Index(svg, "<svg")
	end := start + strings.Index(svg[start:], ">") + 1
	head := fmt.Sprintf(`<svg width="%.0f" height="%.0f" viewBox="0 0 %.5g %.5g" role="img" %s><desc>%s</desc>`,
		width, height, width, height, namespace, html.EscapeString(s.Alt()))
	body := strings.ReplaceAll(svg[end:], "font-family:Liberation Sans;font-variant:normal;font-weight:normal",
		"font-family:'Liberation Sans',Arial,Helvetica,sans-serif;font-weight:bold")
	return head + body
}
