package department

import "fmt"

// size follows how deep a text nests and how many parts its groups have, by
// indents and brackets alone, before it is parsed: the parser's time grows with
// the square of a group's keys, and with its stack. It has no regard to quotes
// and block texts, which is near enough for a bound.
type size struct {
	blocks []block // by rising indent
	groups []int   // commas of each open bracket
}

// block is a run of lines at one indent, deeper ones in between.
type block struct{ indent, lines int }

// line takes one line in. say is empty while the bounds hold; column is where
// they no longer do.
func (s *size) line(line []rune) (column int, say string) {
	indent, dashes := start(line)
	if indent < len(line) && line[indent] != '#' {
		if say := s.row(indent); say != "" {
			return indent + 1, say
		}
	}
	if dashes > maxNesting {
		return indent + 1, fmt.Sprintf("more than %d lists begin in one line", maxNesting)
	}
	for i, c := range line {
		if c < ' ' && c != '\t' || c == 0x7f {
			return i + 1, fmt.Sprintf("there is a control character (%U) here; delete it", c)
		}
		if say := s.bracket(c); say != "" {
			return i + 1, say
		}
	}
	return 0, ""
}

// start is where a line's text begins, and how many lists and keys it opens
// right there.
func start(line []rune) (indent, dashes int) {
	for indent < len(line) && line[indent] == ' ' {
		indent++
	}
	for i := indent; i+1 < len(line) && (line[i] == '-' || line[i] == '?' || line[i] == ' '); i++ {
		if line[i] != ' ' {
			dashes++
		}
	}
	return indent, dashes
}

// row counts a line to the lines at its indent.
func (s *size) row(indent int) (say string) {
	for len(s.blocks) > 0 && s.blocks[len(s.blocks)-1].indent > indent {
		s.blocks = s.blocks[:len(s.blocks)-1]
	}
	if len(s.blocks) == 0 || s.blocks[len(s.blocks)-1].indent < indent {
		s.blocks = append(s.blocks, block{indent: indent})
	}
	top := &s.blocks[len(s.blocks)-1]
	top.lines++
	switch {
	case len(s.blocks) > maxNesting:
		return fmt.Sprintf("more than %d levels deep", maxNesting)
	case top.lines > maxGroup:
		return fmt.Sprintf("more than %d parts of one group", maxGroup)
	}
	return ""
}

// bracket follows a character that may open, part or close a group.
func (s *size) bracket(c rune) (say string) {
	switch last := len(s.groups) - 1; {
	case c == '[' || c == '{':
		s.groups = append(s.groups, 0)
		if len(s.groups) > maxNesting {
			return fmt.Sprintf("more than %d brackets are open here", maxNesting)
		}
	case last < 0:
	case c == ']' || c == '}':
		s.groups = s.groups[:last]
	case c == ',':
		s.groups[last]++
		if s.groups[last] > maxGroup {
			return fmt.Sprintf("more than %d parts of one group", maxGroup)
		}
	}
	return ""
}
