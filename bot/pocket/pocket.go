package pocket

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"kitbell/bot/door"
	"kitbell/bot/kit"
	"kitbell/knowledge"
	"kitbell/knowledge/drawing"
)

// Planner plans doors; *door.Planner is one.
type Planner interface {
	// Plan orders what a crew can do at a door. The error names a fact whose
	// value is none. It is called from one goroutine, and may take a tenth of a
	// second.
	Plan(request door.Request) (door.Plan, error)
}

// Source is what a pocket guide is made of.
type Source struct {
	Department string
	List       kit.List
	Rig        []string          // tool card ids of what every rig carries outside the kit
	Barred     []string          // techniques that the department forbids or has not adopted
	Names      map[string]string // of list items that have no card
	Library    *knowledge.Library
	Planner    Planner
	Limit      float64   // minutes at one door before the officer is asked
	Made       time.Time // the day that is printed
}

// Pocket is the guide for one version of a kit list.
type Pocket struct {
	Department string
	Version    int
	Made       time.Time
	Guide      Guide
	Tree       *Node
	Tools      []Tool
	Techniques []Technique // all that some plan names, by title
	Doors      []SheetPlan
}

// Tool is one line of the list, or a tool of the rig.
type Tool struct {
	ID, Name, For string
	Qty           int // in a complete kit; 0 for what rides on the rig
}

// Technique is a card as the page shows it.
type Technique struct {
	ID, Title, Intro       string
	Steps, Stops, Cautions []string
	Scene                  drawing.Scene
	Drawn                  bool // some technique cards have no drawing
}

// SheetPlan is a door of the sheet with its plan.
type SheetPlan struct {
	Say   string
	Facts door.Facts
	Plan  door.Plan
}

// New makes the guide. It plans some hundred doors, which takes seconds; it
// stops when ctx ends.
func New(ctx context.Context, s Source) (*Pocket, error) {
	guide, err := readGuide(s.Limit)
	if err != nil {
		return nil, err
	}
	p := &Pocket{Department: s.Department, Version: s.List.Version, Made: s.Made, Guide: guide}
	if p.Tree, err = growTree(ctx, s.plan); err != nil {
		return nil, err
	}
	for _, d := range guide.Sheet {
		facts, err := d.door()
		if err != nil {
			return nil, err
		}
		plan, err := s.plan(facts)
		if err != nil {
			return nil, err
		}
		p.Doors = append(p.Doors, SheetPlan{d.Say, facts, plan})
	}
	p.Tools = s.tools(guide)
	p.Techniques, err = s.techniques(p.named())
	return p, err
}

// plan plans a door with the complete kit.
func (s Source) plan(facts door.Facts) (door.Plan, error) {
	plan, err := s.Planner.Plan(Request(s, facts))
	if err != nil {
		return plan, fmt.Errorf("plan door: %w", err)
	}
	return plan, nil
}

// Request is what the planner is asked about a door: the complete kit of the
// list and what rides on the rig, without what the department does not go by.
func Request(s Source, facts door.Facts) door.Request {
	r := door.Request{Facts: facts, Tools: door.NewTools(s.Rig...), Barred: make(map[string]string)}
	for _, line := range s.List.Lines {
		r.Tools[line.Item] = ""
	}
	for _, id := range s.Barred {
		r.Barred[id] = "This department does not go by it."
	}
	return r
}

// tools lists the kit in the list's order, then what rides on the rig.
func (s Source) tools(guide Guide) []Tool {
	var tools []Tool
	for _, line := range s.List.Lines {
		tools = append(tools, s.tool(line.Item, line.Qty, guide))
	}
	for _, id := range s.Rig {
		tools = append(tools, s.tool(id, 0, guide))
	}
	return tools
}

func (s Source) tool(id string, qty int, guide Guide) Tool {
	t := Tool{ID: id, Name: s.Names[id], For: guide.Tools[id], Qty: qty}
	if c, ok := s.Library.Card(id); ok {
		t.Name = c.Title
		if t.For == "" {
			t.For = c.Intro
		}
	}
	if t.Name == "" {
		t.Name = strings.ReplaceAll(id, "-", " ")
	}
	return t
}

// named lists the techniques that some plan of the guide names.
func (p *Pocket) named() []string {
	var ids []string
	add := func(plan door.Plan) {
		for _, step := range plan.Steps {
			if !slices.Contains(ids, step.Technique) {
				ids = append(ids, step.Technique)
			}
		}
	}
	for n := range p.Tree.All {
		add(n.Plan)
	}
	for _, d := range p.Doors {
		add(d.Plan)
	}
	return ids
}

func (s Source) techniques(ids []string) ([]Technique, error) {
	var all []Technique
	var errs []error
	for _, id := range ids {
		c, ok := s.Library.Card(id)
		if !ok {
			errs = append(errs, fmt.Errorf("find card of technique %s: no such card", id))
			continue
		}
		t := Technique{
			ID: id, Title: c.Title, Intro: c.Intro, Steps: c.Section(knowledge.Steps).Texts(),
			Stops: c.Section(knowledge.StopWhen).Texts(), Cautions: c.Section(knowledge.Cautions).Texts(),
		}
		if c.Drawing != nil {
			scene, err := drawing.Parse(c.Drawing)
			if err != nil {
				errs = append(errs, fmt.Errorf("read drawing of %s: %w", id, err))
			}
			t.Scene, t.Drawn = scene, true
		}
		all = append(all, t)
	}
	slices.SortFunc(all, func(a, b Technique) int { return strings.Compare(a.Title, b.Title) })
	return all, errors.Join(errs...)
}
