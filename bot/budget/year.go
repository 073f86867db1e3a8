package budget

import "time"

// Calendar says when fiscal years begin. A year that begins on 1 January has
// that year's number; any other has the number of the year in which it ends, so
// that July 2026 to June 2027 is fiscal year 2027.
type Calendar struct {
	Month time.Month
	Day   int
	Zone  *time.Location // nil for UTC
}

// Start is the first instant of a fiscal year.
func (c Calendar) Start(year int) time.Time {
	if c.Month != time.January || c.Day != 1 {
		year--
	}
	return time.Date(year, c.Month, c.Day, 0, 0, 0, 0, c.zone())
}

// End is the first instant after a fiscal year.
func (c Calendar) End(year int) time.Time { return c.Start(year + 1) }

// Year is the fiscal year of an instant.
func (c Calendar) Year(at time.Time) int {
	year := at.In(c.zone()).Year()
	if !at.Before(c.End(year)) {
		return year + 1
	}
	return year
}

// Date is the day of an instant, as 2027-03-15.
func (c Calendar) Date(at time.Time) string { return at.In(c.zone()).Format(time.DateOnly) }

func (c Calendar) zone() *time.Location {
	if c.Zone == nil {
		return time.UTC
	}
	return c.Zone
}

// years is how long a span is, in years of 365.25 days; none for a span that
// ends before it begins.
func years(from, to time.Time) float64 {
	return max(0, to.Sub(from).Hours()/(24*365.25))
}
