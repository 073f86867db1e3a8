package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"kitbell/bot/store"
)

// A backup is made beside a running program, restored elsewhere, and worked on.
func TestBackupAndRestore(t *testing.T) {
	dir, out := started(t), t.TempDir()
	if code, out := cli(t, "E1 shove knife missing\nL2 wood wedge broken\n", "run", "-c", dir); code != exitOK {
		t.Fatal(out)
	}
	running, err := store.Open(t.Context(), filepath.Join(dir, databaseFile), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	code, printed := cli(t, "", "backup", "-c", dir, "--out", out)
	if code != exitOK || !strings.Contains(printed, "opened it and checked it") || !regexp.MustCompile(`(?m)^lines +2 +[0-9a-f]{16}$`).MatchString(printed) {
		t.Fatalf("ended with %d: %s", code, printed)
	}
	if code, printed := cli(t, "", "restore", "-c", dir, "--replace", "nothing.db"); code != exitError || !strings.Contains(printed, "Another kitbell") {
		t.Errorf("a restore beside a program ended with %d: %s", code, printed)
	}
	if err := running.Close(); err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(out, "kitbell-2*Z-dept.db"))
	if err != nil || len(files) != 1 {
		t.Fatalf("files: %v, %v", files, err)
	}
	if info, err := os.Stat(files[0]); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("others may read it: %v, %v", info.Mode(), err)
	}

	if code, printed = cli(t, "", "restore", "-c", dir, files[0]); code != exitError || !strings.Contains(printed, "--replace") {
		t.Errorf("over a database it ended with %d: %s", code, printed)
	}
	if code, printed = cli(t, "", "restore", "-c", dir, "--replace", files[0]); code != exitOK || !strings.Contains(printed, "kitbell-before-2") || !strings.Contains(printed, "says that it was restored") {
		t.Errorf("with --replace it ended with %d: %s", code, printed)
	}
	if code, printed = cli(t, "queue\n", "run", "-c", dir); code != exitOK || !strings.Contains(printed, "2 lines open") {
		t.Errorf("work on it ended with %d: %s", code, printed)
	}
	if code, printed = cli(t, "", "audit", "verify", "-c", dir); code != exitOK {
		t.Errorf("its audit: %s", printed)
	}
}

func TestBackupWrongWords(t *testing.T) {
	dir := started(t)
	for _, row := range []struct {
		name string
		args []string
		code int
		say  string
	}{
		{"no place", []string{"backup", "-c", dir}, exitUsage, "--out"},
		{"no folder", []string{"backup", "--out", dir}, exitUsage, "-c DIR"},
		{"nothing there yet", []string{"backup", "-c", dir, "--out", dir}, exitError, "no database"},
		{"a folder that is not there", []string{"backup", "-c", dir, "--out", dir + "/none/"}, exitError, "Make it first"},
		{"no file to restore", []string{"restore", "-c", dir}, exitUsage, "words that are not flags"},
		{"one that is not there", []string{"restore", "-c", dir, "none.db"}, exitError, "cannot read"},
		{"replacing rows of PostgreSQL", []string{"restore", "--db", "postgres:///x", "--replace", "b.db"}, exitUsage, "empty database"},
		{"no time of day", []string{"run", "-c", dir, "--backup", dir, "--backup-at", "late"}, exitUsage, "--backup-at"},
		{"numbers that are none", []string{"run", "-c", dir, "--backup-keep", "a few"}, exitUsage, "7,5,12"},
	} {
		t.Run(row.name, func(t *testing.T) {
			code, out := cli(t, "", row.args...)
			if code != row.code || !strings.Contains(out, row.say) {
				t.Errorf("ended with %d: %s\nwant %d and %q", code, out, row.code, row.say)
			}
		})
	}
}
