package schedule

import (
	"slices"
	"time"
)

// Rotation is a department's repeating pattern of platoons, checked: at every
// instant exactly one of them is on duty. The zero Rotation has no platoons,
// and its tours are the zero Tour. Make one with NewRotation.
type Rotation struct {
	plan   Plan  // spelled out
	owners []int // platoon of each slot of the cycle
	runs   bool  // slots of one platoon in a row are one tour
}

// Tour is one platoon's unbroken time on duty. Start and End are in the
// rotation's zone; End is the instant of the change, when the next platoon has
// it. Two days on are one tour.
type Tour struct {
	Platoon    string
	Start, End time.Time
}

// Key names the tour: platoon and local start, such as B 2026-11-23T07:30.
func (t Tour) Key() string { return t.Platoon + " " + t.Start.Format(wallLayout) }

// Holds says whether an instant lies in the tour.
func (t Tour) Holds(at time.Time) bool { return !at.Before(t.Start) && at.Before(t.End) }

// NewRotation checks a plan. The error says in plain words what is wrong; a
// *CoverError names the first day that has no platoon or several.
func NewRotation(p Plan) (Rotation, error) {
	p, err := p.spell()
	if err != nil {
		return Rotation{}, err
	}
	if err := p.check(); err != nil {
		return Rotation{}, err
	}
	owners, err := p.cover()
	if err != nil {
		return Rotation{}, err
	}
	p.Names, p.Offsets, p.Changes = slices.Clone(p.Names), slices.Clone(p.Offsets), slices.Clone(p.Changes)
	p.Start = day(p.Start)
	alone := !slices.ContainsFunc(owners, func(k int) bool { return k != owners[0] })
	return Rotation{plan: p, owners: owners, runs: !alone}, nil
}

// Platoons lists the platoons in the department's order.
func (r Rotation) Platoons() []string { return slices.Clone(r.plan.Names) }

// Has says whether a platoon of that name exists.
func (r Rotation) Has(platoon string) bool { return slices.Contains(r.plan.Names, platoon) }

// Zone is the zone of the times of change; nil for the zero Rotation.
func (r Rotation) Zone() *time.Location { return r.plan.Zone }

// PlatoonAt is the platoon on duty at an instant.
func (r Rotation) PlatoonAt(at time.Time) string { return r.TourAt(at).Platoon }

// TourAt is the tour that an instant lies in. At the instant of a change it is
// the new one.
func (r Rotation) TourAt(at time.Time) Tour {
	if len(r.owners) == 0 {
		return Tour{}
	}
	return r.tour(r.slotAt(at))
}

// Tours lists the tours, of all platoons, that touch the time from from up to
// to.
func (r Rotation) Tours(from, to time.Time) []Tour {
	var tours []Tour
	if len(r.owners) == 0 {
		return nil
	}
	for t := r.TourAt(from); t.Start.Before(to); t = r.TourAt(t.End) {
		tours = append(tours, t)
	}
	return tours
}

// NextTours lists a platoon's next n tours, the one that from lies in included.
// An unknown platoon has none.
func (r Rotation) NextTours(platoon string, from time.Time, n int) []Tour {
	var tours []Tour
	if !r.Has(platoon) {
		return nil
	}
	for t := r.TourAt(from); len(tours) < n; t = r.TourAt(t.End) {
		if t.Platoon == platoon {
			tours = append(tours, t)
		}
	}
	return tours
}

// slotAt numbers the slot that an instant lies in, counted from the plan's
// start; slots before it are negative.
func (r Rotation) slotAt(at time.Time) int {
	perDay := len(r.plan.Changes)
	today := day(wallOf(at, r.plan.Zone))
	slot := int(today.Sub(r.plan.Start)/(24*time.Hour)) * perDay
	// A change that falls into a gap of the clock comes later than it says, so
	// the start is looked at, not the wall.
	slot += perDay - 1
	for r.start(slot).After(at) {
		slot--
	}
	return slot
}

// start is the instant at which a slot begins.
func (r Rotation) start(slot int) time.Time {
	perDay := len(r.plan.Changes)
	part := mod(slot, perDay)
	date := r.plan.Start.AddDate(0, 0, (slot-part)/perDay)
	return instant(date.Add(r.plan.Changes[part]), r.plan.Zone)
}

// tour is the tour that a slot belongs to: all slots of its platoon in a row.
func (r Rotation) tour(slot int) Tour {
	owner := r.owner(slot)
	first, last := slot, slot
	for r.runs && r.owner(first-1) == owner {
		first--
	}
	for r.runs && r.owner(last+1) == owner {
		last++
	}
	return Tour{Platoon: r.plan.Names[owner], Start: r.start(first), End: r.start(last + 1)}
}

func (r Rotation) owner(slot int) int { return r.owners[mod(slot, len(r.owners))] }
