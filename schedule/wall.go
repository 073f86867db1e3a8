package schedule

import "time"

// A wall time is what a clock on the wall shows. Inside this package it is held
// as a time in UTC with the same fields, so that it can be counted without
// gaps; instant turns it into the one instant that it means in a zone.

const wallLayout = "2006-01-02T15:04"

// wallOf is what the wall shows at t in zone.
func wallOf(t time.Time, zone *time.Location) time.Time {
	return t.Round(0).UTC().Add(offset(t.In(zone)))
}

// instant is the instant that a wall time means. A time that the zone's change
// removes means the first instant after the gap; a repeated one its first turn.
func instant(wall time.Time, zone *time.Location) time.Time {
	t := time.Date(wall.Year(), wall.Month(), wall.Day(), wall.Hour(), wall.Minute(), wall.Second(), wall.Nanosecond(), zone)
	start, end := t.ZoneBounds()
	switch shown := wallOf(t, zone); {
	case shown.After(wall): // missing, and t was read with the offset before the gap
		return start
	case shown.Before(wall): // missing, and t was read with the offset after it
		return end
	}
	if start.IsZero() || t.Sub(start) > longestShift {
		return t
	}
	if first := wall.Add(-offset(start.Add(-1))).In(zone); first.Before(start) {
		return first
	}
	return t
}

// stretchEnd is the end of the time around t that surely has one offset; zero
// when there is none. Where a zone's rules, not its table, are in force (after
// 2037), the library gives the year's end by 365 days: harmless, but for the
// last day of a leap year, whose end would then lie before it.
func stretchEnd(t time.Time) time.Time {
	_, end := t.ZoneBounds()
	if !end.IsZero() && !end.After(t) {
		return time.Date(t.UTC().Year()+1, time.January, 1, 0, 0, 0, 0, time.UTC).In(t.Location())
	}
	return end
}

// longestShift is more than any zone ever moved its clocks: a day, over the date
// line.
const longestShift = 25 * time.Hour

func offset(t time.Time) time.Duration {
	_, seconds := t.Zone()
	return time.Duration(seconds) * time.Second
}

// day is midnight of the wall time's day.
func day(wall time.Time) time.Time {
	return time.Date(wall.Year(), wall.Month(), wall.Day(), 0, 0, 0, 0, time.UTC)
}

// Span is a part of every day, as local time after midnight. To before From
// means that it runs over midnight. A span whose ends are equal is empty.
type Span struct{ From, To time.Duration }

// Holds says whether the wall in zone shows a time of the span at t. From is
// in it, To is not.
func (s Span) Holds(t time.Time, zone *time.Location) bool {
	wall := wallOf(t, zone)
	return s.HoldsTime(wall.Sub(day(wall)))
}

// HoldsTime says whether a time of day, given as what has passed since
// midnight, lies in the span.
func (s Span) HoldsTime(since time.Duration) bool {
	if s.From <= s.To {
		return s.From <= since && since < s.To
	}
	return since >= s.From || since < s.To
}

// Window is a stretch of time from From up to To.
type Window struct{ From, To time.Time }

// Next is the span's window that holds t, or else the next one to come. An
// empty span has a window without length.
func (s Span) Next(t time.Time, zone *time.Location) Window {
	today := day(wallOf(t, zone))
	for d := -1; ; d++ {
		w := s.on(today.AddDate(0, 0, d), zone)
		if w.To.After(t) || s.From == s.To && !w.From.Before(t) {
			return w
		}
	}
}

// Within lists the parts of the span's windows that lie in a tour.
func (s Span) Within(tour Tour, zone *time.Location) []Window {
	var windows []Window
	last := day(wallOf(tour.End, zone))
	for d := day(wallOf(tour.Start, zone)).AddDate(0, 0, -1); !d.After(last); d = d.AddDate(0, 0, 1) {
		w := s.on(d, zone)
		if w.From.Before(tour.Start) {
			w.From = tour.Start
		}
		if w.To.After(tour.End) {
			w.To = tour.End
		}
		if w.From.Before(w.To) {
			windows = append(windows, w)
		}
	}
	return windows
}

func (s Span) on(date time.Time, zone *time.Location) Window {
	to := date.Add(s.To)
	if s.To < s.From {
		to = to.AddDate(0, 0, 1)
	}
	return Window{From: instant(date.Add(s.From), zone), To: instant(to, zone)}
}
