package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A department that begins prints labels for what its quartermaster has in hand,
// and says in a sentence why it cannot.
func TestLabels(t *testing.T) {
	dir, out := filepath.Join(t.TempDir(), "dept"), filepath.Join(t.TempDir(), "labels.pdf")
	if code, printed := cli(t, "", "init", dir); code != exitOK {
		t.Fatal(printed)
	}
	labels := func(args ...string) (int, string) { return cli(t, "", append([]string{"labels"}, args...)...) }
	for name, row := range map[string]struct {
		args []string
		code int
		says string
	}{
		"no department": {[]string{"--out", out}, exitUsage, "-c DIR"},
		"no file":       {[]string{"-c", dir}, exitUsage, "--out FILE"},
		"no such paper": {[]string{"-c", dir, "--out", out, "--paper", "napkin"}, exitUsage, "letter or a4"},
		"nothing":       {[]string{"-c", dir, "--out", out}, exitError, "Nothing is in hand"},
	} {
		if code, printed := labels(row.args...); code != row.code || !strings.Contains(printed, row.says) {
			t.Errorf("%s: exit %d, want %d with %q: %s", name, code, row.code, row.says, printed)
		}
	}
	if code, printed := cli(t, "E1 is missing the shove knife\n1 in hand\n:quit\n", "run", "-c", dir, "--plain"); code != exitOK || !strings.Contains(printed, "In hand") {
		t.Fatalf("exit %d: %s", code, printed)
	}
	if code, printed := labels("-c", dir, "--out", out); code != exitOK || !strings.Contains(printed, "labels for 1 line") {
		t.Errorf("exit %d: %s", code, printed)
	}
	if pdf, err := os.ReadFile(out); err != nil || !bytes.HasPrefix(pdf, []byte("%PDF-")) {
		t.Errorf("%v, %.8q", err, pdf)
	}
}
