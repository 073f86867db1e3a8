package training_test

import (
	"errors"
	"testing"
	"time"

	"kitbell/bot/training"
)

// FACTS C10: 16 hours a month in company training are 192 a year.
func TestCompanyTarget(t *testing.T) {
	if training.CompanyTarget != 12*16*time.Hour {
		t.Error(training.CompanyTarget)
	}
}

func TestTargetRefused(t *testing.T) {
	for _, row := range []struct {
		name   string
		target time.Duration
		want   error
	}{
		{"below zero", -time.Hour, training.ErrTarget},
		{"more than a year has", 367 * 24 * time.Hour, training.ErrTarget},
		{"none", 0, nil},
		{"what is credited", training.CompanyTarget, nil},
	} {
		if _, err := training.TallyHours(nil, nil, 2026, time.UTC, row.target); !errors.Is(err, row.want) {
			t.Errorf("%s: %v, want %v", row.name, err, row.want)
		}
	}
}

// session is one of m1 that was confirmed.
func session(key string, start time.Time, length time.Duration, unit string) []training.SessionStep {
	d := evening()
	d.Start, d.End = start, start.Add(length)
	tap := attended(key, "m1")
	tap.Crew.Unit = unit
	return []training.SessionStep{held(key, d), tap, confirmed(key)}
}

func TestTallyHours(t *testing.T) {
	eastern, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	local := func(month time.Month, day, hour int) time.Time {
		return time.Date(2026, month, day, hour, 0, 0, 0, eastern)
	}
	var steps []training.SessionStep
	for _, s := range [][]training.SessionStep{
		session("new year's eve", time.Date(2025, 12, 31, 23, 0, 0, 0, eastern), 2*time.Hour, "engine-4"), // of the year before
		session("january", local(1, 31, 23), 2*time.Hour, "engine-4"),                                     // of the month in which it starts
		session("over the change of clocks", local(3, 8, 1), 90*time.Minute, "engine-4"),
		session("first", local(5, 4, 9), 3*time.Hour, "engine-4"),
		session("overlaps", local(5, 4, 11), 3*time.Hour, "ladder-4"),
		session("inside", local(5, 4, 12), time.Hour, "ladder-4"),
		{held("never confirmed", evening()), attended("never confirmed", "m1")},
		{held("off duty", evening()), attended("off duty", "m2"), offDuty(attended("off duty", "m1")), confirmed("off duty")},
	} {
		steps = append(steps, s...)
	}
	tally, err := training.TallyHours(training.Records(training.Sessions(steps)), roster(), 2026, eastern, 10*time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	m1, m2 := tally.People[0], tally.People[1]
	if m1.Member != "m1" || m1.Hours != 8*time.Hour+30*time.Minute || m1.Missing != 90*time.Minute {
		t.Errorf("%+v", m1)
	}
	for month, want := range map[time.Month]time.Duration{1: 2 * time.Hour, 3: 90 * time.Minute, 5: 5 * time.Hour, 12: 0} {
		if m1.Months[month-1] != want {
			t.Errorf("%v: %v, want %v", month, m1.Months[month-1], want)
		}
	}
	if m2.Hours != 2*time.Hour || len(tally.People) != 4 || tally.Total() != 10*time.Hour+30*time.Minute {
		t.Errorf("%+v, %d people, %v", m2, len(tally.People), tally.Total())
	}
	if u := tally.Units; len(u) != 2 || u[0].Unit != "engine-4" || u[0].Hours != 8*time.Hour+30*time.Minute || u[1].Hours != 2*time.Hour {
		t.Errorf("%+v", u)
	}
}
