// Package label prints labels for what the quartermaster brings to the stations:
// one for each queue line that is in hand, to be cut out and tied to the thing.
//
//	err := label.PDF(file, "letter", today, []label.Label{{Line: 41, Rig: "Engine 4", Station: "4 Orchard Hill", Count: 2, Item: "latch film"}})
//
// It knows what is on a label and nothing else: who packs what is the queue's.
package label

import (
	"fmt"
	"io"
	"time"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"
)

// The papers that labels can be printed on.
const (
	Letter = "letter"
	A4     = "a4"
)

// Label is what one label says.
type Label struct {
	Line    int    // number of the queue line
	Rig     string // whose kit it is for
	Station string
	Count   int
	Item    string // the thing's name
}

// The sheet, in labels and millimetres.
const (
	columns = 2
	rows    = 7
	margin  = 12.0
	inset   = 5.0
)

// Sheets is how many sheets so many labels take.
func Sheets(labels int) int { return (labels + columns*rows - 1) / (columns * rows) }

// PDF writes the labels in their order, from the top left, row by row. A name
// that is too long for its label is made smaller until it fits.
func PDF(w io.Writer, paper string, made time.Time, labels []Label) error {
	pdf := fpdf.New("P", "mm", paper, "")
	pdf.SetCreationDate(made)
	pdf.SetModificationDate(made)
	pdf.SetTitle("Labels", true)
	pdf.SetLang("en")
	pdf.SetAutoPageBreak(false, 0)
	pdf.AddUTF8FontFromBytes("sans", "", liberationsansregular.TTF)
	pdf.AddUTF8FontFromBytes("sans", "B", liberationsansbold.TTF)
	width, height := pdf.GetPageSize()
	wide, high := (width-2*margin)/columns, (height-2*margin)/rows
	for i, l := range labels {
		place := i % (columns * rows)
		if place == 0 {
			pdf.AddPage()
		}
		draw(pdf, l, margin+float64(place%columns)*wide, margin+float64(place/columns)*high, wide, high)
	}
	if len(labels) == 0 {
		pdf.AddPage()
	}
	if err := pdf.Output(w); err != nil {
		return fmt.Errorf("write labels: %w", err)
	}
	return nil
}

func draw(pdf *fpdf.Fpdf, l Label, x, y, wide, high float64) {
	pdf.SetDrawColor(150, 150, 150)
	pdf.SetDashPattern([]float64{1, 1}, 0) // where to cut
	pdf.Rect(x, y, wide, high, "D")
	pdf.SetDashPattern(nil, 0)
	line(pdf, "B", 15, fmt.Sprintf("#%d  %s", l.Line, l.Rig), x+inset, y+9, wide-2*inset)
	line(pdf, "", 13, fmt.Sprintf("%d × %s", l.Count, l.Item), x+inset, y+17, wide-2*inset)
	line(pdf, "", 9, "Station "+l.Station, x+inset, y+24, wide-2*inset)
	line(pdf, "", 9, "Put it in the kit, then tap In the kit.", x+inset, y+29, wide-2*inset)
}

// line writes a line of text, smaller when it is wider than it may be.
func line(pdf *fpdf.Fpdf, style string, size float64, text string, x, y, wide float64) {
	pdf.SetFont("sans", style, size)
	if w := pdf.GetStringWidth(text); w > wide {
		pdf.SetFontSize(size * wide / w)
	}
	pdf.Text(x, y, text)
}
