package main

import (
	"bufio"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// A rehearsal of eight weeks: posts lie in the morning hours, at most one goes to
// a crew and tour, every part says why, and a held part comes later.
func TestRehearseEightWeeks(t *testing.T) {
	code, printed := cli(t, "", "rehearse", "--days", "56", "--start", "2026-11-23T06:00", "--json")
	if code != exitOK {
		t.Fatalf("exit %d: %s", code, printed)
	}
	posts, kinds, held := map[string]map[string]bool{}, map[string]int{}, 0
	for scan := bufio.NewScanner(strings.NewReader(printed)); scan.Scan(); {
		var p rehearsedPart
		if err := json.Unmarshal(scan.Bytes(), &p); err != nil {
			t.Fatalf("%s: %v", scan.Text(), err)
		}
		at, err := time.Parse(time.RFC3339, p.At)
		if err != nil || p.Why == "" || p.Kind == "" || p.Channel == "" {
			t.Fatalf("%+v: %v", p, err)
		}
		if p.Skipped != "" {
			held++
			continue
		}
		kinds[p.Kind]++
		if hour := at.Hour(); hour < 8 || hour >= 10 {
			t.Errorf("posted at %s", p.At)
		}
		// A tour is two days on: its posts have one platoon and one moment.
		crew := p.Unit + p.Platoon + at.Format("2006-01-02")
		if posts[crew] == nil {
			posts[crew] = map[string]bool{}
		}
		posts[crew][p.At] = true
	}
	for crew, moments := range posts {
		if len(moments) > 1 {
			t.Errorf("%s is written to %d times", crew, len(moments))
		}
	}
	for _, kind := range []string{"check", "nudge", "drill", "digest", "kit-list"} {
		if kinds[kind] == 0 {
			t.Errorf("no %s in eight weeks: %v", kind, kinds)
		}
	}
	if held == 0 {
		t.Error("nothing was held")
	}
}

func TestRehearseText(t *testing.T) {
	_, printed := cli(t, "", "rehearse", "--days", "1", "--start", "2026-11-23T06:00")
	for _, want := range []string{"Mon 23 Nov 2026 09:00 EST, engine-4 B, station-4", "  check: entry weekly-check, due Mon 23 Nov 09:00 EST"} {
		if !strings.Contains(printed, want) {
			t.Errorf("lacks %q:\n%s", want, printed)
		}
	}
}

// A rehearsal leaves the department's folder as it was.
func TestRehearseWritesNothing(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "dept")
	if code, printed := cli(t, "", "init", dir); code != exitOK {
		t.Fatal(printed)
	}
	before, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	if code, printed := cli(t, "", "rehearse", "-c", dir, "--days", "10", "--departments", "3"); code != exitOK {
		t.Fatal(printed)
	}
	if after, err := os.ReadDir(dir); err != nil || len(after) != len(before) {
		t.Errorf("%d files before, %d after, %v", len(before), len(after), err)
	}
}

func TestRehearseWrongWords(t *testing.T) {
	for name, row := range map[string]struct {
		args []string
		code int
		says string
	}{
		"no days":           {[]string{"--days", "0"}, exitUsage, "--days is 1 to"},
		"too many days":     {[]string{"--days", "99999"}, exitUsage, "--days is 1 to"},
		"no departments":    {[]string{"--departments", "0"}, exitUsage, "--departments is 1 to"},
		"no such day":       {[]string{"--start", "2026-02-30"}, exitUsage, "--start is a local time"},
		"no such folder":    {[]string{"-c", t.TempDir() + "/none"}, exitError, "no folder"},
		"words without use": {[]string{"tomorrow"}, exitUsage, ""},
	} {
		if code, printed := cli(t, "", append([]string{"rehearse"}, row.args...)...); code != row.code || !strings.Contains(printed, row.says) {
			t.Errorf("%s: exit %d, want %d with %q: %s", name, code, row.code, row.says, printed)
		}
	}
}
