package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"kitbell/bot/department"
	"kitbell/bot/store"
)

// What a member said is handed out, then removed: their words and rides are gone,
// the queue keeps its lines, and a second time there is nothing to do.
func TestPerson(t *testing.T) {
	dir, out := started(t), filepath.Join(t.TempDir(), "member.json")
	if code, printed := cli(t, "riding L2\nL2 wood wedge broken\ngive us a drill\n:as first-lead\nE1 shove knife missing\n", "run", "-c", dir, "--as", "first-member"); code != exitOK {
		t.Fatal(printed)
	}
	export := func() (text string) {
		t.Helper()
		_ = os.Remove(out)
		if code, printed := cli(t, "", "person", "-c", dir, "--member", "first member", "--export", out); code != exitOK {
			t.Fatal(printed)
		}
		raw, err := os.ReadFile(out)
		if err != nil || !json.Valid(raw) {
			t.Fatalf("no JSON: %v", err)
		}
		return string(raw)
	}
	before := export()
	for _, want := range []string{`"kind": "riding"`, `"verb": "line-opened"`, `"item": "wood-wedge"`, `"member": "first-member"`} {
		if !strings.Contains(before, want) {
			t.Errorf("the export lacks %s", want)
		}
	}
	if strings.Contains(before, "shove-knife\",\n        \"member\": \"first-lead\"") {
		t.Error("the export has somebody else's line")
	}
	remove := []string{"person", "-c", dir, "--member", "first-member", "--remove", "--reason", "left the department"}
	if code, printed := cli(t, "", remove...); code != exitOK || !strings.Contains(printed, "line_steps") || !strings.Contains(printed, "still in the department file") || !strings.Contains(printed, "Backups from before") {
		t.Errorf("ended with %d: %s", code, printed)
	}
	after := export()
	if strings.Contains(after, "riding\"") || strings.Contains(after, `"item": "wood-wedge"`) || !strings.Contains(after, `"verb": "person-removed"`) {
		t.Errorf("left: %s", after)
	}
	if code, printed := cli(t, "", remove...); code != exitOK || !strings.Contains(printed, "Nothing is left") {
		t.Errorf("a second time it ended with %d: %s", code, printed)
	}
	if code, printed := cli(t, "", "audit", "verify", "-c", dir); code != exitOK {
		t.Errorf("audit: %s", printed)
	}
	if code, printed := cli(t, "queue\n#1\ndigest\nundo\n", "run", "-c", dir); code != exitOK || !strings.Contains(printed, "2 lines open") {
		t.Errorf("work afterwards ended with %d: %s", code, printed)
	}
}

func TestPersonRefuses(t *testing.T) {
	dir := started(t)
	running, err := store.Open(t.Context(), filepath.Join(dir, databaseFile), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer running.Close()
	held := started(t)
	name := filepath.Join(held, department.FileName)
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, append(text, "retention:\n  hold: {until: 2199-01-01, reason: an auditor asked, by: first-lead}\n"...), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		name string
		args []string
		code int
		say  string
	}{
		{"nobody", []string{"-c", dir, "--remove", "--reason", "x"}, exitUsage, "--member"},
		{"nothing to do", []string{"-c", dir, "--member", "first-member"}, exitUsage, "either"},
		{"both", []string{"-c", dir, "--member", "first-member", "--remove", "--export", "x"}, exitUsage, "either"},
		{"no reason", []string{"-c", dir, "--member", "first-member", "--remove", "--reason", " "}, exitUsage, "--reason"},
		{"beside a program", []string{"-c", dir, "--member", "first-member", "--remove", "--reason", "x"}, exitError, "Another kitbell"},
		{"while a hold lasts", []string{"-c", held, "--member", "first-member", "--remove", "--reason", "x"}, exitError, "an auditor asked"},
		{"part of a name", []string{"-c", dir, "--member", "First Mem", "--export", "x"}, exitError, "say the id"},
		{"another department", []string{"-c", dir, "--department", "other", "--member", "first-member", "--export", "x"}, exitError, "--department"},
		{"a file that is there", []string{"-c", dir, "--member", "first-member", "--export", name}, exitError, "there already"},
	} {
		t.Run(row.name, func(t *testing.T) {
			code, out := cli(t, "", append([]string{"person"}, row.args...)...)
			if code != row.code || !strings.Contains(out, row.say) {
				t.Errorf("ended with %d: %s\nwant %d and %q", code, out, row.code, row.say)
			}
		})
	}
}
