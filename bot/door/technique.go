package door

import (
	"fmt"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"
)

// Kind is where a technique stands in a plan.
type Kind string

// Only preparations and attempts are optimised; the others have a fixed place.
const (
	Before  Kind = "before"
	Prepare Kind = "prepare"
	Attempt Kind = "attempt"
	After   Kind = "after"
)

// Hold is a hidden reason why a door stays shut.
type Hold string

// The holds: a free spring latch, a latch with its plunger in, a thrown bolt, an
// exit bar, a magnet, a second lock on the inside of a room, something else.
const (
	HoldLatch     Hold = "latch"
	HoldPlunger   Hold = "plunger"
	HoldBolt      Hold = "bolt"
	HoldExitBar   Hold = "exit-bar"
	HoldMagnet    Hold = "magnet"
	HoldRoomGuard Hold = "room-guard"
	HoldOther     Hold = "other"
)

// AllHolds lists the holds in the order of their constants.
func AllHolds() []Hold {
	return []Hold{HoldLatch, HoldPlunger, HoldBolt, HoldExitBar, HoldMagnet, HoldRoomGuard, HoldOther}
}

// Counts are Beta counts of a chance: how often it opened and how often not. The
// ones in a card are assumptions; records add to them.
type Counts struct{ Opened, Not float64 }

// Mean is the chance the counts stand for, from 0 to 1.
func (c Counts) Mean() float64 {
	if c.Opened+c.Not <= 0 {
		return 0
	}
	return c.Opened / (c.Opened + c.Not)
}

// Variance is the variance of the Beta distribution with these counts.
func (c Counts) Variance() float64 {
	n := c.Opened + c.Not
	if n <= 0 {
		return 0
	}
	return c.Opened * c.Not / (n * n * (n + 1))
}

// Chances gives an attempt's counts for each hold; a hold that is not there
// never opens by it.
type Chances map[Hold]Counts

// A Tool is one of several that can do the same job. Mark and Minutes replace
// the technique's own when this one is used; -1 leaves them.
type Tool struct {
	ID      string
	Mark    int
	Minutes float64
}

// A Technique is one way to work at a door, as its card's plan says.
type Technique struct {
	ID, Title string
	Kind      Kind
	Tools     [][]Tool // each entry is one tool or the alternatives for it
	People    int      // hands it takes
	Minutes   float64  // for the whole attempt, all tries
	Tries     int
	Mark      int    // 0 none, 1 scuff, 2 scar, 3 hardware lost, 4 door or frame lost
	Move      string // what to do, in 12 words at most
	Caution   string // one line
	Last      bool   // opens every door and ends a plan (the irons)

	Seen     []Condition // one of these must be known to be so
	Needs    []Condition // one of these must be so; while unknown it may be
	RulesOut []Rule

	Chance Chances            // without any preparation
	With   map[string]Chances // after a preparation, by that technique's id
}

// ParseTechnique reads the `plan:` part of a technique card. The error lists
// every mistake with its line within plan.
func ParseTechnique(id, title string, plan []byte) (Technique, error) {
	t := Technique{ID: id, Title: title, People: 1, Tries: 1}
	root, err := parseYAML(plan)
	if err != nil {
		return t, fmt.Errorf("read plan of %s: %w", id, err)
	}
	r := &reader{}
	r.mapping(root, map[string]func(ast.Node){
		"step":      func(n ast.Node) { t.Kind = r.kind(n) },
		"tools":     func(n ast.Node) { t.Tools = r.tools(n) },
		"people":    func(n ast.Node) { t.People = r.whole(n, 1, 10) },
		"minutes":   func(n ast.Node) { t.Minutes = r.number(n, 0, 120) },
		"tries":     func(n ast.Node) { t.Tries = r.whole(n, 1, 10) },
		"mark":      func(n ast.Node) { t.Mark = r.whole(n, 0, 4) },
		"move":      func(n ast.Node) { t.Move = r.move(n) },
		"caution":   func(n ast.Node) { t.Caution = r.text(n) },
		"last":      func(n ast.Node) { t.Last = r.text(n) == "true" },
		"seen":      func(n ast.Node) { t.Seen = r.conditions(n) },
		"needs":     func(n ast.Node) { t.Needs = r.conditions(n) },
		"rules_out": func(n ast.Node) { t.RulesOut = r.rules(n) },
		"chance":    func(n ast.Node) { t.Chance = r.chances(n) },
		"with":      func(n ast.Node) { t.With = r.with(n) },
	})
	r.consistent(t, root)
	if err := r.err(); err != nil {
		return t, fmt.Errorf("read plan of %s: %w", id, err)
	}
	return t, nil
}

// consistent checks what no single key can show.
func (r *reader) consistent(t Technique, root ast.Node) {
	if t.Kind == "" {
		r.fail(root, "`step` is missing")
	}
	if t.Move == "" {
		r.fail(root, "`move` is missing")
	}
	if t.Caution == "" {
		r.fail(root, "`caution` is missing")
	}
	canOpen := len(t.Chance)+len(t.With) > 0
	if t.Kind == Attempt && canOpen == t.Last {
		r.fail(root, "an attempt has `chance` or `with`, or else it is the `last` one")
	}
	if t.Kind != Attempt && (canOpen || t.Last) {
		r.fail(root, "only an attempt has `chance`, `with` or `last`")
	}
	if t.Kind == Attempt && t.Minutes == 0 {
		r.fail(root, "an attempt takes `minutes`")
	}
}

func (r *reader) kind(n ast.Node) Kind {
	kind := Kind(r.text(n))
	if !slices.Contains([]Kind{Before, Prepare, Attempt, After}, kind) {
		r.fail(n, "step is before, prepare, attempt or after, not %q", kind)
	}
	return kind
}

// moveWords is what fits on the first line of a phone held in one hand.
const moveWords = 12

func (r *reader) move(n ast.Node) string {
	move := r.text(n)
	if len(strings.Fields(move)) > moveWords {
		r.fail(n, "move has more than %d words", moveWords)
	}
	return move
}

func (r *reader) tools(n ast.Node) [][]Tool {
	var tools [][]Tool
	for _, item := range r.items(n) {
		alternatives := []ast.Node{item}
		if list, ok := item.(*ast.SequenceNode); ok {
			alternatives = list.Values
		}
		var choice []Tool
		for _, alternative := range alternatives {
			choice = append(choice, r.tool(alternative))
		}
		tools = append(tools, choice)
	}
	return tools
}

func (r *reader) tool(n ast.Node) Tool {
	tool := Tool{Mark: -1, Minutes: -1}
	if _, ok := n.(ast.ScalarNode); ok {
		tool.ID = r.text(n)
		return tool
	}
	r.mapping(n, map[string]func(ast.Node){
		"tool":    func(n ast.Node) { tool.ID = r.text(n) },
		"mark":    func(n ast.Node) { tool.Mark = r.whole(n, 0, 4) },
		"minutes": func(n ast.Node) { tool.Minutes = r.number(n, 0, 120) },
	})
	if tool.ID == "" {
		r.fail(n, "a tool needs its id")
	}
	return tool
}

func (r *reader) chances(n ast.Node) Chances {
	chances := Chances{}
	for _, f := range r.fields(n) {
		hold := Hold(f.key)
		if !slices.Contains(AllHolds(), hold) {
			r.fail(f.at, "%q is no hold, only one of %q", hold, AllHolds())
			continue
		}
		chances[hold] = r.counts(f.value)
	}
	return chances
}

func (r *reader) counts(n ast.Node) Counts {
	list, ok := n.(*ast.SequenceNode)
	if !ok || len(list.Values) != 2 {
		r.fail(n, "a chance is two counts, [opened, not opened]")
		return Counts{}
	}
	counts := Counts{r.number(list.Values[0], 0, 1e6), r.number(list.Values[1], 0, 1e6)}
	if counts.Opened+counts.Not <= 0 {
		r.fail(n, "the two counts of a chance add up to more than 0")
	}
	return counts
}

func (r *reader) with(n ast.Node) map[string]Chances {
	with := map[string]Chances{}
	for _, f := range r.fields(n) {
		with[f.key] = r.chances(f.value)
	}
	return with
}
