package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Records come out as a table and as lines of JSON, beside what was left out; wrong
// words are refused.
func TestExport(t *testing.T) {
	dir, out := started(t), filepath.Join(t.TempDir(), "records")
	typed := "E1 shove knife missing\nwe should carry a second film because one tears\n:quit\n"
	if code, printed := cli(t, typed, "run", "-c", dir, "--plain"); code != exitOK {
		t.Fatal(printed)
	}
	for name, row := range map[string]struct {
		args []string
		code int
		says string
	}{
		"no folder": {[]string{"-c", dir}, exitUsage, "--out DIR"},
		"no day":    {[]string{"-c", dir, "--out", out, "--from", "July"}, exitUsage, "2026-07-01"},
		"backwards": {[]string{"-c", dir, "--out", out, "--from", "2026-07-02", "--to", "2026-07-01"}, exitUsage, "is after"},
		"no kind":   {[]string{"-c", dir, "--out", out, "--kind", "gossip"}, exitError, "no kind of record called gossip"},
		"no rig":    {[]string{"-c", dir, "--out", out, "--unit", "Engine 99"}, exitError, "no rig by that name"},
	} {
		if code, printed := cli(t, "", append([]string{"export"}, row.args...)...); code != row.code || !strings.Contains(printed, row.says) {
			t.Errorf("%s: exit %d, %s", name, code, printed)
		}
	}
	if code, printed := cli(t, "", "export", "-c", dir, "--out", out, "--unit", "Engine 1", "--kind", "queue"); code != exitOK || !strings.Contains(printed, "Wrote 1 records") {
		t.Fatalf("exit %d: %s", code, printed)
	}
	for name, wants := range map[string][]string{
		"dept-records.csv":          {`shove-knife missing`, `"kind","date"`},
		"dept-records.jsonl":        {`"kind":"queue"`, `"unit":"engine-1"`},
		"dept-records-left-out.txt": {"names of people", "each member's own answer"},
	} {
		text, err := os.ReadFile(filepath.Join(out, name))
		if err != nil {
			t.Fatal(err)
		}
		for _, want := range wants {
			if !strings.Contains(string(text), want) {
				t.Errorf("%s: no %s in %s", name, want, text)
			}
		}
	}
}
