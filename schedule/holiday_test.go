package schedule_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/schedule"
)

func daysOff(t *testing.T, observed bool, year int) []string {
	t.Helper()
	h, err := schedule.NewHolidays(schedule.USFederal, observed)
	if err != nil {
		t.Fatal(err)
	}
	z := zone(t, "America/New_York")
	var days []string
	for day := time.Date(year, 1, 1, 23, 30, 0, 0, z); day.Year() == year; day = day.AddDate(0, 0, 1) {
		if h.On(day, z) {
			days = append(days, day.Format("01-02"))
		}
	}
	return days
}

// FACTS F1 (5 U.S.C. 6103(a)): eleven days; F2 (6103(b), E.O. 11582): Saturday's
// is observed the Friday before, Sunday's the Monday after. The dates are the
// rules applied by hand: 4 July 2026 is a Saturday; 1 January 2028 is one too, and
// its day off is 31 December 2027.
func TestFederalHolidays(t *testing.T) {
	for _, row := range []struct {
		name     string
		observed bool
		year     int
		want     []string
	}{
		{"the days themselves", false, 2026, []string{"01-01", "01-19", "02-16", "05-25", "06-19", "07-04", "09-07", "10-12", "11-11", "11-26", "12-25"}},
		{"as offices keep them", true, 2026, []string{"01-01", "01-19", "02-16", "05-25", "06-19", "07-03", "09-07", "10-12", "11-11", "11-26", "12-25"}},
		{"a Sunday and next year's Saturday", true, 2027, []string{"01-01", "01-18", "02-15", "05-31", "06-18", "07-05", "09-06", "10-11", "11-11", "11-25", "12-24", "12-31"}},
		{"the year whose first is a Saturday", true, 2028, []string{"01-17", "02-21", "05-29", "06-19", "07-04", "09-04", "10-09", "11-10", "11-23", "12-25"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			if diff := cmp.Diff(row.want, daysOff(t, row.observed, row.year)); diff != "" {
				t.Error(diff)
			}
		})
	}
	if (schedule.Holidays{}).On(time.Now(), time.UTC) {
		t.Error("without a calendar there is a holiday")
	}
	if _, err := schedule.NewHolidays("moon", false); err == nil {
		t.Error("an unknown calendar is taken")
	}
}
