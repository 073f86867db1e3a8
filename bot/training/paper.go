package training

import (
	"cmp"
	"fmt"
	"io"
	"time"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"
)

// Paper says how a page of the task book is printed. Name is how a member is
// called on paper.
type Paper struct {
	Size       string // letter or a4
	Department string
	Printed    time.Time
	Zone       *time.Location
	Name       func(member string) string
	Door       func(DoorKind) string // a kind of door in words
}

// The page, in millimetres.
const (
	paperMargin = 15.0
	paperLine   = 5.5
)

// PDF writes a member's page: each skill with its sign-offs, those that were
// withdrawn too, and at the foot a line to sign on. One sheet where it fits.
func (p Page) PDF(w io.Writer, paper Paper) error {
	pdf := fpdf.New("P", "mm", paper.Size, "")
	pdf.SetCreationDate(paper.Printed)
	pdf.SetModificationDate(paper.Printed)
	pdf.SetTitle("Task book of "+paper.Name(p.Member), true)
	pdf.SetLang("en")
	pdf.SetMargins(paperMargin, paperMargin, paperMargin)
	pdf.SetAutoPageBreak(true, paperMargin)
	pdf.AddUTF8FontFromBytes("sans", "", liberationsansregular.TTF)
	pdf.AddUTF8FontFromBytes("sans", "B", liberationsansbold.TTF)
	pdf.AddPage()
	write := func(style string, size float64, text string) {
		pdf.SetFont("sans", style, size)
		pdf.MultiCell(0, paperLine, text, "", "L", false)
	}
	write("B", 14, "Task book of "+paper.Name(p.Member))
	write("", 10, paper.Department+", printed "+paper.Printed.In(paper.Zone).Format("Mon 2 Jan 2006"))
	pdf.Ln(paperLine)
	for _, line := range p.Lines {
		state := "open"
		if line.Stands() {
			state = "signed"
		}
		if line.Gone {
			state += ", no longer in the task book"
		}
		write("B", 11, line.Skill.Title+": "+state)
		for _, o := range line.Entries {
			write("", 9.5, paper.entry(o))
		}
	}
	pdf.Ln(3 * paperLine)
	write("", 10, "Signed: ______________________________    Date: ______________")
	pdf.Ln(paperLine)
	write("", 9, "Record "+p.Code()+". It names every line above: a later sign-off or withdrawal gives another one.")
	if err := pdf.Output(w); err != nil {
		return fmt.Errorf("write task book: %w", err)
	}
	return nil
}

// entry is one sign-off in words.
func (p Paper) entry(o SignOff) string {
	day := func(t time.Time) string { return t.In(p.Zone).Format("2 Jan 2006") }
	words := fmt.Sprintf("Sign-off %d: %s, by %s, tries: %d", o.Number, day(o.Shown), cmp.Or(o.Signer, p.Name(o.By)), o.Tries)
	if o.Door != (DoorKind{}) {
		words += ", door: " + p.Door(o.Door)
	}
	if o.Withdrawn != nil {
		words += fmt.Sprintf(". Withdrawn %s by %s: %s", day(o.Withdrawn.At), p.Name(o.Withdrawn.By), o.Withdrawn.Reason)
	}
	return words + "."
}
