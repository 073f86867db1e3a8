package schedule

import (
	"fmt"
	"math"
	"time"
)

// AverageWeek is what a platoon works in a week on average, clock changes left
// aside: 56 h with three platoons on 24 h tours, 42 h with four.
func (r Rotation) AverageWeek(platoon string) time.Duration {
	var on time.Duration
	if len(r.owners) == 0 {
		return 0
	}
	perDay := len(r.plan.Changes)
	for slot, k := range r.owners {
		if r.plan.Names[k] == platoon {
			on += r.slotLength(slot % perDay)
		}
	}
	days := len(r.owners) / perDay
	return time.Duration(float64(on) * 7 / float64(days))
}

func (r Rotation) slotLength(part int) time.Duration {
	changes := r.plan.Changes
	if part == len(changes)-1 {
		return 24*time.Hour - changes[part] + changes[0]
	}
	return changes[part+1] - changes[part]
}

// KellyWeek is the average week when each member has every nth tour off. A
// Kelly day is the member's own: the platoon is on duty all the same.
func KellyWeek(week time.Duration, every int) time.Duration {
	if every < 2 {
		return week
	}
	return week * time.Duration(every-1) / time.Duration(every)
}

// HoursOn is how long a platoon is on duty from from up to to, by the clock:
// a tour over the change of the clocks is an hour shorter or longer.
func (r Rotation) HoursOn(platoon string, from, to time.Time) time.Duration {
	var on time.Duration
	for _, t := range r.Tours(from, to) {
		if t.Platoon == platoon {
			on += earlier(t.End, to).Sub(later(t.Start, from))
		}
	}
	return on
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// FireLimit is the most hours in a work period of days days, 7 to 28, before a
// firefighter in the United States is owed overtime: 212 hours in 28 days and
// in proportion, to the nearest hour (29 CFR 553.230). Information, not advice.
func FireLimit(days int) (hours int, err error) {
	if days < 7 || days > 28 {
		return 0, fmt.Errorf("a work period of %d days: it must have 7 to 28 (29 CFR 553.224)", days)
	}
	return int(math.Round(212 * float64(days) / 28)), nil
}
