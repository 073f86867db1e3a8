package schedule

import (
	"fmt"
	"slices"
	"time"

	"github.com/rickar/cal/v2"
	"github.com/rickar/cal/v2/us"
)

// Holidays are the days on which a department wants no post that can wait. The
// zero value has none.
type Holidays struct {
	days     []*cal.Holiday
	observed bool
}

// USFederal names the federal holidays of the United States (5 U.S.C. 6103).
const USFederal = "us-federal"

// HolidayCalendars lists the calendars that NewHolidays knows.
func HolidayCalendars() []string { return []string{USFederal} }

// NewHolidays gives the holidays of a calendar: on the days themselves, or, with
// observed, on the weekdays on which offices keep those of a weekend.
func NewHolidays(calendar string, observed bool) (Holidays, error) {
	if calendar != USFederal {
		return Holidays{}, fmt.Errorf("there is no holiday calendar %q", calendar)
	}
	return Holidays{days: []*cal.Holiday{
		us.NewYear, us.MlkDay, us.PresidentsDay, us.MemorialDay, us.Juneteenth, us.IndependenceDay,
		us.LaborDay, us.ColumbusDay, us.VeteransDay, us.ThanksgivingDay, us.ChristmasDay,
	}, observed: observed}, nil
}

// On says whether the day of an instant in a zone is a holiday.
func (h Holidays) On(at time.Time, zone *time.Location) bool {
	local := at.In(zone)
	// New Year's Day on a Saturday is observed in the year before.
	return slices.ContainsFunc([]int{local.Year(), local.Year() + 1}, func(year int) bool {
		return slices.ContainsFunc(h.days, func(d *cal.Holiday) bool {
			actual, observed := d.Calc(year)
			if h.observed {
				actual = observed
			}
			return !actual.IsZero() && actual.Year() == local.Year() && actual.YearDay() == local.YearDay()
		})
	})
}

// Empty says whether there are none.
func (h Holidays) Empty() bool { return len(h.days) == 0 }
