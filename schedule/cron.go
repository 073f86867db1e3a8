package schedule

import (
	"time"

	"github.com/robfig/cron/v3"
)

// Cron is a cron spec that was read and fires. The zero Cron never does.
//
// Five fields: minute, hour, day of month, month, day of week; @daily and its
// like; @every with a duration. The moments are local wall times: one that a
// clock change removes comes at the first instant after the gap, one that it
// repeats comes the first time only. An hour field that is * or */n counts in
// real time instead: nothing comes in a gap, and a repeated hour comes twice.
//
// When day of month and day of week are both given, a day that matches either
// is meant, as POSIX says. A field counts as given unless it is * or ?; daemons
// differ about */2, which here is given.
type Cron struct {
	spec  string
	table *cron.SpecSchedule // nil for @every
	every time.Duration      // 0 but for @every
	real  bool               // counted in real time
	parts fields             // the five fields, for the words
}

// Moment is one moment of a spec.
type Moment struct {
	At   time.Time // in the zone that was asked for
	Wall string    // local time it stands for, 2026-11-23T09:00; unique among the moments of one spec
}

// String is the spec as it was given.
func (c Cron) String() string { return c.spec }

// Next is the first moment after an instant. ok is false for the zero Cron
// only: a spec that Parse took always comes round.
func (c Cron) Next(after time.Time, zone *time.Location) (m Moment, ok bool) {
	switch {
	case c.every > 0:
		return turn(c.beat(after), zone), true
	case c.table == nil:
		return Moment{}, false
	case c.real:
		return c.nextReal(after, zone)
	}
	wall := wallOf(after, zone)
	for {
		if wall, ok = c.nextWall(wall); !ok {
			return Moment{}, false
		}
		if at := instant(wall, zone); at.After(after) {
			return Moment{At: at, Wall: wall.Format(wallLayout)}, true
		}
	}
}

// beat is the next instant of an @every, counted from the Unix epoch so that a
// restart changes nothing.
func (c Cron) beat(after time.Time) time.Time {
	every := int64(c.every / time.Second)
	beats := after.Unix() / every
	if after.Unix()%every < 0 {
		beats--
	}
	return time.Unix((beats+1)*every, 0)
}

// nextReal goes through the stretches of time that have one offset each. In a
// stretch the wall runs like any clock.
func (c Cron) nextReal(after time.Time, zone *time.Location) (Moment, bool) {
	after = after.In(zone)
	for {
		wall, ok := c.nextWall(wallOf(after, zone))
		if !ok {
			return Moment{}, false
		}
		at := wall.Add(-offset(after)).In(zone)
		end := stretchEnd(after)
		if end.IsZero() || at.Before(end) {
			return turn(at, zone), true
		}
		// The search is for what comes after, so the next stretch's very first
		// instant is looked at by itself.
		after = end.In(zone)
		if c.matches(wallOf(after, zone)) {
			return turn(after, zone), true
		}
	}
}

// turn is the moment at an instant. The second turn of a repeated wall time
// carries its offset, to be told from the first.
func turn(at time.Time, zone *time.Location) Moment {
	at = at.In(zone)
	wall := wallOf(at, zone)
	m := Moment{At: at, Wall: wall.Format(wallLayout)}
	if !instant(wall, zone).Equal(at) {
		m.Wall = at.Format(wallLayout + "-07:00")
	}
	return m
}

// nextWall is the next wall time after another that the fields allow. The
// fields are the parser's; its own search goes through real hours, which is slow
// and gives up after five years, fewer than a leap day across 2100 needs.
func (c Cron) nextWall(wall time.Time) (time.Time, bool) {
	from := wall.Truncate(time.Minute).Add(time.Minute)
	minute := from.Hour()*60 + from.Minute()
	last := from.Year() + 9
	for date := day(from); date.Year() <= last; minute = 0 {
		switch {
		case c.table.Month>>date.Month()&1 == 0:
			date = time.Date(date.Year(), date.Month()+1, 1, 0, 0, 0, 0, time.UTC)
			continue
		case c.onDay(date):
			if m, ok := c.onMinute(minute); ok {
				return date.Add(time.Duration(m) * time.Minute), true
			}
		}
		date = date.Add(24 * time.Hour)
	}
	return time.Time{}, false
}

// onDay says whether the two day fields allow a date. A field that is * does
// not restrict; two that do are met by either.
func (c Cron) onDay(date time.Time) bool {
	dom := c.table.Dom>>date.Day()&1 == 1
	dow := c.table.Dow>>date.Weekday()&1 == 1
	if c.parts[2] == nil || c.parts[4] == nil {
		return dom && dow
	}
	return dom || dow
}

// onMinute is the first minute of a day, from one on, that the fields allow.
func (c Cron) onMinute(from int) (minute int, ok bool) {
	for h := from / 60; h < 24; h++ {
		if c.table.Hour>>h&1 == 1 {
			for m := max(from-60*h, 0); m < 60; m++ {
				if c.table.Minute>>m&1 == 1 {
					return 60*h + m, true
				}
			}
		}
	}
	return 0, false
}

func (c Cron) matches(wall time.Time) bool {
	next, ok := c.nextWall(wall.Add(-time.Second))
	return ok && next.Equal(wall)
}

// Between lists the moments after from up to and including to.
func (c Cron) Between(from, to time.Time, zone *time.Location) []Moment {
	var moments []Moment
	for m, ok := c.Next(from, zone); ok && !m.At.After(to); m, ok = c.Next(m.At, zone) {
		moments = append(moments, m)
	}
	return moments
}

// Closest is the shortest time between two moments in a row in the first n
// after an instant, not counting what a clock change brings together.
func (c Cron) Closest(after time.Time, n int) time.Duration {
	closest := time.Duration(1<<63 - 1)
	last, ok := c.Next(after, time.UTC)
	for range n {
		next, more := c.Next(last.At, time.UTC)
		if !ok || !more {
			break
		}
		closest = min(closest, next.At.Sub(last.At))
		last = next
	}
	return closest
}
