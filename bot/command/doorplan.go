package command

import (
	"context"
	"fmt"
	"slices"

	"kitbell/bot/department"
	"kitbell/bot/door"
	"kitbell/bot/kit"
	"kitbell/bot/training"
)

// planDoor plans the door with the tools of the speaker's kit as the queue
// knows it, and what the department has learned.
func (r *Request) planDoor(ctx context.Context) (door.Plan, error) {
	tools, err := r.tools(ctx)
	if err != nil {
		return door.Plan{}, err
	}
	doors, err := r.learnedDoors(ctx)
	if err != nil {
		return door.Plan{}, err
	}
	barred, err := r.barred(ctx)
	if err != nil {
		return door.Plan{}, err
	}
	request := door.Request{Facts: r.facts(), Tools: tools, Unsure: r.unsure, Barred: barred}
	running := r.Memory.Running
	if running != nil {
		request.Minutes = r.Now.Sub(running.Began).Minutes()
		request.Unsure = slices.Concat(running.Unsure, r.unsure)
	}
	plan, err := doors.Plan(request)
	if err != nil {
		return door.Plan{}, fmt.Errorf("plan door: %w", err)
	}
	if running != nil && running.Forced {
		plan = forced(plan)
	}
	if r.absent, err = r.wantedAndAbsent(doors, request, plan); err != nil {
		return door.Plan{}, err
	}
	return plan, r.findElsewhere(ctx, plan)
}

// wantedAndAbsent are the tools that a plan lacks and that the same door would be
// tried with first if the kit were complete.
func (r *Request) wantedAndAbsent(doors Doors, request door.Request, plan door.Plan) ([]string, error) {
	missing := missingTools(plan)
	if len(missing) == 0 {
		return nil, nil
	}
	request.Tools = r.CompleteKit(r.Department.InForce)
	complete, err := doors.Plan(request)
	if err != nil {
		return nil, fmt.Errorf("plan door with a complete kit: %w", err)
	}
	step, _ := firstAttempt(complete.Steps)
	return slices.DeleteFunc(missing, func(tool string) bool { return !slices.Contains(step.Tools, tool) }), nil
}

// forced is a plan once the officer has said: force it. What leaves the door
// whole is no longer in it.
func forced(plan door.Plan) door.Plan {
	last := -1
	for i, s := range plan.Steps {
		if s.Kind == door.Attempt {
			last = i
		}
	}
	if last >= 0 {
		plan.Steps, plan.Look, plan.ForceNow = plan.Steps[last:], nil, false
	}
	return plan
}

// tools are what the speaker's rig has at hand: its kit less what the queue
// says is gone or unfit, and what every rig carries. A speaker without a rig
// gets the complete list in force.
func (r *Request) tools(ctx context.Context) (door.Tools, error) {
	stops, err := r.stopUses(ctx)
	if err != nil {
		return nil, err
	}
	rolling, err := r.rollOuts(ctx)
	if err != nil {
		return nil, err
	}
	loans, err := r.loans(ctx)
	if err != nil {
		return nil, err
	}
	k, ok, err := r.firstKitOn(ctx, r.Who.Unit)
	if err != nil {
		return nil, err
	}
	if !ok {
		return r.toolsOf(kit.Kit{List: r.Department.InForce}, nil, stops, nil), nil
	}
	open, err := r.openOn(ctx, k.ID)
	if err != nil {
		return nil, err
	}
	tools := r.toolsOf(k, open, stops, loans)
	r.holdBack(tools, rolling, r.Who.Unit)
	return tools, nil
}

// holdBack takes out of a rig's tools what its crew has not had in hand yet. The
// crew is that of the speaker's platoon.
func (r *Request) holdBack(tools door.Tools, rolling []training.RollOut, unit string) {
	for item, why := range tools {
		if why == "" && training.Held(rolling, item, training.Crew{Unit: unit, Platoon: r.Who.Platoon}) {
			tools[item] = fmt.Sprintf("The %s is not rolled out to this crew yet.", r.itemName(item))
		}
	}
}

// toolsOf is what a kit can be used for with its open lines, what is lent and
// borrowed, and what is under stop-use.
func (r *Request) toolsOf(k kit.Kit, open []kit.Line, stops []kit.StopUse, loans []kit.Loan) door.Tools {
	tools := r.CompleteKit(k.List)
	list, _ := r.Department.ListOf(k)
	for _, l := range open {
		if !blocks(list, l) {
			continue
		}
		tools[l.Item] = fmt.Sprintf("The %s is reported %s (#%d).", r.itemName(l.Item), l.Condition, l.Number)
	}
	for _, l := range loans {
		on, _ := list.Line(l.Item)
		switch away := kit.LentOut(loans, k.ID, l.Item); {
		case away < 0:
			tools[l.Item] = "" // a borrowed one is at hand, whatever became of its own
		case away > 0 && away >= on.Qty:
			tools[l.Item] = fmt.Sprintf("The %s is lent out.", r.itemName(l.Item))
		}
	}
	for item := range tools {
		on, _ := list.Line(item)
		if why := r.underStopUse(stops, k.ID, item, on.Qty); why != "" {
			tools[item] = why
		}
	}
	return tools
}

// CompleteKit is a complete kit of a list version, with what rides on every rig.
func (d *Desk) CompleteKit(version int) door.Tools {
	tools := door.NewTools(d.Department.OnEvery...)
	list, _ := d.Department.List(version)
	for _, l := range list.Lines {
		tools[l.Item] = ""
	}
	return tools
}

// unfit says whether an item in this condition is no help at a door.
func unfit(c kit.Condition) bool {
	switch c {
	case kit.Missing, kit.Damaged, kit.Expired, kit.Wrong:
		return true
	}
	return false
}

// findElsewhere finds, for each tool that a plan lacks, the nearest rig whose
// kit has it: at the same station first, then in the department's order.
func (r *Request) findElsewhere(ctx context.Context, plan door.Plan) error {
	missing := missingTools(plan)
	if len(missing) == 0 {
		return nil
	}
	open, err := r.Books.OpenLines(ctx, r.Department.Slug)
	if err != nil {
		return fmt.Errorf("read open lines: %w", err)
	}
	stops, err := r.stopUses(ctx)
	if err != nil {
		return err
	}
	rolling, err := r.rollOuts(ctx)
	if err != nil {
		return err
	}
	loans, err := r.loans(ctx)
	if err != nil {
		return err
	}
	r.elsewhere = make(map[string]string)
	fleet, err := r.fleet(ctx)
	if err != nil {
		return err
	}
	for _, u := range r.nearestUnits(fleet) {
		k := fleet.On(u.ID)[0]
		tools := r.toolsOf(k, slices.DeleteFunc(slices.Clone(open), func(l kit.Line) bool { return l.Kit != k.ID }), stops, loans)
		r.holdBack(tools, rolling, u.ID)
		for _, tool := range missing {
			if why, carried := tools[tool]; carried && why == "" && r.elsewhere[tool] == "" {
				r.elsewhere[tool] = u.Name
			}
		}
	}
	return nil
}

// nearestUnits are the other rigs with a kit, those of the speaker's station
// first.
func (r *Request) nearestUnits(fleet kit.Fleet) []department.Unit {
	station := r.station()
	units := slices.DeleteFunc(r.unitsWithKit(fleet), func(u department.Unit) bool { return u.ID == r.Who.Unit })
	slices.SortStableFunc(units, func(a, b department.Unit) int {
		switch {
		case a.Station == station && b.Station != station:
			return -1
		case a.Station != station && b.Station == station:
			return 1
		}
		return 0
	})
	return units
}

// missingTools are the tools that would bring a technique back.
func missingTools(plan door.Plan) []string {
	var tools []string
	for _, out := range plan.RuledOut {
		for _, tool := range out.Missing {
			if !slices.Contains(tools, tool) {
				tools = append(tools, tool)
			}
		}
	}
	return tools
}
