package command

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/kit"
	"kitbell/schedule"
)

// What makes a check due besides an entry of the file, as the due row's topic.
const (
	againTopic    = "again"     // the platoon before did not answer; a number follows: for which time
	afterUseTopic = "after-use" // the kit was used
)

// mostAgain is how many platoons after the first get a check that nobody
// answered. After them it stands in the digest as unknown.
const mostAgain = 2

// ready leaves of what waits for a rig what its post may carry now: what has
// fallen due, for the platoon that is on. A shared door waits for a tour without
// another drill. comes is when the rest may come.
func (p page) ready(waiting []schedule.Due) (dues []schedule.Due, comes time.Time) {
	drilled := slices.ContainsFunc(waiting, func(d schedule.Due) bool {
		return d.Kind == schedule.DrillDue && !ofSharedDoor(d) && !d.At.After(p.Now) && (d.Platoon == "" || d.Platoon == p.tour.Platoon)
	})
	for _, d := range waiting {
		switch {
		case d.At.After(p.Now):
			comes = sooner(comes, d.At)
		case d.Platoon != "" && d.Platoon != p.tour.Platoon:
			comes = sooner(comes, p.tour.End)
		case ofSharedDoor(d) && drilled:
			comes = sooner(comes, p.tour.End)
		default:
			drilled = drilled || ofSharedDoor(d)
			dues = append(dues, d)
		}
	}
	return dues, comes
}

// ofSharedDoor says whether a drill is due because the lead has shared a door.
func ofSharedDoor(d schedule.Due) bool {
	word, _ := press(d.Topic)
	return d.Kind == schedule.DrillDue && word == sharedTopic
}

// followKits puts a check that fell due for a rig to the rig that carries its
// kit now. A kit that is in the shop or away is with nobody who could check it.
func (b *Bundler) followKits(ctx context.Context, desk *Desk, changes []bot.Change, now time.Time) ([]bot.Change, error) {
	if len(changes) == 0 {
		return nil, nil
	}
	fleet, err := b.page(desk, "", now).fleet(ctx)
	if err != nil {
		return nil, err
	}
	for i, c := range changes {
		fell, ok := c.(schedule.Fell)
		if !ok || fell.Due.Kind != schedule.CheckDue {
			continue
		}
		own, has := desk.Department.KitOf(fell.Due.Unit)
		if k, known := fleet.Kit(own.ID); has && known && k.Place.Kind == kit.OnUnit {
			fell.Due.Unit = k.Place.At
			changes[i] = fell
		}
	}
	return changes, nil
}

// stillDue leaves out what has been settled since it fell due.
func (p page) stillDue(ctx context.Context, dues []schedule.Due) ([]schedule.Due, error) {
	var still []schedule.Due
	for _, d := range dues {
		settled, err := p.settled(ctx, d)
		if err != nil {
			return nil, err
		}
		if !settled {
			still = append(still, d)
		}
	}
	return still, nil
}

// settled says whether a due thing has nothing more to say: a check that comes
// again, or that a use asks for, when the kit was checked since; word of a line
// that was opened again meanwhile; a drill when there is none.
func (p page) settled(ctx context.Context, d schedule.Due) (bool, error) {
	what, _ := press(d.Topic)
	switch {
	case d.Kind == schedule.NewsDue && what == loanTopic:
		_, out, err := p.loanOf(ctx, d)
		return !out, err
	case d.Kind == schedule.NewsDue && what == stopTopic:
		_, key := press(d.Topic)
		_, places, err := p.stopLeft(ctx, key)
		return len(places) == 0, err
	case d.Kind == schedule.NewsDue && (what == kitTopic || what == listTopic):
		fleet, err := p.fleet(ctx)
		_, id := press(d.Topic)
		k, known := fleet.Kit(id)
		return !known || what == kitTopic && k.Place.Kind == kit.OnUnit || what == listTopic && k.List == p.Department.InForce, err
	case d.Kind == schedule.NewsDue && what == wishTopic:
		all, err := p.allWishes(ctx)
		_, number := press(d.Topic)
		w, gone := wishNumbered(all, number)
		return gone != nil || w.Answer == nil, err
	case d.Kind == schedule.NewsDue && what == fetchTopic:
		l, err := p.lineOf(ctx, d)
		return !l.State.Open() || l.Where != kit.OnScene || l.State == kit.InHand || l.State == kit.Dropped, err
	case d.Kind == schedule.NewsDue:
		l, err := p.lineOf(ctx, d)
		return l.State.Open() && l.State != kit.Dropped && l.Expected.IsZero(), err
	case d.Kind == schedule.DrillDue: // none is left to give, or the shared door was taken back
		_, found, err := p.drillDue(ctx, d.Topic)
		return !found, err
	case d.Kind == schedule.CheckDue && what == againTopic:
		return p.checkedSince(ctx, p.Department.Rotation.TourAt(d.At.Add(-time.Minute)).Start)
	case d.Kind == schedule.CheckDue && what == afterUseTopic:
		return p.checkedSince(ctx, d.At)
	case d.Kind == schedule.CheckDue:
		return p.checkedSince(ctx, p.tour.Start)
	}
	return false, nil
}

// checkedSince says whether somebody has answered for the rig's kit since a
// moment.
func (p page) checkedSince(ctx context.Context, at time.Time) (bool, error) {
	k, ok, err := p.firstKitOn(ctx, p.unit)
	if err != nil || !ok {
		return false, err
	}
	c, err := p.checked(ctx, k, p.unit)
	return slices.ContainsFunc(c.past, func(past kit.Check) bool { return past.Answered() && past.At.After(at) }), err
}

// putOff takes out of what is due the checks of a kit whose crew has said in this
// tour that there is none today: they wait for the next one.
func (p page) putOff(ctx context.Context, dues []schedule.Due) (now, later []schedule.Due, err error) {
	k, ok, err := p.firstKitOn(ctx, p.unit)
	if err != nil || !ok {
		return dues, nil, err
	}
	c, err := p.checked(ctx, k, p.unit)
	if err != nil {
		return nil, nil, err
	}
	said := slices.ContainsFunc(c.past, func(past kit.Check) bool { return past.Result == kit.NotToday && p.tour.Holds(past.At) })
	for _, d := range dues {
		if said && d.Kind == schedule.CheckDue {
			later = append(later, d)
			continue
		}
		now = append(now, d)
	}
	return now, later, nil
}

// askAgain lets what this post asks for come again in the next tour, where it is
// left out if somebody has answered: a check for a few tours, a stop-use until
// every place has answered.
func (p page) askAgain(dues []schedule.Due) []bot.Change {
	var changes []bot.Change
	checked := false
	for _, d := range dues {
		what, _ := press(d.Topic)
		wall, times, _ := strings.Cut(d.Wall, "+")
		again, _ := strconv.Atoi(times)
		switch {
		case d.Kind == schedule.CheckDue && !checked:
			checked = true
			if again >= mostAgain {
				continue
			}
			d.Topic = fmt.Sprintf("%s:%d", againTopic, again+1)
		case d.Kind == schedule.NewsDue && what == stopTopic:
		default:
			continue
		}
		d.ID, d.Late, d.Missed, d.At, d.Wall = 0, false, 0, p.tour.End, fmt.Sprintf("%s+%d", wall, again+1)
		changes = append(changes, schedule.Fell{Due: d})
	}
	return changes
}

// whyCheck says what makes a check due besides its day.
func (p page) whyCheck(checks []schedule.Due) string {
	why := ""
	for _, d := range checks {
		switch what, _ := press(d.Topic); {
		case what == againTopic:
			why = ". Nobody has answered for it yet, so it counts as unknown"
		case what == afterUseTopic && why == "":
			why = fmt.Sprintf(", used %s: within a day of a use is common practice", p.day(d.At))
		case d.Late && why == "":
			why = p.late(d)
		}
	}
	return why
}
