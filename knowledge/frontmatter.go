package knowledge

import (
	"errors"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// parseFrontMatter fills c from the YAML between the two marks. The syntax
// tree is walked by hand because a decoder stops at its first complaint.
func parseFrontMatter(c *Card, text string, r *report) {
	file, err := parser.ParseBytes([]byte(text), 0, parser.AllowDuplicateMapKey())
	if err != nil {
		addSyntaxError(r, err)
		return
	}
	f := frontMatter{card: c, text: text, report: r, seen: map[string]int{}}
	for _, doc := range file.Docs {
		f.readDocument(doc.Body)
	}
	for _, key := range []string{"title", "kind", "aliases", "asks", "not_about", "tools", "hazards", "related", "sources", "reviewed"} {
		if f.seen[key] == 0 {
			r.add(frontMatterLine-1, "the front matter has no %q", key)
		}
	}
}

func addSyntaxError(r *report, err error) {
	var syntax *yaml.SyntaxError
	if errors.As(err, &syntax) && syntax.Token != nil {
		r.add(fileLine(syntax.Token.Position.Line), "the front matter cannot be read: %s", syntax.Message)
		return
	}
	r.add(frontMatterLine, "the front matter cannot be read: %v", err)
}

// fileLine turns a line of the front matter into a line of the file.
func fileLine(line int) int { return line + frontMatterLine - 1 }

type frontMatter struct {
	card   *Card
	text   string
	report *report
	seen   map[string]int // key → line
}

func (f *frontMatter) readDocument(node ast.Node) {
	switch node := node.(type) {
	case nil:
	case *ast.MappingNode:
		for _, pair := range node.Values {
			f.readPair(pair)
		}
	case *ast.MappingValueNode:
		f.readPair(node)
	default:
		f.report.add(lineOf(node), "the front matter is a list of keys with values")
	}
}

func lineOf(node ast.Node) int {
	if node == nil || node.GetToken() == nil {
		return frontMatterLine
	}
	return fileLine(node.GetToken().Position.Line)
}

func (f *frontMatter) readPair(pair *ast.MappingValueNode) {
	key, line := pair.Key.String(), lineOf(pair.Key)
	if before := f.seen[key]; before != 0 {
		f.report.add(line, "%q stands here twice, first on line %d", key, before)
		return
	}
	f.seen[key] = line
	switch c := f.card; key {
	case "title":
		c.Title = f.word(key, pair.Value)
	case "kind":
		c.Kind = f.kind(pair.Value)
	case "reviewed":
		c.Reviewed = f.day(pair.Value)
	case "aliases":
		c.Aliases = f.list(key, pair.Value)
	case "asks":
		c.Asks = f.list(key, pair.Value)
	case "not_about":
		c.NotAbout = f.list(key, pair.Value)
	case "tools":
		c.Tools = f.list(key, pair.Value)
	case "hazards":
		c.Hazards = f.list(key, pair.Value)
	case "related":
		c.Related = f.list(key, pair.Value)
	case "sources":
		c.Sources = f.list(key, pair.Value)
	case "target":
		c.Target = f.target(pair.Value)
	case "links":
		c.Links = f.links(f.list(key, pair.Value), line)
	case "plan":
		c.Plan, c.PlanLine = f.raw(line), line+1
	case "drawing":
		c.Drawing, c.DrawLine = f.raw(line), line+1
	default:
		f.report.add(line, "no card has a key %q", key)
	}
}

// word returns a scalar as text.
func (f *frontMatter) word(key string, node ast.Node) string {
	scalar, ok := node.(ast.ScalarNode)
	if _, null := node.(*ast.NullNode); !ok || null {
		f.report.add(lineOf(node), "%q needs a text", key)
		return ""
	}
	var text string
	if s, ok := scalar.(*ast.StringNode); ok {
		text = s.Value
	} else if l, ok := scalar.(*ast.LiteralNode); ok {
		text = l.Value.Value
	} else {
		text = scalar.GetToken().Value
	}
	text = strings.Join(strings.Fields(text), " ")
	if text == "" {
		f.report.add(lineOf(node), "%q needs a text", key)
	}
	return text
}

func (f *frontMatter) list(key string, node ast.Node) []string {
	sequence, ok := node.(*ast.SequenceNode)
	if !ok {
		f.report.add(lineOf(node), "%q is a list; an empty one is []", key)
		return nil
	}
	list := make([]string, 0, len(sequence.Values))
	for _, value := range sequence.Values {
		word := f.word(key, value)
		if word != "" && slices.Contains(list, word) {
			f.report.add(lineOf(value), "%q is in %q twice", word, key)
		}
		list = append(list, word)
	}
	return list
}

func (f *frontMatter) kind(node ast.Node) Kind {
	kind := Kind(f.word("kind", node))
	if kind != "" && RequiredSections(kind) == nil {
		f.report.add(lineOf(node), "no kind of card is called %q", kind)
	}
	return kind
}

func (f *frontMatter) day(node ast.Node) time.Time {
	word := f.word("reviewed", node)
	day, err := time.Parse(time.DateOnly, word)
	if err != nil && word != "" {
		f.report.add(lineOf(node), "%q is a day written year-month-day, not %q", "reviewed", word)
	}
	return day
}

// target reads what a drill aims at: minutes, tries, or both, one or more of each.
func (f *frontMatter) target(node ast.Node) Target {
	var t Target
	pairs, ok := node.(*ast.MappingNode)
	if !ok {
		f.report.add(lineOf(node), `"target" is {minutes: 3, tries: 2}, or one of the two`)
		return t
	}
	for _, pair := range pairs.Values {
		n, err := strconv.Atoi(pair.Value.GetToken().Value)
		if err != nil || n < 1 || n > 60 {
			f.report.add(lineOf(pair.Value), `a target is a whole number from 1 to 60, not %q`, pair.Value.GetToken().Value)
			continue
		}
		switch key := pair.Key.String(); key {
		case "minutes":
			t.Minutes = n
		case "tries":
			t.Tries = n
		default:
			f.report.add(lineOf(pair.Key), `a target has minutes and tries, and no %q`, key)
		}
	}
	return t
}

// raw returns the lines below the key on the file's line, up to the next key.
func (f *frontMatter) raw(line int) []byte {
	lines := strings.SplitAfter(f.text, "\n")
	start := line - frontMatterLine + 1
	end := start
	for end < len(lines) && (strings.TrimSpace(lines[end]) == "" || strings.ContainsAny(lines[end][:1], " \t#-")) {
		end++
	}
	return []byte(strings.Join(lines[start:end], ""))
}
