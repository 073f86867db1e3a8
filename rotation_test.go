package main

import (
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"kitbell/bot/store"
)

// A daily backup over two years leaves seven days, five weeks and twelve months.
func TestKeeping(t *testing.T) {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	newest := time.Date(2026, 11, 23, 3, 30, 0, 0, zone) // a Monday
	var moments []time.Time
	for day := range 730 {
		moments = append(moments, newest.AddDate(0, 0, -day))
	}
	var days []string
	for i, stays := range (keeping{7, 5, 12}).kept(moments, zone) {
		if stays {
			days = append(days, moments[i].Format(time.DateOnly))
		}
	}
	want := []string{
		"2026-11-23", "2026-11-22", "2026-11-21", "2026-11-20", "2026-11-19", "2026-11-18", "2026-11-17", // seven days
		"2026-11-15", "2026-11-08", "2026-11-01", // and Sundays, of five weeks with this one and the last
		"2026-10-31", "2026-09-30", "2026-08-31", "2026-07-31", "2026-06-30", "2026-05-31", "2026-04-30",
		"2026-03-31", "2026-02-28", "2026-01-31", "2025-12-31", // twelve months with this one
	}
	if !slices.Equal(days, want) {
		t.Errorf("kept\n%v, want\n%v", days, want)
	}
}

// The newest stays whatever else, as many stay as were asked for where there are
// so many days, and rotating twice removes nothing more.
func TestKeepingHolds(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		k := keeping{rapid.IntRange(1, 9).Draw(rt, "days"), rapid.IntRange(0, 6).Draw(rt, "weeks"), rapid.IntRange(0, 14).Draw(rt, "months")}
		var moments []time.Time
		days := map[string]bool{}
		for _, hours := range rapid.SliceOfN(rapid.IntRange(0, 9000), 1, 60).Draw(rt, "hours") {
			at := time.Date(2026, 1, 1, hours, 0, 0, 0, time.UTC)
			moments = append(moments, at)
			days[at.Format(time.DateOnly)] = true
		}
		slices.SortFunc(moments, func(a, b time.Time) int { return b.Compare(a) })
		var left []time.Time
		stay := k.kept(moments, time.UTC)
		for i := range moments {
			if stay[i] {
				left = append(left, moments[i])
			}
		}
		if !stay[0] || len(left) < min(k.days, len(days)) || len(left) > k.days+k.weeks+k.months {
			rt.Errorf("%d stay of %d on %d days, by %s", len(left), len(moments), len(days), k)
		}
		if slices.Contains(k.kept(left, time.UTC), false) {
			rt.Error("rotating again removes more")
		}
	})
}

// Rotation removes nothing that run did not make.
func TestRotationRemovesItsOwn(t *testing.T) {
	folder := t.TempDir()
	put := func(name, sumOf string) {
		t.Helper()
		for file, text := range map[string]string{name: "x", name + store.SumSuffix: "0123  " + sumOf + "\n"} {
			if err := os.WriteFile(filepath.Join(folder, file), []byte(text), 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	own := func(stamp, whom string) string { return scheduledPrefix + stamp + "-" + whom + backupEnding }
	put(own("20261123T083000Z", "dept"), own("20261123T083000Z", "dept"))
	put(own("20261122T083000Z", "dept"), own("20261122T083000Z", "dept"))
	others := []string{
		own("20261121T083000Z", "other"),             // of other departments
		"kitbell-20261121T083000Z-dept.db",           // made by hand
		own("20261120T083000Z", "dept") + ".keep",    // renamed by somebody
		scheduledPrefix + "20261321T083000Z-dept.db", // no date
		"minutes.db", scheduledPrefix + "before-repair.db", // no name of ours
	}
	for _, name := range others {
		put(name, name)
	}
	copied := own("20261119T083000Z", "dept")
	put(copied, "something-else.db") // its checksum is of another
	aFolder := own("20261118T083000Z", "dept")
	if err := os.Mkdir(filepath.Join(folder, aFolder), 0o700); err != nil {
		t.Fatal(err)
	}

	gone, err := rotate(folder, "dept", keeping{days: 1}, time.UTC)
	if err != nil || !slices.Equal(gone, []string{own("20261122T083000Z", "dept")}) {
		t.Errorf("removed %v, %v", gone, err)
	}
	for _, name := range append(others, copied, aFolder, own("20261123T083000Z", "dept")) {
		if _, err := os.Stat(filepath.Join(folder, name)); err != nil {
			t.Error(err)
		}
	}
}
