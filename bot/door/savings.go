package door

// Entry is what an average entry at a door comes to by the plan of least cost:
// minutes at the door, and the chance that it leaves a lasting mark, a scar or
// worse (mark 2 to 4). Both are the model's, and rest on its assumptions.
type Entry struct {
	Minutes float64
	Marks   float64
}

// Saving is what having a tool saves on an average entry at one kind of door of
// the mix, against a kit that is the same but for it.
type Saving struct {
	Door  string  // name of the kind
	Share float64 // of the calls on which a kit counts; those of a tool add up to 1
	Entry
}

// Savings gives for each of the tools named what having it saves, door by door, in
// a kit that has the others of tools. A tool that no way takes saves nothing. At
// life or fire it is the irons whatever the kit holds, so those calls are not in it.
func (p *Planner) Savings(tools Tools, ids []string) map[string][]Saving {
	with := cloneMap(tools)
	for _, id := range ids {
		if _, known := with[id]; !known {
			with[id] = ""
		}
	}
	total := 0.0
	p.eachDoor(with, func(_ Request, weight float64) { total += weight })
	savings := make(map[string][]Saving, len(ids))
	at := 0
	p.eachDoor(with, func(door Request, weight float64) {
		name := p.assumptions.Doors[at/urgencies].Name
		at++
		now := p.model(p.scene(door))
		whole := now.entry()
		for _, id := range ids {
			s := Saving{Door: name, Share: weight / total}
			if now.uses(id) {
				s.Entry = p.without(door, id).less(whole)
			}
			savings[id] = append(savings[id], s)
		}
	})
	return savings
}

// urgencies is how many entries eachDoor makes of a door: routine and urgent.
const urgencies = 2

// without is an entry at a door when a tool is not there.
func (p *Planner) without(door Request, tool string) Entry {
	door.Tools = cloneMap(door.Tools)
	delete(door.Tools, tool)
	m := p.model(p.scene(door))
	return m.entry()
}

func (e Entry) less(o Entry) Entry { return Entry{e.Minutes - o.Minutes, e.Marks - o.Marks} }

// entry follows the plan of least cost: each step is paid with the chance that all
// before it failed, and the first step that leaves a lasting mark leaves it with
// the chance that it is come to.
func (m *model) entry() Entry {
	belief := append([]float64(nil), m.problem.Weights...)
	total := sum(belief)
	force := m.planner.force
	if total <= 0 {
		return Entry{force.Minutes, lasting(force.Mark)}
	}
	var e Entry
	paid := map[*way]bool{}
	pay := func(minutes float64, mark int) {
		reach := sum(belief) / total
		e.Minutes += reach * minutes
		if e.Marks == 0 {
			e.Marks = reach * lasting(mark)
		}
	}
	for _, i := range m.problem.Solve().Order {
		w := m.ways[i]
		if before := w.preparation; before != nil && !paid[before] {
			paid[before] = true
			pay(before.minutes, before.mark)
		}
		pay(w.minutes, w.mark)
		for state, chance := range m.problem.Attempts[i].Chance {
			belief[state] *= 1 - chance
		}
	}
	pay(force.Minutes, force.Mark)
	return e
}

// lasting is 1 for a mark that stays.
func lasting(mark int) float64 {
	if mark > gentleMark {
		return 1
	}
	return 0
}

// EachDoor calls yield for each entry of the mix on which a kit counts: its share of
// them, which of the tools named some way there takes, and what it costs with some
// tools in minutes, the marks' worth included. takes and cost may be kept.
func (p *Planner) EachDoor(ids []string, yield func(share float64, takes []string, cost func(Tools) float64)) {
	all := NewTools(ids...)
	total := 0.0
	p.eachDoor(all, func(_ Request, weight float64) { total += weight })
	p.eachDoor(all, func(door Request, weight float64) {
		m := p.model(p.scene(door))
		var takes []string
		for _, id := range ids {
			if m.uses(id) {
				takes = append(takes, id)
			}
		}
		yield(weight/total, takes, func(tools Tools) float64 {
			door.Tools = tools
			return p.leastCost(door)
		})
	})
}
