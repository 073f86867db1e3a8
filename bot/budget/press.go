package budget

import (
	"fmt"
	"io"
	"strings"
	"unicode"
	"unicode/utf8"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"
)

// The page, in millimetres, and its letters, in points.
const (
	pageMargin = 15.0
	pageFoot   = 18.0 // kept free below, for the footer
	lineHeight = 4.0
	cellGap    = 1.5 // between the columns of a table
	textSize   = 9.0
	cellSize   = 8.5
	footSize   = 7.5
)

// press sets text and tables on pages, and breaks lines and pages itself, so that
// a text of any length stays on the paper.
type press struct {
	pdf    *fpdf.Fpdf
	foot   string
	pages  int    // in all; 0 until they are counted
	above  func() // drawn again at the top of a page in the middle of a table
	bottom float64
}

// newPress opens a document. pages is how many it will have, for its footers.
func newPress(v view, pages int) *press {
	size := v.Paper
	if size == "" {
		size = "letter"
	}
	p := &press{pdf: fpdf.New("P", "mm", size, ""), foot: onePaper(v.footer()), pages: pages}
	p.pdf.SetCreationDate(v.Made)
	p.pdf.SetModificationDate(v.Made)
	p.pdf.SetCatalogSort(true) // the same request gives the same bytes
	p.pdf.SetTitle(v.title(), true)
	p.pdf.SetLang("en")
	p.pdf.SetMargins(pageMargin, pageMargin, pageMargin)
	p.pdf.SetAutoPageBreak(false, 0)
	p.pdf.AddUTF8FontFromBytes("sans", "", liberationsansregular.TTF)
	p.pdf.AddUTF8FontFromBytes("sans", "B", liberationsansbold.TTF)
	_, height := p.pdf.GetPageSize()
	p.bottom = height - pageFoot
	p.page()
	return p
}

// width is that between the margins.
func (p *press) width() float64 {
	width, _ := p.pdf.GetPageSize()
	return width - 2*pageMargin
}

// page begins a new page with its footer.
func (p *press) page() {
	p.pdf.AddPage()
	p.pdf.SetFont("sans", "", footSize)
	number := fmt.Sprintf("Page %d of %d", p.pdf.PageNo(), p.pages)
	right := p.pdf.GetStringWidth(number)
	y := p.bottom + pageFoot - 11
	p.pdf.Text(pageMargin+p.width()-right, y, number)
	lines := p.wrap(p.foot, p.width()-right-10)
	for i, line := range lines[:min(2, len(lines))] {
		p.pdf.Text(pageMargin, y+3.2*float64(i), line)
	}
	p.pdf.SetY(pageMargin)
}

// room turns the page if less than a height is left on it.
func (p *press) room(height float64) {
	if p.pdf.GetY()+height <= p.bottom {
		return
	}
	p.page()
	if p.above != nil {
		p.above()
	}
}

// say sets a paragraph, and leaves a little room after it.
func (p *press) say(style string, size float64, words string) {
	height := size * 0.47 // in millimetres, with the lead
	p.pdf.SetFont("sans", style, size)
	for _, line := range p.wrap(onePaper(words), p.width()) {
		p.room(height)
		p.pdf.SetFont("sans", style, size)
		p.pdf.Text(pageMargin, p.pdf.GetY()+height*0.8, line)
		p.pdf.SetY(p.pdf.GetY() + height)
	}
	p.gap(1)
}

// heading begins a part; it does not stand alone at the foot of a page.
func (p *press) heading(words string) {
	p.gap(3)
	p.room(30)
	p.say("B", 11.5, words)
}

func (p *press) gap(height float64) { p.pdf.SetY(p.pdf.GetY() + height) }

// rule is a thin line across, at this height of the page.
func (p *press) rule(grey int, y float64) {
	p.pdf.SetDrawColor(grey, grey, grey)
	p.pdf.SetLineWidth(0.2)
	p.pdf.Line(pageMargin, y, pageMargin+p.width(), y)
}

// wrap breaks a text into lines that are no wider than a width, at blanks, and
// within a word that is wider by itself.
func (p *press) wrap(text string, width float64) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		if longer := strings.TrimSpace(line + " " + word); p.pdf.GetStringWidth(longer) <= width {
			line = longer
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for line = word; p.pdf.GetStringWidth(line) > width && utf8.RuneCountInString(line) > 1; {
			head := p.head(line, width)
			lines, line = append(lines, head), line[len(head):]
		}
	}
	if line == "" {
		return lines
	}
	return append(lines, line)
}

// head is as much of a word as fits, a character at the least.
func (p *press) head(word string, width float64) string {
	end := 0
	for at, r := range word {
		next := at + utf8.RuneLen(r)
		if end > 0 && p.pdf.GetStringWidth(word[:next]) > width {
			break
		}
		end = next
	}
	return word[:end]
}

// onePaper is a text as the fonts can set it: on one line, and with a replacement
// character for what they have no room for.
func onePaper(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r) || unicode.IsControl(r):
			return ' '
		case r > 0xfffd || unicode.Is(unicode.Cf, r): // the fonts' tables end there; marks of direction would turn a text around
			return utf8.RuneError
		}
		return r
	}, strings.ToValidUTF8(text, "\ufffd"))
}

// output writes the document.
func (p *press) output(w io.Writer) error {
	if err := p.pdf.Output(w); err != nil {
		return fmt.Errorf("write request: %w", err)
	}
	return nil
}
