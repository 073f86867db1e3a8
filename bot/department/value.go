package department

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"
)

// value is one node of the file, with what it is called in a sentence.
type value struct {
	r    *reader
	node ast.Node
	what string
}

// place is the token that a problem with the value points at.
func (v value) place() *token.Token { return place(v.node) }

func place(n ast.Node) *token.Token {
	switch n := n.(type) {
	case nil:
		return nil
	case *ast.MappingNode:
		if !n.IsFlowStyle && len(n.Values) > 0 {
			return place(n.Values[0])
		}
		return n.Start
	case *ast.MappingValueNode:
		return place(n.Key)
	case *ast.SequenceNode:
		return n.Start
	case *ast.LiteralNode:
		return n.Start
	}
	return n.GetToken()
}

func (v value) bad(format string, args ...any) { v.r.bad(v.place(), format, args...) }

// plain refuses anchors, aliases and tags: with them a small file can stand for
// an endless one, and nobody needs them here.
func (v value) plain() bool {
	switch v.node.(type) {
	case *ast.AnchorNode, *ast.AliasNode:
		v.bad("%s: anchors (&) and aliases (*) are not read; write it out", v.what)
		return false
	case *ast.TagNode:
		v.bad("%s: tags (!) are not read; leave it out", v.what)
		return false
	}
	return true
}

// text is a scalar as it is written. ok is false when it is not one, or empty;
// the problem is noted.
func (v value) text() (text string, ok bool) {
	if !v.plain() {
		return "", false
	}
	switch n := v.node.(type) {
	case *ast.StringNode:
		text = n.Value
	case *ast.LiteralNode:
		text = n.Value.Value
	case *ast.NullNode:
		v.bad("%s has no value", v.what)
		return "", false
	case *ast.MappingNode, *ast.MappingValueNode, *ast.SequenceNode:
		v.bad("%s: one value is needed here, not %s", v.what, shape(v.node))
		return "", false
	default:
		text = n.GetToken().Value
	}
	if text = strings.TrimSpace(text); text == "" {
		v.bad("%s has no value", v.what)
		return "", false
	}
	return text, true
}

func shape(n ast.Node) string {
	if _, ok := n.(*ast.SequenceNode); ok {
		return "a list"
	}
	if _, ok := pairs(n); ok {
		return "a group of keys"
	}
	return "a single value"
}

// list is a list's values, each called what.
func (v value) list(what string) []value {
	if !v.plain() {
		return nil
	}
	seq, ok := v.node.(*ast.SequenceNode)
	if !ok {
		v.bad("%s: a list is needed here, not %s", v.what, shape(v.node))
		return nil
	}
	if len(seq.Values) > maxGroup {
		v.bad("%s: the list has %d parts, more than the %d that are read", v.what, len(seq.Values), maxGroup)
		return nil
	}
	all := make([]value, len(seq.Values))
	for i, n := range seq.Values {
		all[i] = value{v.r, n, what}
	}
	return all
}

// texts is a list of scalars, each called what.
func (v value) texts(what string) []string {
	var texts []string
	for _, one := range v.list(what) {
		if t, ok := one.text(); ok {
			texts = append(texts, t)
		}
	}
	return texts
}

// yes reads true and false.
func (v value) yes() bool {
	t, ok := v.text()
	if ok && t != "true" && t != "false" {
		v.bad("%s: write true or false, not %q", v.what, t)
	}
	return t == "true"
}

// whole reads a number without decimals from least to most.
func (v value) whole(least, most int) (n int, ok bool) {
	t, ok := v.text()
	if !ok {
		return 0, false
	}
	n, err := strconv.Atoi(t)
	if err != nil || n < least || n > most {
		v.bad("%s: write a whole number from %d to %d, not %q", v.what, least, most, t)
		return 0, false
	}
	return n, true
}

// among reads one of a few words.
func (v value) among(words []string) (word string, ok bool) {
	t, ok := v.text()
	if ok && !slices.Contains(words, t) {
		v.bad("%s: %q is not known%s (one of %s)", v.what, t, didYouMean(t, words), strings.Join(words, ", "))
		return "", false
	}
	return t, ok
}

var (
	idShape    = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)
	moneyShape = regexp.MustCompile(`^([0-9]{1,7})(?:\.([0-9]{1,2}))?$`)
	rateShape  = regexp.MustCompile(`^([0-9]{1,3}(?:\.[0-9]{1,3})?) ?%$`)
)

// id reads an id: small letters and digits with single hyphens.
func (v value) id() (id string, ok bool) {
	t, ok := v.text()
	if ok && (len(t) > 48 || !idShape.MatchString(t)) {
		v.bad("%s: %q is no id; write small letters, digits and single hyphens, such as engine-4", v.what, t)
		return "", false
	}
	return t, ok
}

// cents reads money written as a decimal.
func (v value) cents() int64 {
	t, ok := v.text()
	if !ok {
		return 0
	}
	m := moneyShape.FindStringSubmatch(t)
	switch {
	case m == nil && strings.HasPrefix(t, "-"):
		v.bad("%s: %s is negative", v.what, t)
		return 0
	case m == nil:
		v.bad("%s: %q is no amount; write 24.00, without a sign of the currency", v.what, t)
		return 0
	}
	whole, _ := strconv.ParseInt(m[1], 10, 64)
	part, _ := strconv.ParseInt((m[2] + "00")[:2], 10, 64)
	return whole*100 + part
}

// rate reads a percentage as a fraction.
func (v value) rate() float64 {
	t, ok := v.text()
	if !ok {
		return 0
	}
	m := rateShape.FindStringSubmatch(t)
	if m == nil {
		v.bad("%s: %q is no percentage; write 6 %%", v.what, t)
		return 0
	}
	percent, _ := strconv.ParseFloat(m[1], 64)
	if percent > 100 {
		v.bad("%s: %s is more than 100 %%", v.what, t)
	}
	return percent / 100
}

// object is a group of keys. Reading it notes keys that are unknown or there
// twice.
type object struct {
	value
	fields map[string]value
}

func pairs(n ast.Node) ([]*ast.MappingValueNode, bool) {
	switch n := n.(type) {
	case *ast.MappingNode:
		return n.Values, true
	case *ast.MappingValueNode:
		return []*ast.MappingValueNode{n}, true
	}
	return nil, false
}

// object reads a group of keys that may have the known ones; none known means
// that any may be there.
func (v value) object(known ...string) (o object, ok bool) {
	if !v.plain() {
		return o, false
	}
	all, ok := pairs(v.node)
	if !ok {
		v.bad("%s: a group of keys is needed here, not %s", v.what, shape(v.node))
		return o, false
	}
	if len(all) > maxGroup {
		v.bad("%s: there are %d keys, more than the %d that are read", v.what, len(all), maxGroup)
		return o, false
	}
	o = object{v, map[string]value{}}
	for _, pair := range all {
		o.take(pair, known)
	}
	return o, true
}

func (o object) take(pair *ast.MappingValueNode, known []string) {
	at := value{o.r, pair.Key, "key"}
	if pair.Key.IsMergeKey() {
		at.bad("merge keys (<<) are not read; write it out")
		return
	}
	key, ok := at.text()
	if !ok {
		return
	}
	if len(known) > 0 && !slices.Contains(known, key) {
		at.bad("unknown key %q%s", key, didYouMean(key, known))
		return
	}
	if first, twice := o.fields[key]; twice {
		at.bad("key %q is there twice; the first is on line %d", key, first.line())
		return
	}
	o.fields[key] = value{o.r, pair.Value, key}
}

func (v value) line() int {
	if t := v.place(); t != nil && t.Position != nil {
		return t.Position.Line
	}
	return 0
}

// may is a key that can be left out.
func (o object) may(key string) (v value, ok bool) {
	v, ok = o.fields[key]
	return v, ok
}

// need is a key that must be there; the problem is noted when it is not.
func (o object) need(key string) (v value, ok bool) {
	if v, ok = o.fields[key]; !ok {
		o.bad("%s: the key %q is missing", o.what, key)
	}
	return v, ok
}

// needText is the text of a key that must be there.
func (o object) needText(key string) (text string, v value, ok bool) {
	if v, ok = o.need(key); ok {
		text, ok = v.text()
	}
	return text, v, ok
}

// mayText is the text of a key that can be left out.
func (o object) mayText(key string) string {
	if v, ok := o.may(key); ok {
		t, _ := v.text()
		return t
	}
	return ""
}

// mayTexts is the list of texts of a key that can be left out.
func (o object) mayTexts(key, what string) []string {
	if v, ok := o.may(key); ok {
		return v.texts(what)
	}
	return nil
}

// mayYes is whether a key that can be left out says true.
func (o object) mayYes(key string) bool {
	v, ok := o.may(key)
	return ok && v.yes()
}
