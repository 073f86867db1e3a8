package demo

import (
	"cmp"
	"math/rand/v2"
	"slices"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
)

// step is one change of the past at its instant.
type step struct {
	at     time.Time
	change bot.Change
}

// past collects what happened before now.
type past struct {
	d      *department.Department
	now    time.Time
	random *rand.Rand
	steps  []step
}

// History makes up the twelve months before now: queue lines, of which five are
// still open, and the journal's checks, uses, drills, wishes and questions. The
// turns are in the order of time, one for about a month, so that a store can
// write them in a few transactions. The same now gives the same past.
func History(d *department.Department, now time.Time) []bot.Turn {
	p := &past{d: d, now: now, random: rand.New(rand.NewPCG(Seed, 12))}
	p.lines()
	p.checks()
	p.uses()
	p.drills()
	p.wishes()
	slices.SortStableFunc(p.steps, func(a, b step) int { return a.at.Compare(b.at) })
	return p.turns()
}

// turns puts the steps of each thirty days into one turn.
func (p *past) turns() []bot.Turn {
	var turns []bot.Turn
	month := -1
	for _, s := range p.steps {
		if m := int(s.at.Sub(p.now.AddDate(-1, 0, -7)) / (30 * 24 * time.Hour)); m != month {
			month = m
			turns = append(turns, bot.Turn{Department: p.d.Slug, Actor: "history"})
		}
		last := &turns[len(turns)-1]
		last.At = s.at
		last.Changes = append(last.Changes, s.change)
	}
	return turns
}

func (p *past) add(at time.Time, c bot.Change) { p.steps = append(p.steps, step{at, c}) }

// ago is a local time of day some days back.
func (p *past) ago(days, hour, minute int) time.Time {
	n := p.now.In(p.d.Zone)
	return time.Date(n.Year(), n.Month(), n.Day()-days, hour, minute, 0, 0, p.d.Zone)
}

// onDuty is somebody who rode a unit at an instant: one of its crew's seats.
func (p *past) onDuty(unit string, at time.Time) department.Member {
	platoon := p.d.Rotation.PlatoonAt(at)
	var crew []department.Member
	for _, m := range p.d.Members {
		if m.Unit == unit && m.Platoon == platoon && m.Status == department.Working {
			crew = append(crew, m)
		}
	}
	return crew[p.random.IntN(len(crew))]
}

// trouble is one report of the past. state is what became of it by now.
type trouble struct {
	daysAgo   int
	unit      string
	item      string
	condition kit.Condition
	count     int
	state     kit.State
	lasted    int // days until it was closed
}

// open are the lines that still wait. The demo's first suggestion, a small hook
// gone from Engine 4, is not among them.
func open() []trouble {
	return []trouble{
		{16, "engine-5", "door-strap", kit.Worn, 1, kit.Taken, 0},
		{9, "engine-2", "air-duster", kit.Missing, 1, kit.Ordered, 0},
		{5, "tower-6", "latch-film", kit.Damaged, 1, kit.Reported, 0},
		{3, "ladder-1", "wood-wedge", kit.Missing, 2, kit.Taken, 0},
		{1, "engine-7", "notched-card", kit.Low, 1, kit.Reported, 0},
	}
}

// closed are the lines that were settled, spread over the year: mostly what is
// used up in normal work, now and then a worn or lost tool.
func (p *past) closed() []trouble {
	var all []trouble
	for i := range 26 {
		k := p.d.Kits[p.random.IntN(len(p.d.KitUnits()))]
		list, _ := p.d.ListOf(k)
		line := list.Lines[p.random.IntN(len(list.Lines))]
		t := trouble{daysAgo: 360 - 13*i - p.random.IntN(10), unit: k.Place.At, item: line.Item,
			condition: kit.Missing, count: 1, state: kit.BackInKit, lasted: 2 + p.random.IntN(18)}
		if line.Consumable {
			t.count = 1 + p.random.IntN(line.Qty)
		} else if i%3 > 0 {
			t.condition = []kit.Condition{kit.Worn, kit.Damaged, kit.Dirty}[p.random.IntN(3)]
		}
		all = append(all, t)
	}
	return all
}

func (p *past) lines() {
	all := append(p.closed(), open()...)
	slices.SortStableFunc(all, func(a, b trouble) int { return cmp.Compare(b.daysAgo, a.daysAgo) })
	for i, t := range all {
		p.line(i+1, t)
	}
}

// line is one report with what became of it.
func (p *past) line(number int, t trouble) {
	at := p.ago(t.daysAgo, 9+p.random.IntN(9), p.random.IntN(60))
	by := p.onDuty(t.unit, at)
	k, _ := p.d.KitOf(t.unit)
	c := kit.File(nil, kit.Report{Kit: k.ID, Unit: t.unit, Item: t.item, Condition: t.condition, Count: t.count,
		By: by.ID, Platoon: by.Platoon, At: at}, number)
	p.add(at, c)
	if t.state == kit.Reported {
		return
	}
	at = at.Add(20 * time.Hour)
	c = p.move(c.New, kit.Taken, at)
	if t.state == kit.Taken {
		return
	}
	p.move(c.New, t.state, at.AddDate(0, 0, max(t.lasted-1, 1)))
}

func (p *past) move(line kit.Line, to kit.State, at time.Time) kit.Change {
	c, _ := kit.Close([]kit.Line{line}, line.Kit, line.Item, to, "perrin-marsh", at)
	p.add(at, c)
	return c
}

// checks are the answers to the weekly check of the last eight weeks. Now and
// then a crew did not get to it.
func (p *past) checks() {
	for days := 1; days <= 56; days++ {
		if p.ago(days, 9, 0).Weekday() != time.Monday {
			continue
		}
		for _, u := range p.d.KitUnits() {
			at := p.ago(days, 9, 5+p.random.IntN(50))
			if p.random.IntN(8) == 0 {
				continue
			}
			p.check(u.ID, at)
		}
	}
}

func (p *past) check(unit string, at time.Time) {
	k, _ := p.d.KitOf(unit)
	by := p.onDuty(unit, at)
	result := kit.AllThere
	if p.random.IntN(20) == 0 {
		result = kit.NotToday
	}
	body := kit.Check{Kit: k.ID, Unit: unit, Platoon: by.Platoon, By: by.ID, At: at, Result: result}
	p.journal("check", unit, by, at, body)
}

func (p *past) journal(kind, subject string, by department.Member, at time.Time, body any) {
	p.add(at, bot.Written{Entry: bot.NewEntry(kind, subject, by.ID, at, body)})
}
