package drawing

import (
	"fmt"
	"sync"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"golang.org/x/image/font/opentype"
	"gonum.org/v1/plot/font"
)

// boldSans is the one face of all drawings. Its letters are as wide as those
// of Arial and Helvetica, so an SVG without the font lays out the same.
var boldSans = sync.OnceValue(func() *opentype.Font {
	face, err := opentype.Parse(liberationsansbold.TTF)
	if err != nil {
		panic(fmt.Sprintf("read built-in font: %v", err)) // a broken build
	}
	return face
})

func faceOf(size float64) font.Face {
	return font.Face{Font: font.Font{Typeface: "Liberation", Variant: "Sans", Size: font.Length(size)}, Face: boldSans()}
}

// textWidth is in canvas units.
func textWidth(words string) float64 {
	face := faceOf(textSize)
	return float64(face.Width(words))
}

// textBox is the room that words take when centred on a point.
func textBox(words string, centre point) box {
	half := textWidth(words)/2 + 3
	return box{centre.x - half, centre.y - lineHeight/2, centre.x + half, centre.y + lineHeight/2}
}
