package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"kitbell/bot/store"
)

// cli runs the program with its words and gives what it printed, on both
// streams.
func cli(t *testing.T, input string, args ...string) (code int, printed string) {
	t.Helper()
	var out bytes.Buffer
	code = dispatch(t.Context(), args, streams{strings.NewReader(input), &out, &out})
	return code, out.String()
}

// started makes a department's folder as init does.
func started(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "dept")
	if code, out := cli(t, "", "init", dir); code != exitOK {
		t.Fatal(out)
	}
	return dir
}

func TestWrongWords(t *testing.T) {
	dir := started(t)
	for _, row := range []struct {
		name string
		args []string
		code int
		say  string
	}{
		{"an unknown subcommand", []string{"dance"}, exitUsage, `there is no "dance"`},
		{"an unknown flag", []string{"demo", "--dance"}, exitUsage, "dance"},
		{"words too many", []string{"demo", "now"}, exitUsage, "Use it like this"},
		{"words too few", []string{"say"}, exitUsage, "Use it like this"},
		{"no folder named", []string{"run"}, exitUsage, "-c DIR"},
		{"a folder that is not there", []string{"run", "-c", filepath.Join(dir, "no")}, exitError, "no folder"},
		{"a folder without a file", []string{"run", "-c", filepath.Dir(dir) + "/.."}, exitError, "kitbell init"},
		{"an unknown member", []string{"say", "--as", "nobody", "queue"}, exitError, "Nobody here is called nobody"},
		{"a time that is none", []string{"demo", "--start", "soon"}, exitUsage, "--start"},
		{"a set that is none", []string{"measure", "moods", "file"}, exitUsage, "moods"},
		{"figures of what is no set", []string{"measure", "--figures", "moods", "file"}, exitUsage, "moods"},
		{"a file that is not there", []string{"measure", "questions", filepath.Join(dir, "no.tsv")}, exitError, "cannot read"},
		{"help", []string{"help"}, exitOK, "kitbell demo"},
		{"nothing", nil, exitOK, "kitbell demo"},
	} {
		t.Run(row.name, func(t *testing.T) {
			code, out := cli(t, "", row.args...)
			if code != row.code || !strings.Contains(out, row.say) {
				t.Errorf("ended with %d: %s\nwant %d and %q", code, out, row.code, row.say)
			}
		})
	}
}

// A broken department file shows every mistake with its line, and nothing is
// made in its folder.
func TestBrokenDepartmentFile(t *testing.T) {
	dir := started(t)
	name := filepath.Join(dir, "department.yaml")
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	broken := strings.NewReplacer("zone: America/New_York", "zone: America/Nowhere", "station: station-2", "station: station-9").Replace(string(text))
	if err := os.WriteFile(name, []byte(broken), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"preflight", "-c", dir}, {"run", "-c", dir}, {"say", "-c", dir, "queue"}} {
		code, out := cli(t, "", args...)
		if code != exitError || !strings.Contains(out, "America/Nowhere") || !strings.Contains(out, "station-9") {
			t.Errorf("%s ended with %d: %s", args[0], code, out)
		}
	}
	if names := filesIn(t, dir); len(names) != 1 {
		t.Errorf("the folder holds %v", names)
	}
}

// A broken card of the department's own is named with its file and line.
func TestBrokenOwnCard(t *testing.T) {
	dir := started(t)
	cards := filepath.Join(dir, "cards")
	if err := os.Mkdir(cards, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(cards, "our-hook.md"), []byte("---\ntitle: Our hook\nkind: gadget\n---\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	code, out := cli(t, "", "preflight", "-c", dir)
	if code != exitError || !strings.Contains(out, "our-hook.md:3") {
		t.Errorf("ended with %d: %s", code, out)
	}
}

// A second program on the same database is refused, and the first goes on.
func TestSecondProgram(t *testing.T) {
	dir := started(t)
	first, err := store.Open(t.Context(), filepath.Join(dir, databaseFile), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer first.Close()
	code, out := cli(t, "queue\n", "run", "-c", dir)
	if code != exitError || !strings.Contains(out, "Another kitbell") {
		t.Errorf("ended with %d: %s", code, out)
	}
	if code, out := cli(t, "", "say", "-c", dir, "queue"); code != exitOK {
		t.Errorf("say beside it ended with %d: %s", code, out)
	}
	if code, out := cli(t, "", "preflight", "-c", dir); code != exitOK {
		t.Errorf("preflight beside it ended with %d: %s", code, out)
	}
}

// What is reported in one run is there in the next; say sees it too and changes
// nothing.
func TestRunKeeps(t *testing.T) {
	dir := started(t)
	if code, out := cli(t, "E1 shove knife missing\n", "run", "-c", dir); code != exitOK || !strings.Contains(out, "#1 Engine 1") {
		t.Fatalf("ended with %d: %s", code, out)
	}
	if _, out := cli(t, "", "say", "-c", dir, "L2 wood wedge broken"); !strings.Contains(out, "#2 Ladder 2") {
		t.Errorf("say: %s", out)
	}
	if _, out := cli(t, "queue\n", "run", "-c", dir); !strings.Contains(out, "1 line open") {
		t.Errorf("the second run: %s", out)
	}
	if code, out := cli(t, "", "preflight", "-c", dir); code != exitOK || !strings.Contains(out, "chained without a break") {
		t.Errorf("preflight ended with %d: %s", code, out)
	}
}

// A file in the database's place that is none is left alone.
func TestNotADatabase(t *testing.T) {
	dir := started(t)
	name := filepath.Join(dir, databaseFile)
	if err := os.WriteFile(name, []byte("a shopping list, and not a short one at all"), 0o600); err != nil {
		t.Fatal(err)
	}
	if code, out := cli(t, "queue\n", "run", "-c", dir); code != exitError || strings.Contains(out, "panic") {
		t.Errorf("ended with %d: %s", code, out)
	}
	if got, _ := os.ReadFile(name); !strings.HasPrefix(string(got), "a shopping list") {
		t.Error("the file was written over")
	}
}

// A department's own figures for doors are used, and wrong ones named.
func TestOwnAssumptions(t *testing.T) {
	dir := started(t)
	name := filepath.Join(dir, ownAssumptions)
	if err := os.WriteFile(name, []byte("limit_minutes: 3\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if code, out := cli(t, "", "preflight", "-c", dir); code != exitOK {
		t.Errorf("good figures ended with %d: %s", code, out)
	}
	if err := os.WriteFile(name, []byte("limit_minutes: soon\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if code, out := cli(t, "", "preflight", "-c", dir); code != exitError || !strings.Contains(out, "assumptions") {
		t.Errorf("wrong figures ended with %d: %s", code, out)
	}
}
