package chart

import "image/color"

func rgb(hex uint32) color.RGBA {
	return color.RGBA{uint8(hex >> 16), uint8(hex >> 8), uint8(hex), 255}
}

// The colours of all drawings, from light to dark. A test holds the steps between
// them to 2 to 1 by the contrast of WCAG 2.x, and letters on them to 4.5 to 1.
var (
	ground = rgb(0xffffff)
	light  = rgb(0x63b6e8) // blue
	middle = rgb(0xb84a00) // orange
	dark   = rgb(0x1f252c)
	ink    = dark
)

// letterOn is the colour of a letter that stands on another.
func letterOn(fill color.RGBA) color.RGBA {
	if fill == middle || fill == dark {
		return ground
	}
	return ink
}
