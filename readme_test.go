package main

import (
	"bytes"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode"
)

// fence finds the fenced blocks of a Markdown file: language, then content.
var fence = regexp.MustCompile("(?ms)^```([a-z]+)\n(.*?)^```$")

func blocks(t *testing.T, language string) []string {
	t.Helper()
	readme, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	var found []string
	for _, m := range fence.FindAllStringSubmatch(string(readme), -1) {
		if m[1] == language {
			found = append(found, m[2])
		}
	}
	if len(found) == 0 {
		t.Fatalf("README.md has no %s block", language)
	}
	return found
}

// Every command of the README's console blocks that can be run here prints
// what stands below it. The two that set everything up are run by CI itself.
func TestReadmeCommands(t *testing.T) {
	consoles := blocks(t, "console")
	t.Chdir(t.TempDir())
	ran := 0
	for _, block := range consoles {
		for _, part := range strings.Split("\n"+block, "\n$ ")[1:] {
			line, want, _ := strings.Cut(part, "\n")
			args, ok := strings.CutPrefix(line, "go run . ")
			if !ok || args == "demo" {
				continue
			}
			ran++
			var out bytes.Buffer
			dispatch(t.Context(), shellWords(args), streams{strings.NewReader(""), &out, &out})
			if got := strings.TrimSpace(out.String()); got != strings.TrimSpace(want) {
				t.Errorf("$ %s\nprints\n%s\nand the README says\n%s", line, got, want)
			}
		}
	}
	if ran == 0 {
		t.Error("README.md has no command to run")
	}
}

// Every conversation of the README is one that the demo has: what is typed
// stands behind "> ", and what stands below is shown, in this order.
func TestReadmeConversations(t *testing.T) {
	for _, block := range blocks(t, "text") {
		var typed, want []string
		for line := range strings.Lines(block) {
			line = strings.TrimRight(line, "\n")
			if said, ok := strings.CutPrefix(line, "> "); ok {
				typed = append(typed, said)
			} else if strings.TrimSpace(line) != "" {
				want = append(want, line)
			}
		}
		shown := demoShows(t, typed)
		for _, line := range want {
			i := slices.IndexFunc(shown, func(s string) bool { return strings.TrimSpace(s) == strings.TrimSpace(line) })
			if i < 0 {
				t.Errorf("after %q the README shows a line that the demo does not:\n%s\nIt shows:\n%s", typed, line, strings.Join(shown, "\n"))
				break
			}
			shown = shown[i+1:]
		}
	}
}

func demoShows(t *testing.T, typed []string) []string {
	t.Helper()
	var out, trouble bytes.Buffer
	in := strings.NewReader(strings.Join(typed, "\n") + "\n")
	args := []string{"demo", "--start", dialogueStart, "--pictures", t.TempDir()}
	if code := dispatch(t.Context(), args, streams{in, &out, &trouble}); code != exitOK {
		t.Fatalf("demo ended with %d: %s", code, trouble.String())
	}
	return strings.Split(out.String(), "\n")
}

// shellWords splits a command line at blanks, with double and single quotes.
func shellWords(line string) []string {
	var words []string
	var word strings.Builder
	var quote rune
	inside := false
	for _, r := range line {
		switch {
		case quote != 0 && r == quote:
			quote = 0
		case quote == 0 && (r == '"' || r == '\''):
			quote, inside = r, true
		case quote == 0 && unicode.IsSpace(r):
			if inside || word.Len() > 0 {
				words = append(words, word.String())
			}
			word.Reset()
			inside = false
		default:
			word.WriteRune(r)
		}
	}
	if inside || word.Len() > 0 {
		words = append(words, word.String())
	}
	return words
}
