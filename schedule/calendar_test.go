package schedule_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	ical "github.com/arran4/golang-ical"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"kitbell/schedule"
)

func feed(t testing.TB, events []schedule.Event) string {
	t.Helper()
	var w bytes.Buffer
	if err := schedule.WriteCalendar(&w, "Engine 4", time.Date(2026, 11, 23, 7, 0, 0, 0, zone(t, "America/New_York")), events); err != nil {
		t.Fatal(err)
	}
	return w.String()
}

// The values are those of RFC 5545 as FACTS has them: F5 lines, F6 stamp, F7 ids
// and head, F8 and F10 forms of a moment.
func TestCalendarForm(t *testing.T) {
	r := rotation(t, plan(t, "ABC", "48/96"))
	from := time.Date(2026, 3, 1, 0, 0, 0, 0, r.Zone())
	events := r.TourEvents("", "tarn-harbor.invalid", from, from.AddDate(0, 1, 0))
	entry := schedule.Entry{ID: "weekly-check", Cron: parse(t, "0 9 * * MON"), Kind: schedule.CheckDue, Zone: r.Zone()}
	long := func(schedule.Kind, string) string {
		return "Check, look closely; back\\slash\nnew line, and a name that is much longer than one line may be: " + strings.Repeat("wörter ", 20)
	}
	events = append(events, entry.Events("engine-4", "tarn-harbor.invalid", from, from.AddDate(0, 1, 0), long)...)
	text := feed(t, events)
	for i, line := range strings.SplitAfter(text, "\r\n") { // F5
		if line != "" && (!strings.HasSuffix(line, "\r\n") || len(line) > 77 || strings.Contains(strings.TrimSuffix(line, "\r\n"), "\n")) {
			t.Errorf("line %d: %q", i+1, line)
		}
	}
	unfolded := strings.NewReplacer("\r\n ", "", "\r\n\t", "").Replace(text)
	for _, want := range []string{"VERSION:2.0\r\n", "PRODID:-//kitbell//calendar//EN\r\n"} { // F7
		if strings.Count(unfolded, want) != 1 {
			t.Errorf("%q is there %d times", want, strings.Count(unfolded, want))
		}
	}
	ids := map[string]bool{}
	for _, line := range strings.Split(unfolded, "\r\n") {
		name, value, _ := strings.Cut(line, ":")
		switch {
		case strings.HasPrefix(name, "DT") && (len(value) != 16 || !strings.HasSuffix(value, "Z") || strings.Contains(name, "TZID")): // F6, F8, F10
			t.Errorf("moment %q", line)
		case name == "UID" && ids[value]: // F7
			t.Errorf("id %q is there twice", value)
		case name == "UID":
			ids[value] = true
		case name == "SUMMARY" && strings.HasPrefix(value, "Check") && !strings.HasPrefix(value, `Check\, look closely\; back\\slash\nnew line\,`): // F10
			t.Errorf("escaped %q", value)
		}
	}
	if len(ids) != len(events) {
		t.Errorf("%d ids of %d events", len(ids), len(events))
	}
	if again := feed(t, events); again != text {
		t.Error("the same feed made twice differs")
	}
}

// FACTS F4: a 24 h tour over the change of the clocks lasts 23 h in March and
// 25 h in November, in the feed too.
func TestCalendarOverTheClockChange(t *testing.T) {
	r := rotation(t, plan(t, "ABC", "24/48"))
	for _, row := range []struct {
		day   time.Time
		hours float64
	}{{time.Date(2026, 3, 7, 12, 0, 0, 0, r.Zone()), 23}, {time.Date(2026, 10, 31, 12, 0, 0, 0, r.Zone()), 25}} {
		events := r.TourEvents("", "x.invalid", row.day, row.day.Add(time.Hour))
		if len(events) != 1 || events[0].End.Sub(events[0].Start).Hours() != row.hours {
			t.Errorf("%v: %+v", row.day, events)
		}
	}
}

// What is written is read back as it was.
func TestCalendarRoundTrip(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		start := time.Unix(rapid.Int64Range(1_700_000_000, 2_000_000_000).Draw(rt, "start"), 0).UTC()
		want := schedule.Event{
			UID:   "one@x.invalid",
			Title: strings.TrimSpace(rapid.StringMatching(`[A-Za-z,;\\ äöü0-9]{1,90}x`).Draw(rt, "title")),
			Start: start, End: start.Add(time.Duration(rapid.IntRange(1, 100_000).Draw(rt, "seconds")) * time.Second),
		}
		var w bytes.Buffer
		if err := schedule.WriteCalendar(&w, "x", start, []schedule.Event{want}); err != nil {
			rt.Fatal(err)
		}
		read, err := ical.ParseCalendar(&w)
		if err != nil || len(read.Events()) != 1 {
			rt.Fatalf("%v", err)
		}
		e := read.Events()[0]
		got := schedule.Event{UID: e.Id(), Title: e.GetProperty(ical.ComponentPropertySummary).Value}
		got.Start, _ = e.GetStartAt()
		got.End, _ = e.GetEndAt()
		if diff := cmp.Diff(want, got); diff != "" {
			rt.Error(diff)
		}
	})
}

func TestCalendarRefusesWhatEndsBeforeItBegins(t *testing.T) {
	at := time.Unix(1_800_000_000, 0)
	if err := schedule.WriteCalendar(&bytes.Buffer{}, "x", at, []schedule.Event{{UID: "a", Start: at, End: at}}); err == nil {
		t.Error("written")
	}
}
