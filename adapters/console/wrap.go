package console

import (
	"strings"
	"unicode"
)

// The columns that text is set in: more are hard to read, fewer cannot hold a
// word.
const (
	widest    = 100
	narrowest = 20
)

// wrap breaks text into lines that fit the width, at spaces. first columns of
// the first line are taken; all other lines are indented by hang. A word that
// is too long stays whole. Width 0 breaks at line feeds only.
func wrap(text string, width, first, hang int) []string {
	if width > 0 {
		width = min(max(width, narrowest), widest)
	}
	var lines []string
	indent, taken := strings.Repeat(" ", hang), first
	for _, line := range strings.Split(text, "\n") {
		for _, part := range wrapLine(line, width, taken, hang) {
			if len(lines) > 0 && part != "" {
				part = indent + part
			}
			lines = append(lines, part)
		}
		taken = hang
	}
	return lines
}

// wrapLine leaves a line that fits as it is, columns set with spaces included.
// One that does not keeps its indentation in every line that it becomes.
func wrapLine(line string, width, first, hang int) []string {
	if width == 0 || first+columns(line) <= width {
		return []string{line}
	}
	body := strings.TrimLeft(line, " ")
	indent := line[:len(line)-len(body)]
	if len(indent) > width/2 {
		indent = ""
	}
	lines := fill(strings.Fields(body), " ", width-hang-len(indent), first-hang)
	for i := range lines {
		lines[i] = indent + lines[i]
	}
	return lines
}

// fill sets pieces side by side with a gap between them in as few lines as fit
// the width; width 0 is one line. The first line lacks taken columns.
func fill(pieces []string, gap string, width, taken int) []string {
	if width == 0 {
		return []string{strings.Join(pieces, gap)}
	}
	lines := []string{""}
	used := taken
	for i, piece := range pieces {
		last := len(lines) - 1
		switch {
		case i == 0:
		case used+len(gap)+columns(piece) <= width:
			lines[last] += gap
			used += len(gap)
		default:
			lines = append(lines, "")
			last, used = last+1, 0
		}
		lines[last] += piece
		used += columns(piece)
	}
	return lines
}

// columns is how wide text is on the screen: its characters, but for marks that
// stand on another one.
func columns(text string) int {
	n := 0
	for _, r := range text {
		if !unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf) {
			n++
		}
	}
	return n
}
