package door

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// reader walks a YAML tree and collects every mistake with its line, so that
// the writer of a card sees all of them at once.
type reader struct{ errs []error }

func parseYAML(data []byte) (ast.Node, error) {
	file, err := parser.ParseBytes(data, 0)
	if err != nil {
		return nil, fmt.Errorf("parse YAML: %w", err)
	}
	if len(file.Docs) == 0 || file.Docs[0].Body == nil {
		return nil, errors.New("parse YAML: nothing there")
	}
	return file.Docs[0].Body, nil
}

func (r *reader) fail(n ast.Node, format string, args ...any) {
	line := 0
	if n != nil && n.GetToken() != nil && n.GetToken().Position != nil {
		line = n.GetToken().Position.Line
	}
	r.errs = append(r.errs, fmt.Errorf("line %d: %s", line, fmt.Sprintf(format, args...)))
}

func (r *reader) err() error { return errors.Join(r.errs...) }

// field is one key of a mapping with its value.
type field struct {
	key   string
	at    ast.Node
	value ast.Node
}

// fields lists a mapping's keys; a key that stands twice is a mistake.
func (r *reader) fields(n ast.Node) []field {
	var found []field
	add := func(pair *ast.MappingValueNode) {
		key := pair.Key.GetToken().Value
		if slices.ContainsFunc(found, func(f field) bool { return f.key == key }) {
			r.fail(pair.Key, "%q stands twice", key)
		}
		found = append(found, field{key, pair.Key, pair.Value})
	}
	switch n := n.(type) {
	case *ast.MappingNode:
		for _, pair := range n.Values {
			add(pair)
		}
	case *ast.MappingValueNode:
		add(n)
	default:
		r.fail(n, "keys with values are wanted here")
	}
	return found
}

// mapping hands each key's value to the function known for it.
func (r *reader) mapping(n ast.Node, known map[string]func(ast.Node)) {
	for _, f := range r.fields(n) {
		read, ok := known[f.key]
		if !ok {
			r.fail(f.at, "%q is no key here", f.key)
			continue
		}
		read(f.value)
	}
}

func (r *reader) items(n ast.Node) []ast.Node {
	list, ok := n.(*ast.SequenceNode)
	if !ok {
		r.fail(n, "a list is wanted here")
		return nil
	}
	return list.Values
}

// text reads one plain or quoted word or sentence, true and numbers included.
func (r *reader) text(n ast.Node) string {
	switch n := n.(type) {
	case *ast.LiteralNode:
		return strings.TrimSpace(n.Value.Value)
	case ast.ScalarNode:
		return n.GetToken().Value
	}
	r.fail(n, "one word or sentence is wanted here")
	return ""
}

// texts reads a list of words, or one word as a list of one.
func (r *reader) texts(n ast.Node) []string {
	if _, ok := n.(ast.ScalarNode); ok {
		return []string{r.text(n)}
	}
	var list []string
	for _, item := range r.items(n) {
		list = append(list, r.text(item))
	}
	return list
}

// number reads a figure that is at least low and at most high.
func (r *reader) number(n ast.Node, low, high float64) float64 {
	value, err := strconv.ParseFloat(r.text(n), 64)
	if err != nil || !(value >= low && value <= high) {
		r.fail(n, "a number from %g to %g is wanted here", low, high)
		return low
	}
	return value
}

func (r *reader) whole(n ast.Node, low, high int) int {
	value := r.number(n, float64(low), float64(high))
	if value != float64(int(value)) {
		r.fail(n, "a whole number is wanted here")
	}
	return int(value)
}
