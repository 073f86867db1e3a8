package department

import (
	"slices"
	"time"

	"kitbell/schedule"
)

// closest is the shortest time between two moments of an entry: what it makes
// due is carried once a tour at most.
const closest = 6 * time.Hour

func (w *walk) entry(o object) {
	e := schedule.Entry{Zone: w.dept.Zone}
	e.ID, _ = w.thing("entry", o)
	if text, v, ok := o.needText("cron"); ok {
		e.Cron = cronOf(v, text)
	}
	if v, ok := o.need("due"); ok {
		kind, _ := v.among([]string{string(schedule.CheckDue), string(schedule.DrillDue), string(schedule.Digest)})
		e.Kind = schedule.Kind(kind)
	}
	if v, ok := o.may("topic"); ok {
		e.Topic = w.card(v, w.known.Topics)
	}
	e.Units = w.entryUnits(o, e.Kind)
	w.dept.Entries = append(w.dept.Entries, e)
}

func cronOf(v value, text string) schedule.Cron {
	c, err := schedule.Parse(text)
	if err != nil {
		v.bad("cron: %v", err)
		return schedule.Cron{}
	}
	if c.Closest(time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), 50) < closest {
		v.bad("cron: %q comes round more often than every %d hours (%s); kitbell posts seldom", text, int(closest.Hours()), c.Words())
	}
	return c
}

// card reads the id of a card; known is empty when the cards are not at hand.
func (w *walk) card(v value, known []string) string {
	id, ok := v.id()
	if ok && len(known) > 0 && !slices.Contains(known, id) {
		v.bad("%s: there is no card %q%s", v.what, id, didYouMean(id, known))
	}
	return id
}

// entryUnits reads whom an entry is for: a list of units, or all that carry a
// kit.
func (w *walk) entryUnits(o object, kind schedule.Kind) []string {
	v, there := o.may("units")
	if kind == schedule.Digest {
		if there {
			v.bad("units: a digest is for the lead, not for units; leave it out")
		}
		return nil
	}
	if !there {
		o.bad("entry: the key \"units\" is missing; write a list of units, or all")
		return nil
	}
	if shape(v.node) == "a single value" {
		return w.allUnits(v)
	}
	var units []string
	for _, one := range v.list("unit") {
		id, ok := w.refer("unit", one)
		if !ok {
			continue
		}
		if _, has := w.dept.KitOf(id); !has && kind == schedule.CheckDue {
			one.bad("unit %s carries no kit that could be checked", id)
		}
		if slices.Contains(units, id) {
			one.bad("unit %s is there twice", id)
		}
		units = append(units, id)
	}
	return units
}

func (w *walk) allUnits(v value) []string {
	if t, ok := v.text(); ok && t != "all" {
		v.bad("units: write a list of units, or all, not %q", t)
	}
	var units []string
	for _, u := range w.dept.KitUnits() {
		units = append(units, u.ID)
	}
	return units
}

// techniques reads a list of technique cards.
func (w *walk) techniques(o object, key string) []string {
	v, ok := o.may(key)
	if !ok {
		return nil
	}
	var ids []string
	for _, one := range v.list("technique") {
		if id := w.card(one, w.known.Techniques); id != "" {
			ids = append(ids, id)
		}
	}
	return ids
}

// calls reads how often a year each kind of call comes.
func (w *walk) calls(o object) {
	v, ok := o.may("calls")
	if !ok {
		return
	}
	group, ok := v.object()
	if !ok {
		return
	}
	all, _ := pairs(v.node)
	for _, pair := range all {
		at := value{v.r, pair.Key, "call"}
		year, ok := group.may(pair.Key.GetToken().Value)
		if !ok || year.node != pair.Value {
			continue // said when the keys were read
		}
		id, ok1 := at.id()
		n, ok2 := year.whole(0, 1_000_000)
		if ok1 && ok2 {
			w.dept.Calls = append(w.dept.Calls, CallCount{Call: id, Year: n})
		}
	}
}

func (w *walk) budget(o object) {
	v, ok := o.may("budget")
	if !ok {
		return
	}
	g, ok := v.object("year-starts", "wishes-close", "tax", "shipping", "escalation", "lead-days", "protection")
	if !ok {
		return
	}
	b := &w.dept.Budget
	if v, ok := g.need("year-starts"); ok {
		b.YearStarts = v.yearDay()
	}
	if v, ok := g.need("wishes-close"); ok {
		b.WishesClose = v.yearDay()
	}
	for key, rate := range map[string]*float64{"tax": &b.Tax, "shipping": &b.Shipping, "escalation": &b.Escalation, "protection": &b.Protection} {
		if v, ok := g.may(key); ok {
			*rate = v.rate()
		}
	}
	if v, ok := g.may("lead-days"); ok {
		b.LeadDays, _ = v.whole(0, 999)
	}
}

// holidays reads on which days no post goes out that can wait; without the key
// there are none.
func (w *walk) holidays(o object) {
	v, ok := o.may("holidays")
	if !ok {
		return
	}
	g, ok := v.object("calendar", "observed")
	if !ok {
		return
	}
	at, ok := g.need("calendar")
	if !ok {
		return
	}
	if name, ok := at.among(schedule.HolidayCalendars()); ok {
		w.dept.Holidays, _ = schedule.NewHolidays(name, g.mayYes("observed"))
	}
}
