package chart

import (
	"fmt"
	"image/color"
	"math"
	"strings"
	"sync"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	imagefont "golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"gonum.org/v1/plot/font"
)

// sketch is a drawing before it is pixels or vectors: shapes, and texts over them.
// Places are in units from the top left of a canvas that is as wide as a phone.
type sketch struct {
	height float64 // what is drawn so far; the next thing goes below it
	shapes []shape
	texts  []text
}

type point struct{ x, y float64 }

// shape is filled and has an outline of ink, either if it is set.
type shape struct {
	outline []point // the first point stands again at its end if the outline is closed
	fill    color.RGBA
	width   float64 // of the outline
	dash    []float64
}

// text stands on its base line; align is 0 to start at the place, 0.5 to be in the
// middle of it, 1 to end there.
type text struct {
	at     point
	words  string
	size   float64
	bold   bool
	align  float64
	colour color.RGBA
}

// Sizes of text, and what stands between things.
const (
	titleSize = 16.0
	textSize  = 13.0
	margin    = 12.0
	inside    = canvasWidth - 2*margin
	lineStep  = 18.0
)

// newSketch begins with the title, as many lines as it takes.
func newSketch(title string) *sketch {
	s := &sketch{height: margin}
	for _, line := range wrap(clean(title), titleSize, true, inside) {
		s.height += titleSize
		s.write(text{at: point{margin, s.height}, words: line, size: titleSize, bold: true})
		s.height += 5
	}
	s.height += 5
	return s
}

// say writes words below what is there, as many lines as they take.
func (s *sketch) say(words string) {
	for _, line := range wrap(clean(words), textSize, false, inside) {
		s.height += lineStep
		s.write(text{at: point{margin, s.height - 5}, words: line, size: textSize})
	}
}

// end leaves room at the bottom.
func (s *sketch) end() { s.height += margin }

func (s *sketch) write(t text) {
	if t.words == "" {
		return
	}
	if t.colour == (color.RGBA{}) {
		t.colour = ink
	}
	s.texts = append(s.texts, t)
}

func (s *sketch) add(all ...shape) { s.shapes = append(s.shapes, all...) }

// box is the outline of a rectangle.
func box(x0, y0, x1, y1 float64) []point {
	return []point{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}
}

// round is the outline of a polygon of so many corners about a place, the first of
// them at an angle, counted from the right and downwards.
func round(centre point, radius float64, corners int, angle float64) []point {
	outline := make([]point, corners+1)
	for i := range outline {
		sin, cos := math.Sincos(angle + 2*math.Pi*float64(i)/float64(corners))
		outline[i] = point{centre.x + radius*cos, centre.y + radius*sin}
	}
	return outline
}

// width is how wide the text is.
func (t text) width() float64 {
	face := faceOf(t.size, t.bold)
	return float64(face.Width(t.words))
}

// faces are the two of all drawings. Their letters are as wide as those of Arial
// and Helvetica, so an SVG without the font lays out the same.
var faces = sync.OnceValue(func() [2]*opentype.Font {
	return [2]*opentype.Font{parse(liberationsansregular.TTF), parse(liberationsansbold.TTF)}
})

func parse(data []byte) *opentype.Font {
	face, err := opentype.Parse(data)
	if err != nil {
		panic(fmt.Sprintf("read built-in font: %v", err)) // a broken build
	}
	return face
}

func faceOf(size float64, bold bool) font.Face {
	f := font.Font{Typeface: "Liberation", Variant: "Sans", Size: font.Length(size)}
	if bold {
		f.Weight = imagefont.WeightBold
		return font.Face{Font: f, Face: faces()[1]}
	}
	return font.Face{Font: f, Face: faces()[0]}
}

// clean is words on one line, without characters that SVG cannot have.
func clean(words string) string {
	words = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == 0xfffe || r == 0xffff {
			return ' '
		}
		return r
	}, words)
	return strings.Join(strings.Fields(words), " ")
}

// wrap breaks words into lines of at most a width. A word that is wider than a
// line is shortened.
func wrap(words string, size float64, bold bool, width float64) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(words) {
		longer := strings.TrimSpace(line + " " + word)
		if line != "" && (text{words: longer, size: size, bold: bold}).width() > width {
			lines = append(lines, line)
			longer = word
		}
		line = fit(longer, size, bold, width)
	}
	return append(lines, line)
}

// fit shortens words in the middle until they are no wider than they may be, and
// shows that it did. The end stays: numbers stand there.
func fit(words string, size float64, bold bool, width float64) string {
	t := text{words: words, size: size, bold: bold}
	letters := []rune(words)
	end := letters[len(letters)-min(5, len(letters)/2):]
	for start := len(letters) - len(end); t.width() > width && start > 0; start-- {
		t.words = strings.TrimSpace(string(letters[:start-1])) + "…" + string(end)
	}
	return t.words
}
