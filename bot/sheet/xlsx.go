package sheet

import (
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"
)

// WriteXLSX writes a workbook. The same workbook gives the same bytes. Each
// formula has its computed value beside it, for programs that only show, and is
// computed anew when a spreadsheet opens the file. ErrCell and ErrTable refuse the
// workbook; another error is the writer's.
func WriteXLSX(w io.Writer, book Workbook) error {
	if err := book.check(); err != nil {
		return fmt.Errorf("write workbook: %w", err)
	}
	file := excelize.NewFile()
	defer file.Close() // removes what a large table laid aside; nothing is lost with its error
	file.SetZipWriter(newSortedZip)
	if err := fill(file, book); err != nil {
		return fmt.Errorf("write workbook: %w", err)
	}
	if _, err := file.WriteTo(w); err != nil {
		return fmt.Errorf("write workbook: %w", err)
	}
	return nil
}

func (b Workbook) check() error {
	if len(b.Tables) == 0 || b.Made.IsZero() {
		return fmt.Errorf("%w: a workbook has at least one table, and a date", ErrTable)
	}
	if _, ok := papers[b.Paper]; !ok {
		return fmt.Errorf("%w: there is no paper %q", ErrTable, b.Paper)
	}
	taken := map[string]bool{}
	for _, t := range b.Tables {
		if err := t.checkFits(); err != nil {
			return err
		}
		if err := t.check(); err != nil {
			return err
		}
		name := strings.ToLower(t.Name) // which a spreadsheet does not tell apart
		if taken[name] {
			return fmt.Errorf("%w: two are called %q", ErrTable, t.Name)
		}
		taken[name] = true
	}
	return nil
}

// papers are the format's numbers for them.
var papers = map[string]int{"": 1, Letter: 1, A4: 9}

func fill(file *excelize.File, book Workbook) error {
	for i, t := range book.Tables {
		if i == 0 {
			if err := file.SetSheetName(file.GetSheetName(0), t.Name); err != nil {
				return err
			}
		} else if _, err := file.NewSheet(t.Name); err != nil {
			return err
		}
	}
	if err := describe(file, book); err != nil {
		return err
	}
	s := styles{file: file, known: map[look]int{}}
	for _, t := range book.Tables {
		if err := setUpPrint(file, t, papers[book.Paper]); err != nil {
			return fmt.Errorf("set up print of %q: %w", t.Name, err)
		}
		if err := writeTable(file, t, s); err != nil {
			return fmt.Errorf("fill table %q: %w", t.Name, err)
		}
	}
	return nil
}

// describe says what the file is, in place of what the library says of itself.
func describe(file *excelize.File, book Workbook) error {
	const program = "kitbell"
	made := book.Made.UTC().Format(time.RFC3339)
	props := excelize.DocProperties{Title: fitText(book.Title), Creator: program, LastModifiedBy: program, Created: made, Modified: made}
	if err := file.SetDocProps(&props); err != nil {
		return err
	}
	if err := file.SetAppProps(&excelize.AppProperties{Application: program}); err != nil {
		return err
	}
	yes := true
	return file.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: &yes})
}

// setUpPrint fits all columns to the page's width, and has the headings, the
// footer and the page's number on each page.
func setUpPrint(file *excelize.File, t Table, paper int) error {
	yes, one, any, orientation := true, 1, 0, "portrait"
	if t.Landscape {
		orientation = "landscape"
	}
	if err := file.SetSheetProps(t.Name, &excelize.SheetPropsOptions{FitToPage: &yes}); err != nil {
		return err
	}
	layout := excelize.PageLayoutOptions{Size: &paper, Orientation: &orientation, FitToWidth: &one, FitToHeight: &any}
	if err := file.SetPageLayout(t.Name, &layout); err != nil {
		return err
	}
	footer := "&L" + printed(t.Footer) + "&RPage &P of &N"
	if err := file.SetHeaderFooter(t.Name, &excelize.HeaderFooterOptions{OddHeader: "&L" + printed(t.Name), OddFooter: footer}); err != nil {
		return err
	}
	return file.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", RefersTo: In(t.Name, "$1:$1"), Scope: t.Name})
}

// printed is a text in a footer, where & starts a code. A text that starts with a
// digit would be read as part of the code before it.
func printed(words string) string {
	words = strings.ReplaceAll(fitText(words), "&", "&&")
	if words != "" && words[0] >= '0' && words[0] <= '9' {
		return " " + words
	}
	return words
}

func writeTable(file *excelize.File, t Table, s styles) error {
	stream, err := file.NewStreamWriter(t.Name)
	if err != nil {
		return err
	}
	widths := t.widths()
	for i, width := range widths {
		if err := stream.SetColWidth(i+1, i+1, width); err != nil {
			return err
		}
	}
	if err := stream.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	if err := writeHeadings(stream, t, s, widths); err != nil {
		return err
	}
	for i, row := range t.Rows {
		if err := writeRow(stream, i, row.filled(len(t.Columns)), s, widths); err != nil {
			return err
		}
	}
	return stream.Flush()
}

func writeHeadings(stream *excelize.StreamWriter, t Table, s styles, widths []float64) error {
	var line []any
	var texts []string
	for i, c := range t.Columns {
		style, err := s.heading(t.numbers(i))
		if err != nil {
			return err
		}
		line, texts = append(line, excelize.Cell{StyleID: style, Value: fitText(c.Heading)}), append(texts, c.Heading)
	}
	return stream.SetRow("A1", line, excelize.RowOpts{Height: height(texts, widths)})
}

func writeRow(stream *excelize.StreamWriter, i int, row Row, s styles, widths []float64) error {
	if len(row.Cells) == 0 {
		return nil
	}
	var line []any
	var texts []string
	for _, c := range row.Cells {
		style, err := s.of(c.look(row))
		if err != nil {
			return err
		}
		line, texts = append(line, excelize.Cell{StyleID: style, Formula: c.formula, Value: c.value()}), append(texts, c.text)
	}
	return stream.SetRow(At(0, i), line, excelize.RowOpts{Height: height(texts, widths)})
}
