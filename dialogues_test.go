package main

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/tools/txtar"
)

var update = flag.Bool("update", false, "write what the dialogues show into their files")

// dialogueStart is when every dialogue begins: a Monday morning in the demo's
// zone, just after the change of tour.
const dialogueStart = "2026-11-23T07:45"

// A dialogue is a txtar file: what it is about, then what is typed, then what
// is shown. It runs through the real wiring: terminal, intake, router, store and
// outbox.
func TestDialogues(t *testing.T) {
	files, err := filepath.Glob("testdata/dialogues/*.txtar")
	if err != nil || len(files) < 15 {
		t.Fatalf("%d dialogues, %v; there are at least 15", len(files), err)
	}
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txtar"), func(t *testing.T) { runDialogue(t, file) })
	}
}

func runDialogue(t *testing.T, file string) {
	t.Parallel()
	archive, err := txtar.ParseFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if len(archive.Files) == 0 || archive.Files[0].Name != "typed" {
		t.Fatal("the first file of a dialogue is called typed")
	}
	pictures := t.TempDir()
	var shown, trouble bytes.Buffer
	args := []string{"demo", "--plain", "--start", dialogueStart, "--pictures", pictures}
	code := dispatch(t.Context(), args, streams{bytes.NewReader(archive.Files[0].Data), &shown, &trouble})
	if code != exitOK || trouble.Len() > 0 {
		t.Errorf("exit code %d, on the error stream: %s", code, trouble.String())
	}
	got := strings.ReplaceAll(shown.String(), pictures, "PICTURES")
	if *update {
		archive.Files = append(archive.Files[:1], txtar.File{Name: "shown", Data: []byte(got)})
		if err := os.WriteFile(file, txtar.Format(archive), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want := ""
	if len(archive.Files) > 1 {
		want = string(archive.Files[1].Data)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("%s (-want +got; run with -update and read what changed):\n%s", archive.Comment, diff)
	}
}
