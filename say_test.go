package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// say runs the say subcommand and gives its lines.
func sayAll(t *testing.T, input string, args ...string) []map[string]any {
	t.Helper()
	var out, trouble bytes.Buffer
	args = append([]string{"say", "--json"}, append(args, "-")...)
	if code := dispatch(t.Context(), args, streams{strings.NewReader(input), &out, &trouble}); code != exitOK {
		t.Fatalf("exit code %d: %s", code, trouble.String())
	}
	var answers []map[string]any
	for line := range strings.Lines(out.String()) {
		var a map[string]any
		if err := json.Unmarshal([]byte(line), &a); err != nil {
			t.Fatalf("line %q: %v", line, err)
		}
		answers = append(answers, a)
	}
	return answers
}

func replyOf(a map[string]any) string { return a["reply"].(map[string]any)["text"].(string) }

// Scripts depend on the names of the fields: none may go or change its kind.
func TestSayFields(t *testing.T) {
	a := sayAll(t, `{"text":"E4 is missing the small hook","from":{"unit":"engine-4","shift":"B"},"conversation":"7"}`+"\n")[0]
	for _, field := range []string{"text", "intent", "also", "reply", "posts", "cards", "lines", "unit", "ask_back", "door", "ms"} {
		if a[field] == nil {
			t.Errorf("field %s is missing", field)
		}
	}
	for _, field := range []string{"text", "buttons", "pictures", "private"} {
		if a["reply"].(map[string]any)[field] == nil {
			t.Errorf("field reply.%s is missing", field)
		}
	}
	d := a["door"].(map[string]any)
	for _, field := range []string{"facts", "failed", "plan", "ruled_out"} {
		if d[field] == nil {
			t.Errorf("field door.%s is missing", field)
		}
	}
	line := a["lines"].([]any)[0].(map[string]any)
	want := map[string]any{"unit": "engine-4", "item": "traveler-hook-small", "condition": "missing", "count": 1.0}
	for field, value := range want {
		if line[field] != value {
			t.Errorf("lines[0].%s = %v, want %v", field, line[field], value)
		}
	}
}

func TestSayDoorFields(t *testing.T) {
	a := sayAll(t, "pull door, latch in plain sight, plate over it, lift assist\n")[0]
	plan := a["door"].(map[string]any)["plan"].([]any)
	if len(plan) < 3 {
		t.Fatalf("a plan of %d steps", len(plan))
	}
	for _, field := range []string{"kind", "technique", "tools", "minutes", "chance", "chance_low", "chance_high", "records", "mark", "tries"} {
		if plan[0].(map[string]any)[field] == nil {
			t.Errorf("field door.plan[0].%s is missing", field)
		}
	}
}

// Lines share the queue, and hear each other only within a conversation.
func TestSayConversations(t *testing.T) {
	answers := sayAll(t, strings.Join([]string{
		`{"text":"the strap is missing","conversation":"1"}`,
		`{"text":"E4","conversation":"2"}`,
		`{"text":"E4","conversation":"1"}`,
		`{"text":"queue E4","conversation":"3"}`,
	}, "\n"))
	if got := answers[0]["ask_back"].([]any); len(got) == 0 || got[0] != "unit" {
		t.Errorf("asked back %v, want unit", got)
	}
	if got := len(answers[1]["lines"].([]any)); got != 0 {
		t.Errorf("another conversation's answer made %d lines", got)
	}
	if got := len(answers[2]["lines"].([]any)); got != 1 {
		t.Errorf("the answer in its own conversation made %d lines", got)
	}
	if !strings.Contains(replyOf(answers[3]), "strap missing") {
		t.Errorf("the queue is not shared: %s", replyOf(answers[3]))
	}
}

// With --fresh no line knows of another.
func TestSayFresh(t *testing.T) {
	answers := sayAll(t, "E4 strap missing\nqueue E4\n", "--fresh")
	if !strings.Contains(replyOf(answers[1]), "Nothing open") {
		t.Errorf("the second line sees the first: %s", replyOf(answers[1]))
	}
}

func TestSayPress(t *testing.T) {
	first := sayAll(t, "E4 strap missing\n")[0]
	buttons := first["reply"].(map[string]any)["buttons"].([]any)
	value := buttons[len(buttons)-1].(map[string]any)["value"].(string)
	answers := sayAll(t, "E4 strap missing\n"+`{"press":"`+value+`"}`+"\n"+`{"press":"no:such"}`+"\n")
	if !strings.HasPrefix(replyOf(answers[1]), "Undone") {
		t.Errorf("pressing %s said %s", value, replyOf(answers[1]))
	}
	if !strings.Contains(replyOf(answers[2]), "had its day") {
		t.Errorf("pressing nonsense said %s", replyOf(answers[2]))
	}
}

// A bad line gives an error and the next one is answered.
func TestSayBadLines(t *testing.T) {
	long := strings.Repeat("film ", 200_000)
	for _, row := range []struct{ name, line string }{
		{"broken JSON", `{"text":`},
		{"unknown unit", `{"text":"film torn","from":{"unit":"engine-9"}}`},
		{"unknown platoon", `{"text":"film torn","from":{"platoon":"Z"}}`},
		{"unknown member", `{"text":"film torn","from":{"member":"nobody"}}`},
		{"an empty message", `{"text":""}`},
		{"an empty line", ``},
		{"a megabyte", long},
		{"not text", "film \xff\xfe torn"},
		{"an access code", "gate code is 4711#"},
	} {
		t.Run(row.name, func(t *testing.T) {
			answers := sayAll(t, row.line+"\nqueue\n")
			if len(answers) != 2 || answers[0]["error"] == nil || answers[1]["error"] != nil {
				t.Fatalf("answers: %.300v", answers)
			}
			for field, value := range answers[0] {
				if value == nil {
					t.Errorf("%s is null", field)
				}
			}
		})
	}
}

// Each answer is there before the next line is read.
func TestSayFlushes(t *testing.T) {
	in, typed := io.Pipe()
	shown, out := io.Pipe()
	done := make(chan int)
	go func() {
		done <- dispatch(t.Context(), []string{"say", "--json", "-"}, streams{in, out, io.Discard})
		out.Close()
	}()
	lines := bufio.NewReader(shown)
	for range 2 {
		if _, err := io.WriteString(typed, "queue\n"); err != nil {
			t.Fatal(err)
		}
		if _, err := lines.ReadString('\n'); err != nil {
			t.Fatal(err)
		}
	}
	typed.Close()
	if code := <-done; code != exitOK {
		t.Errorf("exit code %d", code)
	}
}

// People are taken as they are written: rigs and platoons as crews say them, a
// conversation as a number, a member by name.
func TestSayIsForgiving(t *testing.T) {
	a := sayAll(t, `{"text":"film torn","from":{"unit":"E4","platoon":"b"},"conversation":7}`+"\n")[0]
	if a["error"] != nil || a["unit"] != "engine-4" {
		t.Errorf("answer: %.300v", a)
	}
	var out bytes.Buffer
	if code := dispatch(t.Context(), []string{"say", "--as", "perrin marsh", "queue"}, streams{nil, &out, &out}); code != exitOK {
		t.Errorf("--as a name: %s", out.String())
	}
}

// In plain text a message that cannot be taken does not end the rest.
func TestSayPlainGoesOn(t *testing.T) {
	var out, trouble bytes.Buffer
	in := strings.NewReader("queue\ngate code 4471\nqueue\n")
	if code := dispatch(t.Context(), []string{"say", "-"}, streams{in, &out, &trouble}); code != exitError {
		t.Errorf("ended with %d", code)
	}
	if n := strings.Count(out.String(), "Nothing open"); n != 2 || !strings.Contains(trouble.String(), "access code") {
		t.Errorf("printed %q and %q", out.String(), trouble.String())
	}
}

// A press means what its button says, also in the answer.
func TestSayPressIntent(t *testing.T) {
	answers := sayAll(t, "pull door, spring latch, no plate\n"+`{"press":"door:why"}`+"\n"+`{"press":"say:gate code 4471"}`+"\n")
	if answers[1]["intent"] != "door" {
		t.Errorf("intent %v, want door", answers[1]["intent"])
	}
	if answers[2]["error"] == nil {
		t.Error("an access code behind a button was taken")
	}
}

func TestSayText(t *testing.T) {
	var out bytes.Buffer
	if code := dispatch(t.Context(), []string{"say", "E4", "strap", "missing"}, streams{nil, &out, &out}); code != exitOK {
		t.Fatalf("exit code %d: %s", code, out.String())
	}
	if !strings.Contains(out.String(), "Engine 4: door strap missing") {
		t.Errorf("said %s", out.String())
	}
	out.Reset()
	if code := dispatch(t.Context(), []string{"say", "gate code is 4711#"}, streams{nil, &out, &out}); code != exitError {
		t.Errorf("an access code ended with %d: %s", code, out.String())
	}
}

// A department written by init is ready: preflight finds nothing, say speaks
// for it, and nothing that is said reaches its folder.
func TestInitPreflightSay(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "mill-valley")
	run := func(want int, args ...string) string {
		t.Helper()
		var out bytes.Buffer
		if code := dispatch(t.Context(), args, streams{strings.NewReader(""), &out, &out}); code != want {
			t.Fatalf("%v ended with %d: %s", args, code, out.String())
		}
		return out.String()
	}
	run(exitOK, "init", dir)
	run(exitError, "init", dir)
	run(exitOK, "preflight", "-c", dir)
	run(exitOK, "say", "-c", dir, "queue")
	if names := filesIn(t, dir); !slices.Equal(names, []string{"department.yaml"}) {
		t.Errorf("the folder holds %v", names)
	}
}

func filesIn(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

// Every command that help names is understood as itself when it is typed as
// help says.
func TestHelpIsUnderstood(t *testing.T) {
	var want, typed []string
	for _, c := range commands() {
		if usage, _, _ := strings.Cut(c.Usage, ", or: "); usage != "" {
			want = append(want, c.Name)
			usage = strings.NewReplacer("{rig}", "E4", "{rig2}", "L4", "{member}", "Perrin Marsh").Replace(usage)
			typed = append(typed, `{"text":"`+usage+`","from":{"unit":"engine-4","platoon":"B"}}`)
		}
	}
	for i, a := range sayAll(t, strings.Join(typed, "\n"), "--fresh") {
		if a["intent"] != want[i] {
			t.Errorf("%q is understood as %v, want %s", a["text"], a["intent"], want[i])
		}
	}
}
