package chart

import (
	"fmt"
	"image/color"
)

// Figures are all that can be drawn.
type Figures interface {
	figures
	Draw(Options) (Picture, error)
}

// Outside names a text of a drawing that leaves it, or nothing.
func Outside(f Figures) string {
	s, _, err := f.layOut()
	if err != nil {
		return err.Error()
	}
	for _, t := range s.texts {
		from := t.at.x - t.align*t.width()
		if from < 0 || from+t.width() > canvasWidth || t.at.y-t.size < 0 || t.at.y > s.height {
			return fmt.Sprintf("%q is at %v and leaves the drawing", t.words, t.at)
		}
	}
	return ""
}

// Steps are the colours from light to dark, and Letters the colours of letters on
// them.
func Steps() (steps, letters []color.RGBA) {
	steps = []color.RGBA{ground, light, middle, dark}
	for _, c := range steps {
		letters = append(letters, letterOn(c))
	}
	return steps, letters
}

// Fills are the colours of the states of a kit.
func Fills() (fills []color.RGBA) {
	for _, s := range states {
		fills = append(fills, s.fill)
	}
	return fills
}

// SmallestText is in units of a canvas of 400.
func SmallestText(f Figures) float64 {
	s, _, err := f.layOut()
	if err != nil {
		return 0
	}
	smallest := titleSize
	for _, t := range s.texts {
		smallest = min(smallest, t.size)
	}
	return smallest
}
