package pocket

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"

	"kitbell/bot/door"
	"kitbell/knowledge/drawing"
)

// The papers that a sheet can be printed on.
const (
	Letter = "letter"
	A4     = "a4"
)

// Measures of the sheet in millimetres, and of its type in points.
const (
	margin    = 9.0
	bigType   = 11.0
	smallType = 9.8
)

// firstSteps is how many attempts stand on the sheet for a door; the page has
// them all.
const firstSteps = 3

// leftDoors is how many doors stand on the left inside: those that move toward
// the crew have the longer plans.
const leftDoors = 8

// leastDrawing is the height in millimetres at which a drawing's words can still
// be read.
const leastDrawing = 38.0

// mostRows is how many tools fit on the sheet in small type; more get smaller.
const mostRows = 36.0

// sheetDrawings are the techniques whose drawings stand on the inside, left and
// right: the two ways that open most doors of the assumed mix.
var sheetDrawings = [2]string{"slip-outward", "slip-inward"}

// sheet writes one panel of the folded paper at a time.
type sheet struct {
	pdf           *fpdf.Fpdf
	pocket        *Pocket
	width, height float64 // of the paper
	left, measure float64 // of the panel's text
	full          string  // the first panel whose text ran over, by its heading
}

// PDF writes the sheet: two sides of one landscape paper, to be printed on both
// sides, flipped on the short edge, and folded once.
func (p *Pocket) PDF(w io.Writer, paper string) error {
	s := newSheet(p, paper)
	s.pdf.AddPage()
	s.panel(0)
	s.tools()
	s.panel(1)
	s.cover()
	s.fold()
	s.pdf.AddPage()
	for side, doors := range [][]SheetPlan{p.Doors[:leftDoors], p.Doors[leftDoors:]} {
		s.panel(side)
		if err := s.doors(doors, sheetDrawings[side]); err != nil {
			return err
		}
	}
	s.fold()
	if s.full != "" {
		return fmt.Errorf("write sheet: the panel %q holds more than fits", s.full)
	}
	if err := s.pdf.Output(w); err != nil {
		return fmt.Errorf("write sheet: %w", err)
	}
	return nil
}

func newSheet(p *Pocket, paper string) *sheet {
	pdf := fpdf.New("L", "mm", paper, "")
	pdf.SetCreationDate(p.Made)
	pdf.SetModificationDate(p.Made)
	pdf.SetTitle(fmt.Sprintf("Door guide, kit list %d", p.Version), true)
	pdf.SetLang("en")
	pdf.SetAutoPageBreak(false, 0)
	pdf.SetMargins(0, 0, 0)
	pdf.AddUTF8FontFromBytes("sans", "", liberationsansregular.TTF)
	pdf.AddUTF8FontFromBytes("sans", "B", liberationsansbold.TTF)
	s := &sheet{pdf: pdf, pocket: p}
	s.width, s.height = pdf.GetPageSize()
	s.measure = s.width/2 - 2*margin
	return s
}

// panel begins the left (0) or right (1) half of a side.
func (s *sheet) panel(side int) {
	s.left = margin + float64(side)*s.width/2
	s.pdf.SetXY(s.left, margin)
}

// text writes a paragraph in the panel. style is "" or "B", size in points,
// indent in millimetres.
func (s *sheet) text(words, style string, size, indent float64) {
	s.pdf.SetFont("sans", style, size)
	s.pdf.SetX(s.left + indent)
	s.pdf.MultiCell(s.measure-indent, size*0.44, words, "", "L", false)
}

func (s *sheet) gap(height float64) { s.pdf.SetY(s.pdf.GetY() + height) }

// heading is white on a dark bar: it reads in a dim cab and on a bad printer.
func (s *sheet) heading(words string) {
	s.pdf.SetFillColor(21, 25, 30)
	s.pdf.SetTextColor(255, 255, 255)
	s.pdf.SetFont("sans", "B", 13)
	s.pdf.SetX(s.left)
	s.pdf.CellFormat(s.measure, 7.5, " "+words, "", 1, "L", true, 0, "")
	s.pdf.SetTextColor(0, 0, 0)
	s.gap(1.5)
}

// points writes a list with square bullets.
func (s *sheet) points(lines []string, size float64) {
	for _, line := range lines {
		y := s.pdf.GetY()
		s.pdf.SetFillColor(21, 25, 30)
		s.pdf.Rect(s.left, y+size*0.14, 1.8, 1.8, "F")
		s.text(line, "", size, 4)
		s.gap(0.9)
	}
}

// fold marks where to fold, at both edges only, so that nothing is crossed.
func (s *sheet) fold() {
	middle := s.width / 2
	s.pdf.SetDrawColor(110, 110, 110)
	s.pdf.SetLineWidth(0.25)
	s.pdf.SetDashPattern([]float64{1.5, 1.2}, 0)
	s.pdf.Line(middle, 0, middle, s.height)
	s.pdf.SetDashPattern(nil, 0)
}

func (s *sheet) cover() {
	p := s.pocket
	s.text("Door guide", "B", 26, 0)
	s.text(fmt.Sprintf("Kit list %d, made %s", p.Version, p.Made.Format("2 January 2006")), "B", 13, 0)
	s.text(p.Department, "", bigType, 0)
	s.gap(3)
	s.heading("Before any tool")
	s.points(p.Guide.Before, bigType)
	s.gap(2)
	s.heading("Stop rules")
	s.points(p.Guide.Stops, bigType)
	s.gap(2)
	s.heading("Who decides")
	s.points(p.Guide.Authority, bigType)
	s.ends("Door guide", s.height-margin)
}

// ends notes a panel whose text ran past bottom.
func (s *sheet) ends(panel string, bottom float64) {
	if s.pdf.GetY() > bottom && s.full == "" {
		s.full = panel
	}
}

func (s *sheet) tools() {
	s.heading(fmt.Sprintf("Tools of kit list %d", s.pocket.Version))
	size := smallType * min(1, mostRows/float64(len(s.pocket.Tools)))
	for _, t := range s.pocket.Tools {
		name := t.Name
		switch {
		case t.Qty == 0:
			name += " (on the rig)"
		case t.Qty > 1:
			name = fmt.Sprintf("%s × %d", name, t.Qty)
		}
		s.row(name, t.For, size)
	}
	s.ends("Tools", s.height-margin-5)
	s.pdf.SetY(s.height - margin - 4)
	s.text("Print on both sides, flip on the short edge, fold on the dashed line.", "", 8, 0)
}

// row writes a tool's name and what it is for, on one line where they fit.
func (s *sheet) row(name, words string, size float64) {
	s.pdf.SetFont("sans", "B", size)
	nameWidth := s.measure * 0.33
	y := s.pdf.GetY()
	s.pdf.SetX(s.left)
	s.pdf.MultiCell(nameWidth, size*0.42, name, "", "L", false)
	below := s.pdf.GetY()
	s.pdf.SetXY(s.left+nameWidth, y)
	s.pdf.SetFont("sans", "", size)
	s.pdf.MultiCell(s.measure-nameWidth, size*0.42, words, "", "L", false)
	s.pdf.SetY(max(below, s.pdf.GetY()))
	s.rule(0.7)
}

func (s *sheet) rule(around float64) {
	y := s.pdf.GetY() + around/2
	s.pdf.SetDrawColor(160, 160, 160)
	s.pdf.SetLineWidth(0.15)
	s.pdf.Line(s.left, y, s.left+s.measure, y)
	s.pdf.SetY(y + around/2)
}

func (s *sheet) doors(doors []SheetPlan, picture string) error {
	s.heading("What you see, and what to try in order")
	for _, d := range doors {
		s.text(d.Say, "B", bigType, 0)
		s.text(s.order(d.Plan), "", smallType, 0)
		s.rule(1.4)
	}
	bottom := s.height - margin - 9
	s.ends("What you see", bottom-leastDrawing)
	if err := s.picture(picture, bottom); err != nil {
		return err
	}
	s.pdf.SetY(bottom + 1)
	s.text("Routine call, complete kit. "+s.pocket.Guide.Plan.Routine+" "+s.pocket.Guide.Plan.Force, "", 8, 0)
	return nil
}

// order is a plan in a line: its first attempts and what ends it.
func (s *sheet) order(plan door.Plan) string {
	var parts []string
	var before string
	for _, step := range plan.Steps {
		title := s.pocket.titleOf(step.Technique)
		switch {
		case step.Kind == door.Prepare:
			before = title + ", then "
		case step.Kind == door.Attempt:
			if len(parts) < firstSteps || step.Chance == 1 {
				parts = append(parts, fmt.Sprintf("%d.\u00a0%s%s.", len(parts)+1, before, title))
			}
			before = ""
		}
	}
	return strings.Join(parts, "  ")
}

// picture puts a technique's drawing and its words between the text and bottom.
func (s *sheet) picture(technique string, bottom float64) error {
	for _, t := range s.pocket.Techniques {
		if t.ID != technique || !t.Drawn {
			continue
		}
		png, err := t.Scene.PNG(drawing.Options{Width: 1170})
		if err != nil {
			return fmt.Errorf("draw %s: %w", t.ID, err)
		}
		info := s.pdf.RegisterImageOptionsReader(t.ID, fpdf.ImageOptions{ImageType: "PNG"}, bytes.NewReader(png))
		height := bottom - s.pdf.GetY() - 2
		width := min(s.measure, height*info.Width()/info.Height())
		s.pdf.ImageOptions(t.ID, s.left+(s.measure-width)/2, s.pdf.GetY()+1, width, 0, false, fpdf.ImageOptions{}, 0, "")
	}
	return nil
}
