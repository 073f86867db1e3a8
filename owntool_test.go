package main

import (
	"strings"
	"testing"

	"kitbell/bot/department"
)

// A tool that only the department's file knows is answered with what the file
// says, and never with another tool's card.
func TestOwnToolWithoutCard(t *testing.T) {
	w := newWatched(t)
	file := strings.Replace(string(department.Start(".")), "name: Kit bag, aliases: [the bag]", "name: Gate paddle", 1)
	w.write(department.FileName, file)
	w.settle()
	for _, question := range []string{"what is the gate paddle", "how do I use the gate paddle"} {
		got := w.ask(question)
		for _, want := range []string{"Gate paddle", "no card on it", "1 in each kit, by list version 1"} {
			if !strings.Contains(got, want) {
				t.Errorf("%q lacks %q: %s", question, want, got)
			}
		}
		if strings.Contains(got, "1. ") {
			t.Errorf("%q shows steps of something else: %s", question, got)
		}
	}
	if got := w.ask("gate paddle or shove knife, which one for a tight gap"); strings.Contains(got, "no card on it") {
		t.Errorf("a question that names a tool with a card: %s", got)
	}
	if got := w.ask("what is a deadbolt"); strings.Contains(got, "no card on it") {
		t.Errorf("a question on something else: %s", got)
	}
}
