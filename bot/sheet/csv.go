package sheet

import (
	"fmt"
	"io"
	"strings"
)

// WriteCSV writes headings and rows as RFC 4180 has them: every cell in quotes,
// lines that end in CRLF, as many cells in each. Texts are made neutral, see
// Neutral; a formula is written as the value computed for it. ErrCell and ErrTable
// refuse the table; another error is the writer's.
func WriteCSV(w io.Writer, t Table) error {
	if err := t.check(); err != nil {
		return fmt.Errorf("write csv: %w", err)
	}
	var out strings.Builder
	heads := make([]Cell, len(t.Columns))
	for i, c := range t.Columns {
		heads[i] = Text(c.Heading)
	}
	writeLine(&out, heads, len(heads))
	for _, row := range t.Rows {
		writeLine(&out, row.Cells, len(heads))
	}
	if _, err := io.WriteString(w, out.String()); err != nil {
		return fmt.Errorf("write csv: %w", err)
	}
	return nil
}

// writeLine writes a line of so many cells; those that are not there are empty.
func writeLine(out *strings.Builder, cells []Cell, width int) {
	for i := range width {
		if i > 0 {
			out.WriteByte(',')
		}
		written := ""
		if i < len(cells) {
			written = cells[i].String()
			if cells[i].kind == text {
				written = Neutral(written)
			}
		}
		out.WriteString(`"` + strings.ReplaceAll(written, `"`, `""`) + `"`)
	}
	out.WriteString("\r\n")
}
