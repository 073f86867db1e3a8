package schedule

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// Words says the spec in words, such as "Mondays 09:00".
func (c Cron) Words() string {
	switch {
	case c.every > 0:
		return "every " + span(c.every)
	case c.table == nil:
		return "never"
	}
	days, times := c.parts.days(), c.parts.times()
	if m := c.parts[3]; m != nil {
		days += " in " + join(names(m, func(v int) string { return time.Month(v).String() }), "and")
	}
	return days + " " + times
}

func span(d time.Duration) string {
	h, m := int(d.Hours()), int(d.Minutes())%60
	switch {
	case m != 0:
		return fmt.Sprintf("%d h %d min", h, m)
	case h == 1:
		return "hour"
	case h%24 == 0:
		return count(h/24, "day")
	}
	return fmt.Sprintf("%d hours", h)
}

// days says which days are meant. Two restricted day fields mean either.
func (f fields) days() string {
	dom, dow := f[2], f[4]
	switch {
	case dom == nil && dow == nil:
		return "every day"
	case dom == nil:
		return weekdays(dow)
	case dow == nil:
		return monthDays(dom)
	}
	return monthDays(dom) + ", and " + weekdays(dow) + " too,"
}

func weekdays(dow []int) string {
	switch {
	case len(dow) == 7:
		return "every day"
	case slices.Equal(dow, []int{1, 2, 3, 4, 5}):
		return "Monday to Friday"
	}
	return join(names(fromMonday(dow), func(v int) string { return time.Weekday(v).String() + "s" }), "and")
}

// fromMonday puts Sunday last, as a week is read.
func fromMonday(dow []int) []int {
	if len(dow) > 0 && dow[0] == 0 {
		return append(slices.Clone(dow[1:]), 0)
	}
	return dow
}

func monthDays(dom []int) string {
	return "day " + join(names(dom, func(v int) string { return fmt.Sprint(v) }), "and") + " of the month"
}

// times says at which times of the day.
func (f fields) times() string {
	minutes, hours := f[0], f[1]
	switch {
	case minutes == nil && hours == nil:
		return "every minute"
	case minutes == nil:
		return "every minute of the hours " + join(names(hours, func(v int) string { return fmt.Sprintf("%02d", v) }), "and")
	case hours == nil:
		return "every hour at " + join(names(minutes, func(v int) string { return fmt.Sprintf(":%02d", v) }), "and")
	}
	var times []string
	for _, h := range hours {
		for _, m := range minutes {
			times = append(times, fmt.Sprintf("%02d:%02d", h, m))
		}
	}
	if len(times) > 6 {
		return fmt.Sprintf("%s, … %s (%d times)", strings.Join(times[:3], ", "), times[len(times)-1], len(times))
	}
	return join(times, "and")
}

func names(values []int, name func(int) string) []string {
	texts := make([]string, len(values))
	for i, v := range values {
		texts[i] = name(v)
	}
	return texts
}

func join(texts []string, and string) string {
	if len(texts) < 2 {
		return strings.Join(texts, "")
	}
	return strings.Join(texts[:len(texts)-1], ", ") + " " + and + " " + texts[len(texts)-1]
}

// Preview is the spec in words with its next moment, such as
// "Mondays 09:00, next Mon 30 Nov".
func (c Cron) Preview(after time.Time, zone *time.Location) string {
	m, ok := c.Next(after, zone)
	if !ok {
		return c.Words()
	}
	layout := "Mon 2 Jan"
	if m.At.Year() != after.In(zone).Year() {
		layout = "Mon 2 Jan 2006"
	}
	return c.Words() + ", next " + m.At.Format(layout)
}

// Disturbed is a moment that a clock change touches.
type Disturbed struct {
	Wall string    // the local time that the spec names
	At   time.Time // when it comes instead
	Gone bool      // the change removes the time; else it repeats it
}

// String is a warning in words.
func (d Disturbed) String() string {
	if d.Gone {
		return fmt.Sprintf("%s is removed by the clock change: it comes at %s", spoken(d.Wall), d.At.Format("15:04 MST"))
	}
	return fmt.Sprintf("%s comes twice by the clock change: the first counts (%s)", spoken(d.Wall), d.At.Format("15:04 MST"))
}

func spoken(wall string) string {
	t, err := time.Parse(wallLayout, wall)
	if err != nil {
		return wall
	}
	return t.Format("Mon 2 Jan 2006 15:04")
}

// Disturbances lists the moments from from up to to that a clock change in
// zone removes or repeats. A spec counted in real time has none.
func (c Cron) Disturbances(from, to time.Time, zone *time.Location) []Disturbed {
	if c.table == nil || c.real {
		return nil
	}
	var found []Disturbed
	for change := stretchEnd(from.In(zone)); !change.IsZero() && change.Before(to); change = stretchEnd(change) {
		found = append(found, c.disturbedBy(change, zone)...)
	}
	return found
}

func (c Cron) disturbedBy(change time.Time, zone *time.Location) []Disturbed {
	before, after := wallOf(change.Add(-1), zone).Add(1), wallOf(change, zone)
	first, last := before, after // of a gap
	if after.Before(before) {
		first, last = after, before
	}
	var found []Disturbed
	for wall, ok := c.nextWall(first.Add(-time.Second)); ok && wall.Before(last); wall, ok = c.nextWall(wall) {
		found = append(found, Disturbed{Wall: wall.Format(wallLayout), At: instant(wall, zone), Gone: after.After(before)})
	}
	return found
}
