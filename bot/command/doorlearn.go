package command

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"sync"

	"kitbell/bot"
	"kitbell/bot/door"
	"kitbell/bot/understand"
)

// Doors plans doors for one department; in memory, any goroutine.
type Doors interface {
	Worths
	// Plan orders what a crew can do at a door. The error names a fact whose
	// value is none.
	Plan(request door.Request) (door.Plan, error)
	// CannotDo names the doors that the complete kit opens without lasting
	// mark and these tools do not.
	CannotDo(tools, complete door.Tools) []string
	// Learned is the same with a department's own records counted in.
	Learned(records []door.Record) (Doors, error)
}

// Worths says what having or knowing something is worth over the mix of doors, the
// most valuable first; in memory, any goroutine.
type Worths interface {
	// Worth says what each of the tools named means for a kit, in minutes of an
	// average entry.
	Worth(tools door.Tools, ids []string) []door.ToolWorth
	// Skills says what each of the techniques named means for a crew, likewise.
	Skills(tools door.Tools, ids []string) []door.SkillWorth
	// Savings says what each of the tools named saves, door by door.
	Savings(tools door.Tools, ids []string) map[string][]door.Saving
	// EachDoor calls yield for each entry of the mix, with its share, those of the
	// tools named that some way there takes, and what it costs with some tools.
	EachDoor(ids []string, yield func(share float64, takes []string, cost func(door.Tools) float64))
}

// mostPlans is how many plans are remembered.
const mostPlans = 256

// Planner is a door.Planner that remembers its plans: a door of which little is
// known takes a tenth of a second to plan, and the same few are asked for over
// and over. It implements Doors.
type Planner struct {
	planner *door.Planner

	mu     sync.Mutex
	plans  map[string]door.Plan
	skills map[string][]door.SkillWorth
}

// NewPlanner makes a Planner of one that knows only the assumptions.
func NewPlanner(planner *door.Planner) *Planner {
	return &Planner{planner: planner, plans: make(map[string]door.Plan), skills: make(map[string][]door.SkillWorth)}
}

// Plan plans a door, or remembers. The minutes at the door decide only whether
// the officer is asked, so they are cut to "past the limit or not".
func (p *Planner) Plan(request door.Request) (door.Plan, error) {
	limit := p.planner.Assumptions().LimitMinutes
	if request.Minutes < limit {
		limit = 0
	}
	request.Minutes = limit
	key, err := json.Marshal(request)
	if err != nil {
		return door.Plan{}, fmt.Errorf("name door: %w", err)
	}
	p.mu.Lock()
	plan, ok := p.plans[string(key)]
	p.mu.Unlock()
	if ok {
		return plan, nil
	}
	if plan, err = p.planner.Plan(request); err != nil {
		return plan, err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if len(p.plans) >= mostPlans {
		clear(p.plans)
	}
	p.plans[string(key)] = plan
	return plan, nil
}

// CannotDo names the doors that a complete kit opens and these tools do not.
func (p *Planner) CannotDo(tools, complete door.Tools) []string {
	return p.planner.CannotDo(tools, complete)
}

// Worth says what tools mean for a kit.
func (p *Planner) Worth(tools door.Tools, ids []string) []door.ToolWorth {
	return p.planner.Worth(tools, ids)
}

// Savings says what tools save, door by door.
func (p *Planner) Savings(tools door.Tools, ids []string) map[string][]door.Saving {
	return p.planner.Savings(tools, ids)
}

// EachDoor runs through the mix of doors.
func (p *Planner) EachDoor(ids []string, yield func(share float64, takes []string, cost func(door.Tools) float64)) {
	p.planner.EachDoor(ids, yield)
}

// Skills says what techniques mean for a crew, or remembers: that takes a tenth of
// a second, and is asked for every crew of a morning.
func (p *Planner) Skills(tools door.Tools, ids []string) []door.SkillWorth {
	key := fmt.Sprint(ids, tools) // a map is printed in the order of its keys
	p.mu.Lock()
	worths, ok := p.skills[key]
	p.mu.Unlock()
	if ok {
		return worths
	}
	worths = p.planner.SkillWorths(tools, ids)
	p.mu.Lock()
	defer p.mu.Unlock()
	if len(p.skills) >= mostPlans {
		clear(p.skills)
	}
	p.skills[key] = worths
	return worths
}

// Learned gives the planner with records counted in.
func (p *Planner) Learned(records []door.Record) (Doors, error) {
	learned, err := p.planner.Learn(records)
	if err != nil {
		return nil, fmt.Errorf("learn from records: %w", err)
	}
	return NewPlanner(learned), nil
}

// learnedDoors are the department's doors with its own records of use, folded
// from scratch whenever a record comes or goes: what is withdrawn is as if it
// had never been.
func (r *Request) learnedDoors(ctx context.Context) (Doors, error) {
	return fold(ctx, r, useKind, func(uses []bot.Entry) (Doors, error) {
		if len(uses) == 0 {
			return r.Desk.Doors, nil
		}
		return r.Desk.Doors.Learned(r.doorRecords(uses))
	})
}

// doorRecords reads uses as what they say about techniques. Entries that say
// nothing of one that is still in the cards are passed over.
func (d *Desk) doorRecords(entries []bot.Entry) []door.Record {
	var records []door.Record
	for _, e := range entries {
		u, err := decode[use](e)
		if err != nil || u.Practice || u.Facts.Validate() != nil {
			continue
		}
		for _, record := range u.records() {
			technique, _, _ := strings.Cut(record.Way, "/")
			if card, ok := d.Cards.Card(technique); ok && len(card.Plan) > 0 {
				record.ID = e.ID
				records = append(records, record)
			}
		}
	}
	return records
}

// records are the attempts that a use tells of: those that failed, in their
// order, and then the one it is about.
func (u use) records() []door.Record {
	way := u.way()
	failed := slices.DeleteFunc(slices.Clone(u.Facts.Failed), func(w string) bool { return w == way })
	var records []door.Record
	for i, w := range failed {
		facts := u.Facts.Facts
		facts.Failed = failed[:i]
		records = append(records, door.Record{Way: w, Facts: facts})
	}
	if way == "" || u.Outcome == "" {
		return records
	}
	facts := u.Facts.Facts
	facts.Failed = failed
	return append(records, door.Record{Way: way, Facts: facts, Opened: u.Outcome == understand.Opened})
}
