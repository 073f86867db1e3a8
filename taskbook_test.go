package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"kitbell/bot/department"
)

// A page of the task book is printed with what was signed, and refused in words.
func TestTaskBookPage(t *testing.T) {
	dir, out := filepath.Join(t.TempDir(), "dept"), filepath.Join(t.TempDir(), "page.pdf")
	if code, printed := cli(t, "", "init", dir); code != exitOK {
		t.Fatal(printed)
	}
	page := func(args ...string) (int, string) {
		return cli(t, "", append([]string{"taskbook", "-c", dir, "--out", out}, args...)...)
	}
	if code, printed := page("--member", "First Member"); code != exitError || !strings.Contains(printed, "no task book") {
		t.Errorf("without one: exit %d, %s", code, printed)
	}
	path := filepath.Join(dir, department.FileName)
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	file = append(file, []byte("\ntask-book:\n  - {id: slip-inward, title: Slip an inward door}\n  - {id: kit-care, title: Care of the kit, no-door: true}\nevaluators:\n  - {member: first-lead}\n")...)
	if err := os.WriteFile(path, file, 0o600); err != nil {
		t.Fatal(err)
	}
	typed := "signed off First Member on slip an inward door, opens away, spring latch, 2 tries\nsigned off First Member on care of the kit, 1 try\n:quit\n"
	if code, printed := cli(t, typed, "run", "-c", dir, "--plain"); code != exitOK || !strings.Contains(printed, "Sign-off 2: First Member, Care of the kit, shown") {
		t.Fatalf("exit %d: %s", code, printed)
	}
	if code, printed := page("--member", "First Member"); code != exitOK || !strings.Contains(printed, "0 of 2 skills open") {
		t.Errorf("exit %d: %s", code, printed)
	}
	if pdf, err := os.ReadFile(out); err != nil || !bytes.HasPrefix(pdf, []byte("%PDF-")) {
		t.Errorf("%v, %.8q", err, pdf)
	}
	_, printed := page("--member", "First Member")
	code := strings.Fields(printed[strings.Index(printed, "Record ")+len("Record "):])[0]
	code = strings.TrimSuffix(code, ".")
	check := func(code string) (int, string) {
		return cli(t, "", "taskbook", "-c", dir, "--member", "First Member", "--check", code)
	}
	if exit, printed := check(strings.ToUpper(code)); exit != exitOK || !strings.Contains(printed, "as it stands") {
		t.Errorf("the page's own code %s: exit %d, %s", code, exit, printed)
	}
	cli(t, "withdraw sign-off 2 because it was another day\n:quit\n", "run", "-c", dir, "--plain")
	if exit, printed := check(code); exit != exitError || !strings.Contains(printed, "signed or withdrawn since") {
		t.Errorf("after a withdrawal: exit %d, %s", exit, printed)
	}
	for _, args := range [][]string{nil, {"--member", "x", "--paper", "napkin"}} {
		if code, _ := page(args...); code != exitUsage {
			t.Errorf("%v: exit %d", args, code)
		}
	}
	if code, printed := page("--member", "Nobody At All"); code != exitError || !strings.Contains(printed, "Nobody here is called") {
		t.Errorf("nobody: exit %d, %s", code, printed)
	}
}
