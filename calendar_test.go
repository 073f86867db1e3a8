package main

import (
	"strings"
	"testing"

	ical "github.com/arran4/golang-ical"
)

func TestCalendarFeeds(t *testing.T) {
	for name, row := range map[string]struct {
		args  []string
		has   []string
		lacks []string
	}{
		"a rig":             {[]string{"--unit", "engine-4", "--platoon", "b"}, []string{"B platoon on duty", "SUMMARY:Kit check"}, []string{"A platoon on duty", "Ladder 4", "Digest"}},
		"a rig by its name": {[]string{"--unit", "Engine 4"}, []string{"A platoon on duty", "C platoon on duty"}, nil},
		"the lead":          {nil, []string{"Engine 4: Kit check", "Ladder 1: Kit check", "Digest of the kit programme"}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			code, printed := cli(t, "", append([]string{"calendar"}, row.args...)...)
			if code != exitOK {
				t.Fatalf("exit %d: %s", code, printed)
			}
			if feed, err := ical.ParseCalendar(strings.NewReader(printed)); err != nil || len(feed.Events()) < 20 {
				t.Fatalf("read back: %v", err)
			}
			for _, want := range row.has {
				if !strings.Contains(printed, want) {
					t.Errorf("lacks %q", want)
				}
			}
			for _, other := range row.lacks {
				if strings.Contains(printed, other) {
					t.Errorf("has %q", other)
				}
			}
		})
	}
}

func TestCalendarWrongWords(t *testing.T) {
	for name, row := range map[string]struct {
		args []string
		says string
	}{
		"no such rig":     {[]string{"--unit", "engine-99"}, "There is no rig engine-99"},
		"no such platoon": {[]string{"--platoon", "q"}, "There is no q platoon"},
		"no days":         {[]string{"--days", "0"}, "--days is 1 to"},
	} {
		if code, printed := cli(t, "", append([]string{"calendar"}, row.args...)...); code == exitOK || !strings.Contains(printed, row.says) {
			t.Errorf("%s: exit %d: %s", name, code, printed)
		}
	}
}
