package budget_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"kitbell/bot/budget"
)

func TestCalendar(t *testing.T) {
	eastern, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		name     string
		calendar budget.Calendar
		at       string
		want     int
	}{
		{"last day of a year from July", july, "2027-06-30T23:59:59Z", 2027},
		{"first day of the next", july, "2027-07-01T00:00:00Z", 2028},
		{"a calendar year", budget.Calendar{Month: time.January, Day: 1}, "2027-12-31T12:00:00Z", 2027},
		{"the day is the department's", budget.Calendar{Month: time.July, Day: 1, Zone: eastern}, "2027-07-01T03:59:59Z", 2027},
		{"and its midnight", budget.Calendar{Month: time.July, Day: 1, Zone: eastern}, "2027-07-01T04:00:00Z", 2028},
		{"from the middle of a month", budget.Calendar{Month: time.October, Day: 15}, "2027-10-14T12:00:00Z", 2027},
	} {
		at, err := time.Parse(time.RFC3339, row.at)
		if err != nil {
			t.Fatal(err)
		}
		if got := row.calendar.Year(at); got != row.want {
			t.Errorf("%s: %d, want %d", row.name, got, row.want)
		}
	}
	if got := july.Date(july.Start(2028)); got != "2027-07-01" {
		t.Errorf("2028 starts on %s", got)
	}
}

// Every instant is in the year that it is said to be in.
func TestYearHoldsItsInstants(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := budget.Calendar{Month: time.Month(rapid.IntRange(1, 12).Draw(t, "month")), Day: rapid.IntRange(1, 28).Draw(t, "day")}
		at := time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "at"), 0)
		if year := c.Year(at); at.Before(c.Start(year)) || !at.Before(c.End(year)) {
			t.Fatalf("%v is not within %d", at, year)
		}
	})
}
