package schedule_test

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"kitbell/schedule"
)

func parse(t testing.TB, spec string) schedule.Cron {
	t.Helper()
	c, err := schedule.Parse(spec)
	if err != nil {
		t.Fatalf("%s: %v", spec, err)
	}
	return c
}

func TestRefusedSpecs(t *testing.T) {
	for _, row := range []struct{ name, spec, says string }{
		{"empty", " ", "five fields"},
		{"four fields", "0 9 * *", "4 fields: five are needed"},
		{"six fields", "0 0 9 * * 1", "6 fields"},
		{"one field", "9", "1 field:"},
		{"zone prefix", "TZ=UTC 0 9 * * *", "a zone in the spec"},
		{"zone prefix alone", "TZ=UTC", "a zone in the spec"},
		{"other zone prefix", "CRON_TZ=Europe/London 0 9 * * *", "a zone in the spec"},
		{"30 February", "0 0 30 2 *", "never comes round"},
		{"31 of short months", "0 0 31 2,4,6,9,11 *", "never comes round"},
		{"minute 60", "60 9 * * *", "minute: 60 is out of range: 0 to 59"},
		{"hour 24", "0 24 * * *", "hour: 24 is out of range: 0 to 23"},
		{"day 0", "0 0 0 * *", "day of month: 0 is out of range"},
		{"month 13", "0 0 1 13 *", "month: 13 is out of range"},
		{"day of week 8", "0 0 * * 8", "day of week: 8 is out of range"},
		{"unknown day", "0 0 * * MOO", `day of week: "MOO" is not read; write a number from 0 to 7 or a name such as MON`},
		{"range backwards", "0 17-9 * * *", `"17-9" runs backwards`},
		{"step without range", "5/15 9 * * *", "write 5-59/15"},
		{"step of nothing", "*/0 9 * * *", "the step must be 1 to 59"},
		{"step too long", "*/90 9 * * *", "the step must be 1 to 59"},
		{"step overflows", "*/99999999999999999999 9 * * *", "the step must be"},
		{"empty part", "0,,5 9 * * *", `minute: ""`},
		{"sign", "+5 9 * * *", `minute: "+5"`},
		{"star with range", "*-5 9 * * *", "takes no range"},
		{"every with nonsense", "@every soon", "write @every with hours"},
		{"every minute", "@every 1m", "too often"},
		{"every negative", "@every -3h", "too often"},
		{"every two years", "@every 20000h", "longer than a year"},
		{"every with seconds", "@every 1h0m30s", "whole minutes"},
		{"unknown name", "@reboot", "not known"},
		{"very long", strings.Repeat("1,", 200) + "1 * * * *", "more than the 200"},
	} {
		t.Run(row.name, func(t *testing.T) {
			if c, err := schedule.Parse(row.spec); err == nil || !strings.Contains(err.Error(), row.says) {
				t.Errorf("got %v, %v; want %q", c, err, row.says)
			}
		})
	}
}

func TestNext(t *testing.T) {
	const ny = "America/New_York"
	for _, row := range []struct {
		name, spec, zone, after string
		want                    []string // RFC 3339
	}{
		{"weekly", "0 9 * * MON", ny, "2026-11-24T12:00:00Z", []string{"2026-11-30T09:00:00-05:00", "2026-12-07T09:00:00-05:00"}},
		{"Sunday is 7 too", "0 9 * * 7", ny, "2026-11-24T12:00:00Z", []string{"2026-11-29T09:00:00-05:00"}},
		{"over the week's end", "0 9 * * FRI-MON", ny, "2026-11-25T12:00:00Z",
			[]string{"2026-11-27T09:00:00-05:00", "2026-11-28T09:00:00-05:00", "2026-11-29T09:00:00-05:00", "2026-11-30T09:00:00-05:00", "2026-12-04T09:00:00-05:00"}},
		{"5-7 is Friday to Sunday", "0 9 * * 5-7", ny, "2026-11-28T15:00:00Z", []string{"2026-11-29T09:00:00-05:00", "2026-12-04T09:00:00-05:00"}},
		// FACTS F11: both day fields given, any day matching either.
		{"either day field", "0 0 13 * FRI", "UTC", "2026-11-07T00:00:00Z", []string{"2026-11-13T00:00:00Z", "2026-11-20T00:00:00Z", "2026-11-27T00:00:00Z", "2026-12-04T00:00:00Z", "2026-12-11T00:00:00Z", "2026-12-13T00:00:00Z"}},
		// FACTS F12: the month has to match in any case.
		{"month rules", "0 0 1 12 MON", "UTC", "2026-11-01T00:00:00Z", []string{"2026-12-01T00:00:00Z", "2026-12-07T00:00:00Z"}},
		{"every first step is no restriction", "0 0 13 * */1", "UTC", "2026-11-07T00:00:00Z", []string{"2026-11-13T00:00:00Z", "2026-12-13T00:00:00Z"}},
		{"leap day over 2100", "0 0 29 2 *", "UTC", "2096-03-01T00:00:00Z", []string{"2104-02-29T00:00:00Z"}},
		// FACTS F3: 8 March and 1 November 2026 in New York.
		{"missing time comes after the gap", "30 2 * * SUN", ny, "2026-03-02T00:00:00Z", []string{"2026-03-08T03:00:00-04:00", "2026-03-15T02:30:00-04:00"}},
		{"missing times come once", "*/15 2 * * *", ny, "2026-03-08T06:50:00Z", []string{"2026-03-08T03:00:00-04:00", "2026-03-09T02:00:00-04:00"}},
		{"missing and next are one", "0 2,3 * * *", ny, "2026-03-08T06:00:00Z", []string{"2026-03-08T03:00:00-04:00", "2026-03-09T02:00:00-04:00"}},
		{"repeated time comes once", "30 1 * * *", ny, "2026-11-01T04:00:00Z", []string{"2026-11-01T01:30:00-04:00", "2026-11-02T01:30:00-05:00"}},
		{"asked in the second turn", "30 1 * * *", ny, "2026-11-01T06:10:00Z", []string{"2026-11-02T01:30:00-05:00"}},
		{"every hour skips the gap", "0 * * * *", ny, "2026-03-08T05:30:00Z", []string{"2026-03-08T01:00:00-05:00", "2026-03-08T03:00:00-04:00"}},
		{"every hour takes both turns", "0 * * * *", ny, "2026-11-01T04:30:00Z", []string{"2026-11-01T01:00:00-04:00", "2026-11-01T01:00:00-05:00", "2026-11-01T02:00:00-05:00"}},
		{"half-hour change", "15 2 * * *", "Australia/Lord_Howe", "2026-10-03T10:00:00Z", []string{"2026-10-04T02:30:00+11:00"}},
		{"midnight is missing", "0 0 * * *", "America/Sao_Paulo", "2018-11-03T12:00:00Z", []string{"2018-11-04T01:00:00-02:00", "2018-11-05T00:00:00-02:00"}},
		{"a whole day is missing", "0 9 * * *", "Pacific/Apia", "2011-12-29T20:00:00Z", []string{"2011-12-31T00:00:00+14:00", "2011-12-31T09:00:00+14:00"}},
		{"last day of a leap year far ahead", "0 * * * *", ny, "2040-12-30T23:00:00Z", []string{"2040-12-30T19:00:00-05:00", "2040-12-30T20:00:00-05:00"}},
		{"every 36 hours keeps its beat", "@every 36h", "UTC", "1970-01-02T00:00:00Z", []string{"1970-01-02T12:00:00Z", "1970-01-04T00:00:00Z"}},
		{"monthly", "@monthly", "UTC", "2026-11-24T00:00:00Z", []string{"2026-12-01T00:00:00Z", "2027-01-01T00:00:00Z"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			c, z := parse(t, row.spec), zone(t, row.zone)
			at, err := time.Parse(time.RFC3339, row.after)
			if err != nil {
				t.Fatal(err)
			}
			for _, want := range row.want {
				m, ok := c.Next(at, z)
				if got := m.At.Format(time.RFC3339); !ok || got != want {
					t.Fatalf("got %s, want %s", got, want)
				}
				at = m.At
			}
		})
	}
	if _, ok := (schedule.Cron{}).Next(time.Now(), time.UTC); ok {
		t.Error("the zero spec comes round")
	}
}

func TestWords(t *testing.T) {
	for spec, want := range map[string]string{
		"0 9 * * MON":        "Mondays 09:00",
		"0 9 * * 7":          "Sundays 09:00",
		"30 8 * * FRI-MON":   "Mondays, Fridays, Saturdays and Sundays 08:30",
		"0 9 * * 1-5":        "Monday to Friday 09:00",
		"0 9,16 * * *":       "every day 09:00 and 16:00",
		"0 9 1,15 * *":       "day 1 and 15 of the month 09:00",
		"0 9 1 JAN,JUL *":    "day 1 of the month in January and July 09:00",
		"0 0 13 * FRI":       "day 13 of the month, and Fridays too, 00:00",
		"15 * * * *":         "every day every hour at :15",
		"* * * * *":          "every day every minute",
		"* 9 * * *":          "every day every minute of the hours 09",
		"*/10 8-9 * * 0-6/1": "every day 08:00, 08:10, 08:20, … 09:50 (12 times)",
		"@every 72h":         "every 3 days",
		"@every 1h":          "every hour",
		"@every 30h":         "every 30 hours",
		"@every 90m":         "every 1 h 30 min",
		"@daily":             "every day 00:00",
	} {
		if got := parse(t, spec).Words(); got != want {
			t.Errorf("%s: %q, want %q", spec, got, want)
		}
	}
	if got := (schedule.Cron{}).Words(); got != "never" {
		t.Errorf("the zero spec says %q", got)
	}
}

func TestPreview(t *testing.T) {
	after := time.Date(2026, 11, 24, 12, 0, 0, 0, time.UTC)
	z := zone(t, "America/New_York")
	if got, want := parse(t, "0 9 * * MON").Preview(after, z), "Mondays 09:00, next Mon 30 Nov"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got, want := parse(t, "0 9 1 2 *").Preview(after, z), "day 1 of the month in February 09:00, next Mon 1 Feb 2027"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

func TestDisturbances(t *testing.T) {
	from := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	z := zone(t, "America/New_York")
	for _, row := range []struct {
		name, spec string
		want       []string
	}{
		{"in the gap", "30 2 * * SUN", []string{"Sun 8 Mar 2026 02:30 is removed by the clock change: it comes at 03:00 EDT"}},
		{"in the repeated hour", "30 1 * * *", []string{"Sun 1 Nov 2026 01:30 comes twice by the clock change: the first counts (01:30 EDT)"}},
		{"not on that day", "30 2 * * MON", nil},
		{"in the daytime", "0 9 * * *", nil},
		{"at the end of the gap", "0 3 * * *", nil},
		{"in real time", "30 * * * *", nil},
		{"by interval", "@every 2h", nil},
	} {
		t.Run(row.name, func(t *testing.T) {
			got := parse(t, row.spec).Disturbances(from, from.AddDate(1, 0, 0), z)
			if len(got) != len(row.want) {
				t.Fatalf("got %v", got)
			}
			for i, want := range row.want {
				if got[i].String() != want {
					t.Errorf("%q, want %q", got[i], want)
				}
			}
		})
	}
}

func TestClosest(t *testing.T) {
	for spec, want := range map[string]time.Duration{
		"*/5 9 * * *": 5 * time.Minute, "0 9 * * MON": 7 * 24 * time.Hour, "0 9 * * MON,TUE": 24 * time.Hour, "@every 2h": 2 * time.Hour,
	} {
		if got := parse(t, spec).Closest(time.Unix(0, 0), 20); got != want {
			t.Errorf("%s: %s, want %s", spec, got, want)
		}
	}
}

// The moments of a spec rise, carry wall times of their own, and show that wall
// time unless a clock change touched them.
func TestMomentsRise(t *testing.T) {
	specs := []string{"0 9 * * MON", "30 2 * * *", "*/20 1-3 * * *", "0 * * * *", "*/30 */2 * * *", "0 0 29 2 *", "@every 5h", "15 0 1 * FRI"}
	zones := []string{"America/New_York", "Europe/London", "Australia/Lord_Howe", "America/Sao_Paulo", "Pacific/Apia", "Asia/Kolkata"}
	rapid.Check(t, func(rt *rapid.T) {
		c := parse(t, rapid.SampledFrom(specs).Draw(rt, "spec"))
		z := zone(t, rapid.SampledFrom(zones).Draw(rt, "zone"))
		at := time.Unix(rapid.Int64Range(1e9, 4e9).Draw(rt, "from"), 0)
		seen := map[string]bool{}
		for range 60 {
			m, ok := c.Next(at, z)
			if !ok || !m.At.After(at) {
				rt.Fatalf("after %s comes %v", at, m)
			}
			if seen[m.Wall] {
				rt.Fatalf("wall time %s comes twice", m.Wall)
			}
			seen[m.Wall] = true
			// Asked from any instant in between, the answer is the same.
			half := at.Add(m.At.Sub(at) / 2)
			if again, _ := c.Next(half, z); again.Wall != m.Wall {
				rt.Fatalf("after %s comes %s, after %s comes %s", at, m.Wall, half, again.Wall)
			}
			at = m.At
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, seed := range []string{"0 9 * * MON", "*/5 8-17 1,15 JAN-MAR FRI-MON", "@every 36h", "TZ=UTC", "0 0 30 2 *", "0/15 * ? * 7", "@daily"} {
		f.Add(seed)
	}
	z := zone(f, "America/New_York")
	f.Fuzz(func(t *testing.T, spec string) {
		c, err := schedule.Parse(spec)
		if err != nil {
			return
		}
		at := time.Date(2026, 2, 27, 0, 0, 0, 0, time.UTC)
		for range 3 {
			m, ok := c.Next(at, z)
			if !ok || !m.At.After(at) {
				t.Fatalf("%q: after %s comes %v", spec, at, m)
			}
			at = m.At
		}
		if c.Words() == "" {
			t.Errorf("%q has no words", spec)
		}
	})
}

// Twenty years of one entry; a department file takes none closer than six hours.
func BenchmarkTwentyYears(b *testing.B) {
	from := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	z := zone(b, "America/New_York")
	for _, row := range []struct{ name, spec string }{
		{"weekly", "0 9 * * MON"}, {"daily", "0 9 * * *"}, {"leap-days", "0 9 29 2 *"}, {"every-six-hours", "0 */6 * * *"},
	} {
		b.Run(row.name, func(b *testing.B) {
			c := parse(b, row.spec)
			for b.Loop() {
				c.Between(from, from.AddDate(20, 0, 0), z)
			}
		})
	}
}
