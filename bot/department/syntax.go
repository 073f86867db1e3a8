package department

import (
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// What a file may have at most. They are far above any department's and keep a
// hostile file from costing time or memory.
const (
	maxBytes    = 1 << 20
	maxLine     = 2000
	maxNesting  = 32
	maxProblems = 200
	maxGroup    = 5000 // parts of a list, keys of a group
)

// reader collects the problems of one file.
type reader struct {
	file     string
	lines    []string
	problems Problems
	dropped  int
}

func newReader(file string, raw []byte) *reader {
	return &reader{file: file, lines: strings.Split(strings.ReplaceAll(string(raw), "\r\n", "\n"), "\n")}
}

// bad notes a mistake at a token; nil is the file as a whole.
func (r *reader) bad(at *token.Token, format string, args ...any) {
	p := Problem{File: r.file, Say: fmt.Sprintf(format, args...)}
	if at != nil && at.Position != nil {
		p.Line, p.Column = at.Position.Line, at.Position.Column
	}
	r.add(p)
}

// warn notes something that is allowed but hardly meant.
func (r *reader) warn(at *token.Token, format string, args ...any) {
	before := len(r.problems)
	r.bad(at, format, args...)
	if len(r.problems) > before {
		r.problems[before].Warning = true
	}
}

func (r *reader) add(p Problem) {
	if len(r.problems) == maxProblems {
		r.dropped++
		return
	}
	if p.Line > 0 && p.Line <= len(r.lines) {
		p.Text = r.lines[p.Line-1]
	}
	r.problems = append(r.problems, p)
}

// done is every problem in the order of the file.
func (r *reader) done() Problems {
	r.problems.sort()
	if r.dropped > 0 {
		r.problems = append(r.problems, Problem{File: r.file, Say: fmt.Sprintf("and %d more", r.dropped)})
	}
	return r.problems
}

// parse turns the bytes into a tree, or notes why it cannot.
func (r *reader) parse(raw []byte) (root ast.Node, ok bool) {
	if !r.bounded(raw) {
		return nil, false
	}
	tree, err := parseYAML([]byte(strings.Join(r.lines, "\n")))
	if err != nil {
		r.syntax(err)
		return nil, false
	}
	var docs []*ast.DocumentNode
	for _, d := range tree.Docs {
		if d.Body != nil {
			docs = append(docs, d)
		}
	}
	switch {
	case len(docs) == 0:
		r.bad(nil, "the file is empty; kitbell init writes one to start from")
		return nil, false
	case len(docs) > 1:
		r.bad(place(docs[1].Body), "a second document begins here; put everything into one, without ---")
		return nil, false
	}
	return docs[0].Body, true
}

// parseYAML keeps a mistake inside the library from ending the program.
func parseYAML(raw []byte) (tree *ast.File, err error) {
	defer func() {
		if p := recover(); p != nil {
			tree, err = nil, fmt.Errorf("the YAML reader gave up: %v", p)
		}
	}()
	return parser.ParseBytes(raw, 0, parser.AllowDuplicateMapKey())
}

func (r *reader) syntax(err error) {
	var located yaml.Error
	if errors.As(err, &located) {
		r.bad(located.GetToken(), "this is not YAML as it stands: %s", located.GetMessage())
		return
	}
	r.bad(nil, "this is not YAML as it stands: %v", err)
}

// bounded refuses what is not a text of sensible size before it is parsed.
func (r *reader) bounded(raw []byte) bool {
	if len(raw) > maxBytes {
		r.lines = nil
		r.bad(nil, "the file has %d bytes, more than the %d that are read", len(raw), maxBytes)
		return false
	}
	if !utf8.Valid(raw) {
		r.notUTF8()
		return false
	}
	r.lines[0] = strings.TrimPrefix(r.lines[0], "\ufeff")
	var size size
	for i, line := range r.lines {
		if len(line) > maxLine {
			r.at(i+1, maxLine+1, "the line has %d bytes, more than the %d that are read", len(line), maxLine)
			return false
		}
		if column, say := size.line([]rune(line)); say != "" {
			r.at(i+1, column, "%s", say)
			return false
		}
	}
	return true
}

func (r *reader) notUTF8() {
	for i, line := range r.lines {
		column := 1
		for rest := line; rest != ""; column++ {
			c, size := utf8.DecodeRuneInString(rest)
			if c == utf8.RuneError && size == 1 {
				r.lines[i] = strings.ToValidUTF8(line, "?")
				r.at(i+1, column, "this is not UTF-8 text; save the file as UTF-8")
				return
			}
			rest = rest[size:]
		}
	}
}

func (r *reader) at(line, column int, format string, args ...any) {
	r.add(Problem{File: r.file, Line: line, Column: column, Say: fmt.Sprintf(format, args...)})
}
