package drawing

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// Limits that keep a drawing legible on a phone.
const (
	maxText    = 4096 // bytes of a description
	maxParts   = 9
	maxTools   = 5
	maxLabel   = 26  // characters
	maxCaption = 100 // characters, two lines
)

// Parse reads the description of a scene, the YAML below a card's drawing:
// key. The error is a [Problems] with all mistakes, their lines counted in text:
// the line of the key in the card is to be added.
//
//	view: plan            # plan, lock, edge, face, head, foot or card
//	swing: out            # out or in; out if left out
//	gap: tight            # tight, normal or loose
//	parts: [latch, plunger-in]
//	tools: [shove-knife]  # card ids
//	push: push            # push, pull, ease-shut or spread
//	labels: {latch: "slope faces away"}
//	caption: Lean in until the pin drops out.
func Parse(text []byte) (Scene, error) {
	if len(text) > maxText {
		return Scene{}, Problems{{1, fmt.Sprintf("a drawing takes at most %d bytes", maxText)}}
	}
	file, err := parser.ParseBytes(text, 0)
	if err != nil {
		return Scene{}, syntaxProblem(err)
	}
	r := reader{seen: map[string]bool{}}
	r.scene = Scene{Swing: Out, Gap: Normal}
	r.lines = map[Part]int{}
	for _, doc := range file.Docs {
		r.readDocument(doc.Body)
	}
	r.check()
	if len(r.problems) > 0 {
		slices.SortStableFunc(r.problems, func(a, b Problem) int { return cmp.Or(a.Line-b.Line, strings.Compare(a.Text, b.Text)) })
		return Scene{}, r.problems
	}
	return r.scene, nil
}

func syntaxProblem(err error) Problems {
	var syntax *yaml.SyntaxError
	if errors.As(err, &syntax) && syntax.Token != nil {
		return Problems{{syntax.Token.Position.Line, syntax.Message}}
	}
	return Problems{{1, err.Error()}}
}

// reader walks the syntax tree, because a decoder stops at its first complaint.
type reader struct {
	scene    Scene
	lines    map[Part]int // where a part was named
	toolLine int
	seen     map[string]bool
	problems Problems
}

func (r *reader) add(line int, format string, args ...any) {
	r.problems = append(r.problems, Problem{line, fmt.Sprintf(format, args...)})
}

func lineOf(node ast.Node) int {
	if node == nil || node.GetToken() == nil {
		return 1
	}
	return node.GetToken().Position.Line
}

func pairsOf(node ast.Node) ([]*ast.MappingValueNode, bool) {
	switch node := node.(type) {
	case *ast.MappingNode:
		return node.Values, true
	case *ast.MappingValueNode:
		return []*ast.MappingValueNode{node}, true
	}
	return nil, false
}

func (r *reader) readDocument(node ast.Node) {
	pairs, ok := pairsOf(node)
	if !ok {
		r.add(lineOf(node), "a drawing is a list of keys with values")
	}
	for _, pair := range pairs {
		key := pair.Key.String()
		if r.seen[key] {
			r.add(lineOf(pair.Key), "%q stands here twice", key)
			continue
		}
		r.seen[key] = true
		r.readPair(key, pair)
	}
}

func (r *reader) readPair(key string, pair *ast.MappingValueNode) {
	value := pair.Value
	switch key {
	case "view":
		r.scene.View = oneOf(r, value, Plan, Lock, Edge, Face, Head, Foot, Card)
	case "swing":
		r.scene.Swing = oneOf(r, value, Out, In)
	case "gap":
		r.scene.Gap = oneOf(r, value, Tight, Normal, Loose)
	case "push":
		r.scene.Push = oneOf(r, value, PushDoor, PullDoor, EaseShut, SpreadGap)
	case "caption":
		r.scene.Caption = r.text(value, maxCaption)
	case "parts":
		r.readParts(value)
	case "tools":
		r.readTools(value)
	case "labels":
		r.readLabels(value)
	default:
		r.add(lineOf(pair.Key), "no drawing has a key %q", key)
	}
}

func oneOf[T ~string](r *reader, node ast.Node, choices ...T) T {
	value := T(r.text(node, maxCaption))
	if !slices.Contains(choices, value) {
		r.add(lineOf(node), "%q is none of %s", value, strings.Trim(fmt.Sprint(choices), "[]"))
	}
	return value
}

// text returns a scalar as one line of at most limit characters.
func (r *reader) text(node ast.Node, limit int) string {
	var text string
	switch node := node.(type) {
	case *ast.StringNode:
		text = node.Value
	case *ast.LiteralNode:
		text = node.Value.Value
	case *ast.IntegerNode, *ast.FloatNode:
		text = node.GetToken().Value
	default:
		r.add(lineOf(node), "a text is needed here")
		return ""
	}
	text = strings.Join(strings.Fields(text), " ")
	if n := utf8.RuneCountInString(text); n > limit {
		r.add(lineOf(node), "%d characters are too many, %d fit", n, limit)
		return ""
	}
	if i := strings.IndexFunc(text, notDrawable); i >= 0 {
		r.add(lineOf(node), "%q cannot be drawn", text[i:i+1])
	}
	return text
}

// notDrawable holds for characters that the one font may lack.
func notDrawable(c rune) bool {
	return c < ' ' || c > 0x17f && !strings.ContainsRune("–—‘’“”•…→←↑↓", c)
}

func (r *reader) list(node ast.Node, limit int) []ast.Node {
	sequence, ok := node.(*ast.SequenceNode)
	if !ok {
		r.add(lineOf(node), "a list is needed here")
		return nil
	}
	if len(sequence.Values) > limit {
		r.add(lineOf(node), "%d are too many, %d fit", len(sequence.Values), limit)
		return nil
	}
	return sequence.Values
}

func (r *reader) readParts(node ast.Node) {
	for _, value := range r.list(node, maxParts) {
		part := oneOf(r, value, knownParts()...)
		if r.scene.Has(part) {
			r.add(lineOf(value), "%q is there twice", part)
			continue
		}
		r.scene.Parts = append(r.scene.Parts, part)
		r.lines[part] = lineOf(value)
	}
}

func (r *reader) readTools(node ast.Node) {
	r.toolLine = lineOf(node)
	for _, value := range r.list(node, maxTools) {
		tool := oneOf(r, value, slices.Sorted(maps.Keys(toolWords))...)
		if r.scene.HasTool(tool) {
			r.add(lineOf(value), "%q is there twice", tool)
			continue
		}
		r.scene.Tools = append(r.scene.Tools, tool)
	}
}

func (r *reader) readLabels(node ast.Node) {
	pairs, ok := pairsOf(node)
	if !ok {
		r.add(lineOf(node), "labels are parts, each with a text")
	}
	r.scene.Labels = map[Part]string{}
	for _, pair := range pairs {
		part := oneOf(r, pair.Key, knownNames()...)
		r.scene.Labels[part] = r.text(pair.Value, maxLabel)
		r.lines[part] = lineOf(pair.Key)
	}
}

func knownParts() []Part { return slices.Sorted(maps.Keys(partWords)) }

// knownNames are all names that a label can be for: parts and tools.
func knownNames() []Part {
	names := knownParts()
	for _, tool := range slices.Sorted(maps.Keys(toolWords)) {
		names = append(names, Part(tool))
	}
	return names
}

// check finds what is well written but cannot be drawn.
func (r *reader) check() {
	s := r.scene
	if s.View == "" {
		r.add(1, "a drawing needs a view")
		return
	}
	for i, part := range s.Parts {
		before := Scene{View: s.View, Parts: s.Parts[:i]}
		word, known := partWords[part]
		switch {
		case !known:
		case !word.in(s.View):
			r.add(r.lines[part], "%q is not drawn in the view %q", part, s.View)
		case !s.shows(part):
			r.add(r.lines[part], "%q is not drawn on this kind of door", part)
		case before.clash(part) != "":
			r.add(r.lines[part], "%q and %q cannot be together", before.clash(part), part)
		}
	}
	for _, tool := range s.Tools {
		if why := s.misfit(tool); why != "" && toolWords[tool].label != "" {
			r.add(r.toolLine, "%q %s", tool, why)
		}
	}
	if why := s.wrongSwing(); why != "" {
		r.add(1, "%s", why)
	}
	r.checkLabels()
}

// checkLabels finds labels of what is not in the scene. Parts that are always
// there need not be listed.
func (r *reader) checkLabels() {
	always := []Part{Frame, Door, Stop, GapAt, Bevel, Strike, Floor}
	for part := range r.scene.Labels {
		if !r.scene.Has(part) && !r.scene.HasTool(Tool(part)) && !slices.Contains(always, part) {
			r.add(r.lines[part], "%q has a label and is not there", part)
		}
	}
}
