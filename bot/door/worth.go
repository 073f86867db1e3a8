package door

import (
	"cmp"
	"slices"
)

// ToolWorth is what one tool means for a kit, averaged over the mix of doors.
type ToolWorth struct {
	Tool    string
	Carried bool    // it can be used now
	Minutes float64 // a carried tool: what an average entry costs more without it; else: what it would save
}

// urgencies are those whose plans depend on the kit; at life or fire it is the
// irons whatever the kit holds.
func urgencies() []Urgency { return []Urgency{UrgencyRoutine, UrgencyUrgent} }

// Cost is the expected cost of an average entry with these tools, in minutes,
// the marks' worth included.
func (p *Planner) Cost(tools Tools) float64 {
	total := 0.0
	p.eachDoor(func(door MixedDoor, urgency Urgency, weight float64) {
		total += weight * p.model(p.mixScene(door, urgency, tools)).problem.Solve().Cost
	})
	return total
}

// eachDoor runs through the mix, weights adding up to 1. Life and fire count as
// one entry on which the kit changes nothing.
func (p *Planner) eachDoor(yield func(door MixedDoor, urgency Urgency, weight float64)) {
	doors, calls := 0.0, 0.0
	for _, door := range p.assumptions.Doors {
		doors += door.Share
	}
	for _, urgency := range Values(FactUrgency) {
		calls += p.assumptions.Calls[Urgency(urgency)]
	}
	if doors == 0 || calls == 0 {
		return
	}
	for _, door := range p.assumptions.Doors {
		for _, urgency := range urgencies() {
			yield(door, urgency, door.Share/doors*p.assumptions.Calls[urgency]/calls)
		}
	}
}

func (p *Planner) mixScene(door MixedDoor, urgency Urgency, tools Tools) scene {
	facts := door.Facts
	facts.Urgency = urgency
	return p.scene(Request{Facts: facts, Tools: tools})
}

// Worth compares the kit with and without each of the tools named, the most
// valuable first.
func (p *Planner) Worth(tools Tools, ids []string) []ToolWorth {
	worths := make([]ToolWorth, len(ids))
	for i, id := range ids {
		worths[i] = ToolWorth{Tool: id, Carried: tools.usable(id)}
	}
	p.eachDoor(func(door MixedDoor, urgency Urgency, weight float64) {
		now := p.model(p.mixScene(door, urgency, tools))
		cost := now.problem.Solve().Cost
		for i := range worths {
			worths[i].Minutes += weight * p.change(now, cost, door, urgency, tools, worths[i])
		}
	})
	slices.SortStableFunc(worths, func(a, b ToolWorth) int { return cmp.Compare(b.Minutes, a.Minutes) })
	return worths
}

// change is what taking a tool away costs, or adding it saves, at one door. A
// tool that no way here uses, or that no technique left out here misses, changes
// nothing and needs no sum.
func (p *Planner) change(now model, cost float64, door MixedDoor, urgency Urgency, tools Tools, tool ToolWorth) float64 {
	if tool.Carried && !now.uses(tool.Tool) {
		return 0
	}
	other := Tools(cloneMap(tools))
	if tool.Carried {
		delete(other, tool.Tool)
	} else {
		other[tool.Tool] = ""
	}
	with := p.model(p.mixScene(door, urgency, other))
	if !tool.Carried && !with.uses(tool.Tool) {
		return 0
	}
	change := with.problem.Solve().Cost - cost
	if !tool.Carried {
		change = -change
	}
	return change
}

// uses says whether a way or a preparation of this door takes the tool.
func (m *model) uses(tool string) bool {
	takes := func(w *way) bool { return slices.Contains(w.tools, tool) }
	return slices.ContainsFunc(m.ways, takes) || slices.ContainsFunc(m.preparations, takes)
}

// gentleMark is the greatest mark that still counts as leaving the door whole:
// a scuff.
const gentleMark = 1

// CannotDo names the doors of the mix that the complete kit opens without lasting
// mark and these tools do not, the most common first.
func (p *Planner) CannotDo(tools, complete Tools) []string {
	doors := slices.Clone(p.assumptions.Doors)
	slices.SortStableFunc(doors, func(a, b MixedDoor) int { return cmp.Compare(b.Share, a.Share) })
	var names []string
	for _, door := range doors {
		if p.gentle(door, complete) && !p.gentle(door, tools) {
			names = append(names, door.Name)
		}
	}
	return names
}

// gentle says whether some way opens this door with a scuff at most.
func (p *Planner) gentle(door MixedDoor, tools Tools) bool {
	m := p.model(p.mixScene(door, UrgencyRoutine, tools))
	return slices.ContainsFunc(m.ways, func(w *way) bool {
		return w.mark <= gentleMark && (w.preparation == nil || w.preparation.mark <= gentleMark)
	})
}
