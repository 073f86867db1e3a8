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

// SkillWorth is what one technique means for a crew, averaged over the mix of
// doors: what an average entry costs more when nobody can do it, in minutes.
type SkillWorth struct {
	Technique string
	Minutes   float64
}

// Cost is the expected cost of an average entry with these tools, in minutes,
// the marks' worth included.
func (p *Planner) Cost(tools Tools) float64 {
	total := 0.0
	p.eachDoor(tools, func(door Request, weight float64) {
		total += weight * p.leastCost(door)
	})
	return total
}

func (p *Planner) leastCost(door Request) float64 {
	m := p.model(p.scene(door))
	return m.problem.Solve().Cost
}

// eachDoor runs through the mix, weights adding up to the share of calls on
// which the kit counts: at life or fire it is the irons whatever the kit holds.
func (p *Planner) eachDoor(tools Tools, yield func(door Request, weight float64)) {
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
		for _, urgency := range []Urgency{UrgencyRoutine, UrgencyUrgent} {
			request := Request{Facts: door.Facts, Tools: tools}
			request.Facts.Urgency = urgency
			yield(request, door.Share/doors*p.assumptions.Calls[urgency]/calls)
		}
	}
}

// Worth compares the kit with and without each of the tools named, the most
// valuable first.
func (p *Planner) Worth(tools Tools, ids []string) []ToolWorth {
	worths := make([]ToolWorth, len(ids))
	for i, id := range ids {
		worths[i] = ToolWorth{Tool: id, Carried: tools.usable(id)}
	}
	p.eachDoor(tools, func(door Request, weight float64) {
		now := p.model(p.scene(door))
		cost := now.problem.Solve().Cost
		for i := range worths {
			worths[i].Minutes += weight * p.change(now, cost, door, worths[i])
		}
	})
	slices.SortStableFunc(worths, func(a, b ToolWorth) int { return cmp.Compare(b.Minutes, a.Minutes) })
	return worths
}

// change is what taking a tool away costs, or adding it saves, at one door. A
// tool that no way here would take changes nothing and needs no sum.
func (p *Planner) change(now model, cost float64, door Request, tool ToolWorth) float64 {
	if tool.Carried && !now.uses(tool.Tool) {
		return 0
	}
	door.Tools = cloneMap(door.Tools)
	if tool.Carried {
		delete(door.Tools, tool.Tool)
		return p.leastCost(door) - cost
	}
	door.Tools[tool.Tool] = ""
	with := p.model(p.scene(door))
	if !with.uses(tool.Tool) {
		return 0
	}
	return cost - with.problem.Solve().Cost
}

// SkillWorths compares a crew with and without each of the techniques named, the
// most valuable first.
func (p *Planner) SkillWorths(tools Tools, ids []string) []SkillWorth {
	worths := make([]SkillWorth, len(ids))
	p.eachDoor(tools, func(door Request, weight float64) {
		cost := p.leastCost(door)
		for i, id := range ids {
			door.Barred = map[string]string{id: "Not trained."}
			worths[i].Technique = id
			worths[i].Minutes += weight * (p.leastCost(door) - cost)
		}
	})
	slices.SortStableFunc(worths, func(a, b SkillWorth) int { return cmp.Compare(b.Minutes, a.Minutes) })
	return worths
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
	m := p.model(p.scene(Request{Facts: door.Facts, Tools: tools}))
	return slices.ContainsFunc(m.ways, func(w *way) bool {
		return w.mark <= gentleMark && (w.preparation == nil || w.preparation.mark <= gentleMark)
	})
}
