package door

import (
	"slices"

	"github.com/goccy/go-yaml/ast"
)

// A Condition says what some facts must be: every clause has to fit. An empty
// condition always fits.
type Condition []Clause

// A Clause fits when the fact has one of the values.
type Clause struct {
	Fact   Fact
	Values []string
}

// Fits is Yes when every clause fits, No when one cannot, and Unknown when that
// depends on a fact nobody knows.
func (c Condition) Fits(f Facts) Tri {
	result := Yes
	for _, clause := range c {
		switch value := f.Value(clause.Fact); {
		case value == "":
			result = Unknown
		case !slices.Contains(clause.Values, value):
			return No
		}
	}
	return result
}

// anyFits is Yes when no condition is given or one of them fits.
func anyFits(conditions []Condition, f Facts) Tri {
	if len(conditions) == 0 {
		return Yes
	}
	result := No
	for _, condition := range conditions {
		switch condition.Fits(f) {
		case Yes:
			return Yes
		case Unknown:
			result = Unknown
		}
	}
	return result
}

// A Rule rules something out when its condition fits. Why is a sentence for the
// crew. Unless names preparations that lift the rule.
type Rule struct {
	When   Condition
	Unless []string
	Why    string
}

// condition reads `{swing: out, gap: [tight, normal]}`.
func (r *reader) condition(n ast.Node) Condition {
	var condition Condition
	for _, f := range r.fields(n) {
		allowed := Values(Fact(f.key))
		if allowed == nil {
			r.fail(f.at, "%q is no fact about a door", f.key)
			continue
		}
		clause := Clause{Fact: Fact(f.key), Values: r.texts(f.value)}
		for _, value := range clause.Values {
			if !slices.Contains(allowed, value) {
				r.fail(f.value, "%s cannot be %q, only one of %q", f.key, value, allowed)
			}
		}
		condition = append(condition, clause)
	}
	return condition
}

// conditions reads one condition, or a list of which one has to fit.
func (r *reader) conditions(n ast.Node) []Condition {
	list, ok := n.(*ast.SequenceNode)
	if !ok {
		return []Condition{r.condition(n)}
	}
	var conditions []Condition
	for _, item := range list.Values {
		conditions = append(conditions, r.condition(item))
	}
	return conditions
}

func (r *reader) rule(n ast.Node) Rule {
	var rule Rule
	r.mapping(n, map[string]func(ast.Node){
		"when":   func(n ast.Node) { rule.When = r.condition(n) },
		"unless": func(n ast.Node) { rule.Unless = r.texts(n) },
		"why":    func(n ast.Node) { rule.Why = r.text(n) },
	})
	if len(rule.When) == 0 || rule.Why == "" {
		r.fail(n, "a rule needs `when` and `why`")
	}
	return rule
}

func (r *reader) rules(n ast.Node) []Rule {
	var rules []Rule
	for _, item := range r.items(n) {
		rules = append(rules, r.rule(item))
	}
	return rules
}
