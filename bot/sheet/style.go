package sheet

import (
	"math"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"
)

// look is what cells have in common that are shown alike.
type look struct {
	kind     kind
	currency string
	total    bool
	struck   bool
	fine     bool // a small fraction, of which two decimals would say nothing
}

func (c Cell) look(row Row) look {
	fine := c.kind == fraction && c.number != 0 && math.Abs(c.number) < 0.1
	return look{kind: c.kind, currency: c.currency, total: row.Total, struck: row.Struck, fine: fine}
}

// styles makes each style once.
type styles struct {
	file  *excelize.File
	known map[look]int
}

func (s styles) of(l look) (int, error) {
	if id, ok := s.known[l]; ok {
		return id, nil
	}
	style := excelize.Style{Alignment: &excelize.Alignment{Vertical: "top"}}
	if l.kind == text {
		style.Alignment = &excelize.Alignment{Vertical: "top", WrapText: true, Horizontal: "left", Indent: 1} // off the figures before it
	}
	if code := l.format(); code != "" {
		style.CustomNumFmt = &code
	}
	if l.total || l.struck {
		style.Font = s.font(l.total, l.struck)
	}
	if l.total {
		style.Border = []excelize.Border{{Type: "top", Color: "000000", Style: 1}}
	}
	id, err := s.file.NewStyle(&style)
	if err != nil {
		return 0, err
	}
	s.known[l] = id
	return id, nil
}

// heading is bold on grey, with a line below, and on the side of what stands under
// it.
func (s styles) heading(numbers bool) (int, error) {
	side := "left"
	if numbers {
		side = "right"
	}
	return s.file.NewStyle(&excelize.Style{
		Font:      s.font(true, false),
		Fill:      excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"E6E9ED"}},
		Border:    []excelize.Border{{Type: "bottom", Color: "000000", Style: 1}},
		Alignment: &excelize.Alignment{Horizontal: side, Vertical: "top", WrapText: true},
	})
}

// font is the workbook's own; without its name some programs take another.
func (s styles) font(bold, struck bool) *excelize.Font {
	const size = 11 // the library's
	family, err := s.file.GetDefaultFont()
	if err != nil {
		family = "" // then it is the program's
	}
	return &excelize.Font{Bold: bold, Strike: struck, Family: family, Size: size}
}

// format is the format's code for a number.
func (l look) format() string {
	if l.fine {
		return "0.0000"
	}
	switch l.kind {
	case whole:
		return "#,##0"
	case ordinal:
		return "0"
	case fraction, duration:
		return "#,##0.00"
	case percent:
		return "0.00%"
	case money:
		return l.mark() + "#,##0.00;-" + l.mark() + "#,##0.00"
	case date:
		return "yyyy-mm-dd"
	}
	return ""
}

// mark stands before an amount: the sign of the dollar, of others their code.
func (l look) mark() string {
	if l.currency == "USD" {
		return `"$"`
	}
	return `"` + l.currency + ` "`
}

// Widths of columns that are not told, in characters.
const (
	leastColumn    = 8
	greatestColumn = 48
	beside         = 3 // for the edges, and what a text stands in
)

// widths are those of the columns: as told, else as wide as the longest line in
// them, between bounds. A longer text breaks into lines.
func (t Table) widths() []float64 {
	widths := make([]float64, len(t.Columns))
	for i, c := range t.Columns {
		widths[i] = longestLine(c.Heading)
	}
	for _, row := range t.Rows {
		for i, c := range row.Cells {
			widths[i] = max(widths[i], c.width())
		}
	}
	for i, c := range t.Columns {
		widths[i] = min(max(widths[i]+beside, leastColumn), greatestColumn)
		if c.Width > 0 {
			widths[i] = c.Width
		}
	}
	return widths
}

// width is how many characters a cell shows.
func (c Cell) width() float64 {
	switch c.kind {
	case fraction, duration, money:
		digits := math.Floor(math.Log10(math.Max(1, math.Abs(c.amount())))) + 1
		return digits + math.Floor((digits-1)/3) + 4 + float64(len(c.currency)) // commas; sign, point and decimals
	case text:
		return longestLine(c.text)
	}
	return longestLine(c.String())
}

func (c Cell) amount() float64 {
	if c.kind == money {
		return float64(c.integer) / 100
	}
	return c.number
}

func longestLine(words string) float64 {
	longest := 0
	for line := range strings.SplitSeq(words, "\n") {
		longest = max(longest, utf8.RuneCountInString(line))
	}
	return float64(longest)
}

// The height of one line of text, and the greatest of a row, in points.
const (
	lineHeight  = 15
	greatestRow = 409
)

// height is that of a row in which texts break into lines, in columns of these
// widths; 0 where none does. Programs do not agree on whether they find it
// themselves. Words leave blanks where lines break, and letters are not all as wide
// as a digit, so that a line is taken for a little shorter.
func height(texts []string, widths []float64) float64 {
	most := 1.0
	for i, text := range texts {
		lines := 0.0
		for line := range strings.SplitSeq(text, "\n") {
			lines += broken(longestLine(line), widths[i])
		}
		most = math.Max(most, lines)
	}
	if most == 1 {
		return 0
	}
	return math.Min(most*lineHeight, greatestRow)
}

// broken is into how many lines so many characters break.
func broken(characters, width float64) float64 {
	if characters+beside <= width {
		return 1
	}
	return math.Ceil(characters / (0.9 * (width - 1)))
}
