package pocket

import (
	"context"
	_ "embed"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"

	"kitbell/bot/door"
)

// MostQuestions is how many questions stand before any plan, at most.
const MostQuestions = 6

//go:embed words/questions.yaml
var questionsFile []byte

// question is one thing to find out about a door.
type question struct {
	ID, Ask, Hint string
	Answers       []answer
}

// answer is one of a question's answers.
type answer struct {
	Say  string
	Set  map[string]string // facts that it settles; none for "cannot tell"
	Next string            // the question that follows; empty for the plan
}

// Node is a place in the tree: a question with its branches or, without any, a
// plan.
type Node struct {
	ID       string       // unique on the page
	Doors    []door.Facts // what is known here; several where answers came to the same plan
	Path     []Choice     // the answers that lead here
	Ask      string
	Hint     string
	Branches []Branch
	Plan     door.Plan
}

// Branch is an answer and where it leads. Answers that come to the same plan
// lead to the same node.
type Branch struct {
	Say string
	To  *Node
}

// Choice is an answer that was given at a node.
type Choice struct {
	At       *Node
	Ask, Say string
}

// Leaf tells whether the node shows a plan.
func (n *Node) Leaf() bool { return len(n.Branches) == 0 }

// All calls yield with the node and every one below it, each once, a question
// before what follows it.
func (n *Node) All(yield func(*Node) bool) { n.all(yield) }

func (n *Node) all(yield func(*Node) bool) bool {
	if !yield(n) {
		return false
	}
	done := make(map[*Node]bool, len(n.Branches))
	for _, b := range n.Branches {
		if !done[b.To] && !b.To.all(yield) {
			return false
		}
		done[b.To] = true
	}
	return true
}

// planned makes the plan for a door that is known so far.
type planned func(facts door.Facts) (door.Plan, error)

// grower makes the tree.
type grower struct {
	questions map[string]question
	plan      planned
}

// growTree asks the questions from the first on.
func growTree(ctx context.Context, plan planned) (*Node, error) {
	var all []question
	if err := yaml.UnmarshalWithOptions(questionsFile, &all, yaml.Strict()); err != nil {
		return nil, fmt.Errorf("read questions: %w", err)
	}
	g := grower{questions: make(map[string]question), plan: plan}
	for _, q := range all {
		g.questions[q.ID] = q
	}
	root := &Node{ID: "start", Doors: []door.Facts{{}}}
	if err := g.grow(ctx, root, all[0].ID); err != nil {
		return nil, fmt.Errorf("grow tree: %w", err)
	}
	return root, nil
}

// grow gives a node its plan and, where a question comes next that can change
// it, the question and all below.
func (g *grower) grow(ctx context.Context, n *Node, next string) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	var err error
	if n.Plan, err = g.plan(n.Doors[0]); err != nil || next == "" {
		return err
	}
	q, ok := g.questions[next]
	switch {
	case !ok:
		return fmt.Errorf("there is no question %q", next)
	case len(n.Path) == MostQuestions:
		return fmt.Errorf("question %q would be one too many", next)
	}
	n.Ask, n.Hint = q.Ask, q.Hint
	for i, a := range q.Answers {
		to, err := n.child(i, a)
		if err == nil {
			err = g.grow(ctx, to, a.Next)
		}
		if err != nil {
			return fmt.Errorf("%s, %q: %w", q.ID, a.Say, err)
		}
		n.Branches = append(n.Branches, Branch{a.Say, to})
	}
	n.join()
	n.prune()
	return nil
}

// child is where the i-th answer leads.
func (n *Node) child(i int, a answer) (*Node, error) {
	facts := n.Doors[0]
	for _, fact := range slices.Sorted(maps.Keys(a.Set)) {
		if err := facts.Set(door.Fact(fact), a.Set[fact]); err != nil {
			return nil, err
		}
	}
	path := append(slices.Clip(n.Path), Choice{n, n.Ask, a.Say})
	return &Node{ID: childID(n, i), Doors: []door.Facts{facts}, Path: path}, nil
}

// childID is short: it stands in every link of the page.
func childID(n *Node, i int) string {
	prefix := n.ID
	if len(n.Path) == 0 {
		prefix = "d"
	}
	return prefix + string(rune('a'+i))
}

// join makes answers that come to the same plan lead to one node.
func (n *Node) join() {
	leaves := make(map[string]*Node)
	for i, b := range n.Branches {
		if !b.To.Leaf() {
			continue
		}
		key := planKey(b.To.Plan)
		first, ok := leaves[key]
		if !ok {
			leaves[key] = b.To
			continue
		}
		first.Doors = append(first.Doors, b.To.Doors...)
		first.Path[len(first.Path)-1].Say += " / " + b.Say
		n.Branches[i].To = first
	}
}

// prune takes a question back when all its answers lead to the plan that stands
// without it.
func (n *Node) prune() {
	first := n.Branches[0].To
	for _, b := range n.Branches {
		if b.To != first || !first.Leaf() {
			return
		}
	}
	if planKey(first.Plan) == planKey(n.Plan) {
		n.Ask, n.Hint, n.Branches = "", "", nil
	}
}

// planKey is all that the page shows of a plan, in one line.
func planKey(p door.Plan) string {
	var b strings.Builder
	for _, s := range p.Steps {
		fmt.Fprintf(&b, "%s %s %d %d %g;", s.Way(), strings.Join(s.Tools, ","), s.Mark, s.Tries, s.Minutes)
	}
	return b.String()
}
