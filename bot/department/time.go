package department

import (
	"regexp"
	"slices"
	"strings"
	"time"

	"kitbell/schedule"
)

var (
	currencyShape = regexp.MustCompile(`^[A-Z]{3}$`)
	spanSplit     = regexp.MustCompile(` ?[-–] ?`)
)

func (w *walk) currency(v value) {
	t, ok := v.text()
	if ok && !currencyShape.MatchString(t) {
		v.bad("currency: %q is no code; write three capitals, such as USD", t)
		return
	}
	w.dept.Currency = t
}

func (w *walk) zone(v value) {
	t, ok := v.text()
	if !ok {
		return
	}
	z, err := time.LoadLocation(t)
	if err != nil || t == "Local" {
		v.bad("zone: there is no time zone %q; write its IANA name, such as America/New_York", t)
		return
	}
	w.dept.Zone = z
}

// timeOfDay reads 07:30.
func (v value) timeOfDay() (d time.Duration, ok bool) {
	t, ok := v.text()
	if !ok {
		return 0, false
	}
	if d, ok = timeOfDay(t); !ok {
		v.bad("%s: %q is no time of day; write 07:30, from 00:00 to 23:59", v.what, t)
	}
	return d, ok
}

func timeOfDay(text string) (time.Duration, bool) {
	t, err := time.Parse("15:04", text)
	return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute, err == nil
}

// span reads 21:00-07:00.
func (v value) span() (s schedule.Span, ok bool) {
	t, ok := v.text()
	if !ok {
		return s, false
	}
	ends := spanSplit.Split(t, -1)
	if len(ends) == 2 {
		from, ok1 := timeOfDay(ends[0])
		to, ok2 := timeOfDay(ends[1])
		if ok1 && ok2 && from != to {
			return schedule.Span{From: from, To: to}, true
		}
	}
	v.bad("%s: %q are no hours; write 21:00-07:00", v.what, t)
	return s, false
}

func (w *walk) hours(v value) {
	o, ok := v.object("quiet", "morning")
	if !ok {
		return
	}
	quiet, haveQuiet := o.need("quiet")
	if haveQuiet {
		w.dept.Hours.Quiet, haveQuiet = quiet.span()
	}
	morning, ok := o.need("morning")
	if !ok {
		return
	}
	if w.dept.Hours.Morning, ok = morning.span(); !ok || !haveQuiet {
		return
	}
	if m := w.dept.Hours.Morning; w.dept.Hours.Quiet.HoldsTime(m.From) || w.dept.Hours.Quiet.HoldsTime(m.To-time.Minute) {
		morning.bad("morning: the hours for posts reach into the quiet hours")
	}
}

func (w *walk) platoons(v value) {
	o, ok := v.object("names", "pattern", "change", "start", "offsets")
	if !ok {
		return
	}
	plan := schedule.Plan{Names: w.platoonNames(o), Zone: w.dept.Zone, Changes: changes(o)}
	pattern, at, ok := o.needText("pattern")
	plan.Pattern = pattern
	if start, there := o.need("start"); there {
		plan.Start = start.date()
	}
	if offsets, there := o.may("offsets"); there {
		plan.Offsets = w.offsets(offsets, plan.Names)
		ok = ok && len(plan.Offsets) == len(plan.Names)
	}
	if !ok || plan.Zone == nil || len(plan.Names) == 0 || plan.Start.IsZero() || len(plan.Changes) == 0 {
		return // said above
	}
	r, err := schedule.NewRotation(plan)
	if err != nil {
		at.bad("platoons: %v", err)
		return
	}
	w.dept.Rotation = r
}

func (w *walk) platoonNames(o object) []string {
	v, ok := o.need("names")
	if !ok {
		return nil
	}
	var names []string
	for _, one := range v.list("platoon") {
		if t, ok := one.text(); ok {
			w.declare("platoon", one, t)
			if !slices.Contains(names, t) {
				names = append(names, t)
			}
		}
	}
	if len(names) == 0 {
		v.bad("names: name at least one platoon")
	}
	return names
}

// changes reads the change of tour: one time, or several.
func changes(o object) []time.Duration {
	v, ok := o.need("change")
	if !ok {
		return nil
	}
	times := []value{v}
	if shape(v.node) == "a list" {
		times = v.list("change")
	}
	var all []time.Duration
	for _, t := range times {
		if d, ok := t.timeOfDay(); ok {
			all = append(all, d)
		}
	}
	return all
}

// date reads 2026-01-31. The zero time means that a problem was noted.
func (v value) date() time.Time {
	t, ok := v.text()
	if !ok {
		return time.Time{}
	}
	d, err := time.Parse(time.DateOnly, t)
	switch {
	case err != nil && strings.Contains(err.Error(), "out of range"):
		v.bad("%s: there is no day %s", v.what, t)
	case err != nil || d.Year() < 1970 || d.Year() > 2200:
		v.bad("%s: %q is no date; write year, month and day, such as 2026-01-31", v.what, t)
		return time.Time{}
	}
	return d
}

func (w *walk) offsets(v value, names []string) []int {
	o, ok := v.object(names...)
	if !ok {
		return nil
	}
	var all []int
	for _, name := range names {
		if days, ok := o.need(name); ok {
			n, _ := days.whole(0, 366)
			all = append(all, n)
		}
	}
	return all
}

// yearDay reads a day of every year, such as 15 March.
func (v value) yearDay() Day {
	t, ok := v.text()
	if !ok {
		return Day{}
	}
	d, err := time.Parse("2 January 2006", t+" 2001")
	if err != nil {
		v.bad("%s: %q is no day of the year; write day and month, such as 15 March", v.what, t)
		return Day{}
	}
	return Day{d.Month(), d.Day()}
}
