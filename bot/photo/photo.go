package photo

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	_ "image/png" // a format that image.Decode reads

	"golang.org/x/image/draw"
)

// What is taken, and what is made of it.
const (
	MaxBytes  = 12 << 20   // of a picture that is taken
	MaxPixels = 25_000_000 // of a picture that is taken, looked at before it is decoded
	LongEdge  = 1280       // pixels of the longer side of what is made
	MaxKept   = 600 << 10  // bytes of what is made
)

var (
	// ErrTooBig means that a picture has more bytes or pixels than are taken.
	ErrTooBig = errors.New("picture is too big")
	// ErrNoPicture means that the bytes are no JPEG or PNG that can be read.
	ErrNoPicture = errors.New("not a JPEG or PNG picture")
)

// Clean decodes a JPEG or PNG, turns it the way its camera said, makes it small
// and encodes it as a JPEG without any other data. A PNG's clear parts become
// white. The error wraps ErrTooBig or ErrNoPicture. It takes up to about 200 MB
// of memory for a moment, so few should run at once; any goroutine.
func Clean(raw []byte) ([]byte, error) {
	if len(raw) > MaxBytes {
		return nil, fmt.Errorf("clean picture of %d bytes: %w", len(raw), ErrTooBig)
	}
	config, format, err := image.DecodeConfig(bytes.NewReader(raw))
	if err != nil || format != "jpeg" && format != "png" || config.Width < 1 || config.Height < 1 {
		return nil, fmt.Errorf("look at picture: %w", ErrNoPicture)
	}
	if config.Width > MaxPixels/config.Height {
		return nil, fmt.Errorf("clean picture of %d by %d: %w", config.Width, config.Height, ErrTooBig)
	}
	decoded, _, err := image.Decode(bytes.NewReader(raw))
	if err != nil {
		return nil, fmt.Errorf("decode picture (%v): %w", err, ErrNoPicture)
	}
	upright := orient(shrink(decoded), orientationOf(raw))
	for quality := 82; quality >= 40; quality -= 14 {
		var out bytes.Buffer
		if err := jpeg.Encode(&out, upright, &jpeg.Options{Quality: quality}); err != nil {
			return nil, fmt.Errorf("encode picture: %w", err)
		}
		if out.Len() <= MaxKept {
			return out.Bytes(), nil
		}
	}
	return nil, fmt.Errorf("encode picture: %w", ErrTooBig)
}

// shrink draws a picture on white, with its longer side at most LongEdge.
func shrink(from image.Image) *image.RGBA {
	size := from.Bounds().Size()
	if longer := max(size.X, size.Y); longer > LongEdge {
		size = image.Pt(max(1, size.X*LongEdge/longer), max(1, size.Y*LongEdge/longer))
	}
	to := image.NewRGBA(image.Rectangle{Max: size})
	draw.Draw(to, to.Bounds(), image.NewUniform(color.White), image.Point{}, draw.Src)
	draw.ApproxBiLinear.Scale(to, to.Bounds(), from, from.Bounds(), draw.Over, nil)
	return to
}

// orient turns and mirrors a picture as one of the eight orientations asks
// (documentation: CIPA DC-008 "Exif", tag 274). 1 and what is none leave it.
func orient(from *image.RGBA, orientation int) *image.RGBA {
	if orientation < 2 || orientation > 8 {
		return from
	}
	w, h := from.Bounds().Dx(), from.Bounds().Dy()
	size := image.Rect(0, 0, w, h)
	if orientation >= 5 {
		size = image.Rect(0, 0, h, w)
	}
	to := image.NewRGBA(size)
	for y := range h {
		for x := range w {
			at := [...]image.Point{
				2: {X: w - 1 - x, Y: y}, 3: {X: w - 1 - x, Y: h - 1 - y}, 4: {X: x, Y: h - 1 - y},
				5: {X: y, Y: x}, 6: {X: h - 1 - y, Y: x}, 7: {X: h - 1 - y, Y: w - 1 - x}, 8: {X: y, Y: w - 1 - x},
			}[orientation]
			to.SetRGBA(at.X, at.Y, from.RGBAAt(x, y))
		}
	}
	return to
}
