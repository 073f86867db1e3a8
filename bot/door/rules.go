package door

import (
	_ "embed"
	"fmt"
	"slices"

	"github.com/goccy/go-yaml/ast"
)

//go:embed rules.yaml
var rulesYAML []byte

// Rules come before sums: they bind whatever the chances say.
type Rules struct {
	tools          []toolRules
	implied        []implication
	contradictions []contradiction
}

type toolRules struct {
	tools []string
	rules []Rule
}

type implication struct{ when, then Condition }

type contradiction struct {
	when Condition
	ask  []Fact
	say  string
}

// LoadRules reads the rules that are part of the program.
func LoadRules() (Rules, error) {
	var rules Rules
	root, err := parseYAML(rulesYAML)
	if err != nil {
		return rules, fmt.Errorf("read rules: %w", err)
	}
	r := &reader{}
	r.mapping(root, map[string]func(ast.Node){
		"tools": func(n ast.Node) {
			for _, item := range r.items(n) {
				rules.tools = append(rules.tools, r.toolRules(item))
			}
		},
		"implied": func(n ast.Node) {
			for _, item := range r.items(n) {
				rules.implied = append(rules.implied, r.implication(item))
			}
		},
		"contradictions": func(n ast.Node) {
			for _, item := range r.items(n) {
				rules.contradictions = append(rules.contradictions, r.contradiction(item))
			}
		},
	})
	if err := r.err(); err != nil {
		return rules, fmt.Errorf("read rules: %w", err)
	}
	return rules, nil
}

func (r *reader) toolRules(n ast.Node) toolRules {
	var t toolRules
	r.mapping(n, map[string]func(ast.Node){
		"tools": func(n ast.Node) { t.tools = r.texts(n) },
		"rules": func(n ast.Node) { t.rules = r.rules(n) },
	})
	return t
}

func (r *reader) implication(n ast.Node) implication {
	var i implication
	r.mapping(n, map[string]func(ast.Node){
		"when": func(n ast.Node) { i.when = r.condition(n) },
		"then": func(n ast.Node) { i.then = r.condition(n) },
	})
	return i
}

func (r *reader) contradiction(n ast.Node) contradiction {
	var c contradiction
	r.mapping(n, map[string]func(ast.Node){
		"when": func(n ast.Node) { c.when = r.condition(n) },
		"ask": func(n ast.Node) {
			for _, fact := range r.texts(n) {
				c.ask = append(c.ask, Fact(fact))
			}
		},
		"say": func(n ast.Node) { c.say = r.text(n) },
	})
	return c
}

// A Contradiction is a set of facts that cannot all be true of one door. Say is
// the question for the crew.
type Contradiction struct {
	Facts []Fact
	Say   string
}

// Contradictions lists the sets of stated facts that cannot all be true.
func (rules Rules) Contradictions(f Facts) []Contradiction {
	var found []Contradiction
	for _, c := range rules.contradictions {
		if c.when.Fits(f) == Yes {
			found = append(found, Contradiction{Facts: c.ask, Say: c.say})
		}
	}
	return found
}

// imply fills what follows from the known facts, and returns it with the facts
// it filled. Urgency is the one fact it may raise though it was stated.
func (rules Rules) imply(f Facts) (Facts, []Fact) {
	var filled []Fact
	for _, i := range rules.implied {
		if i.when.Fits(f) != Yes {
			continue
		}
		for _, clause := range i.then {
			if f.Value(clause.Fact) == "" || clause.Fact == FactUrgency {
				f.assign(clause.Fact, clause.Values[0])
				filled = append(filled, clause.Fact)
			}
		}
	}
	return f, filled
}

// forTool lists the rules that bind whatever uses the tool.
func (rules Rules) forTool(id string) []Rule {
	var found []Rule
	for _, t := range rules.tools {
		if slices.Contains(t.tools, id) {
			found = append(found, t.rules...)
		}
	}
	return found
}
