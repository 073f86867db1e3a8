package command_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
)

// Every kind of entry that a command writes has words that a person understands:
// the package's sources are read for the kinds.
func TestEveryKindHasWords(t *testing.T) {
	kinds := kindsInSources(t)
	if len(kinds) < 30 {
		t.Fatalf("only %d kinds found: %v", len(kinds), kinds)
	}
	for name, kind := range kinds {
		words, ok := command.KindWords(kind)
		if !ok || strings.Contains(words, "entry") && kind != "session" && kind != "shelf" || strings.Contains(kind, "-") && strings.Contains(words, kind) && kind != "stop-use" && kind != "roll-out" {
			t.Errorf("%s %q: %q", name, kind, words)
		}
	}
	if words, ok := command.KindWords("none-such"); ok {
		t.Errorf("a kind that is none: %q", words)
	}
}

// kindsInSources gives the constants that are written as an entry's kind, by name:
// those whose name ends in Kind, and whatever NewEntry is called with.
func kindsInSources(t *testing.T) map[string]string {
	t.Helper()
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	values, written := map[string]string{}, map[string]bool{}
	for _, path := range files {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.ValueSpec:
				noteStrings(values, n)
			case *ast.CallExpr:
				if called, ok := n.Fun.(*ast.SelectorExpr); ok && called.Sel.Name == "NewEntry" {
					if kind, ok := n.Args[0].(*ast.Ident); ok {
						written[kind.Name] = true
					} else {
						t.Errorf("%s: an entry whose kind is no constant", path)
					}
				}
			}
			return true
		})
	}
	kinds := map[string]string{}
	for name, value := range values {
		if strings.HasSuffix(name, "Kind") || written[name] {
			kinds[name] = value
		}
	}
	for name := range written {
		if kinds[name] == "" {
			t.Errorf("the kind %s is not among the constants", name)
		}
	}
	return kinds
}

func noteStrings(values map[string]string, spec *ast.ValueSpec) {
	for i, name := range spec.Names {
		if i >= len(spec.Values) {
			return
		}
		if lit, ok := spec.Values[i].(*ast.BasicLit); ok && lit.Kind == token.STRING {
			if value, err := strconv.Unquote(lit.Value); err == nil {
				values[name.Name] = value
			}
		}
	}
}

// Undo says what it took back as a person would, and one thing once.
func TestUndoSaysWhat(t *testing.T) {
	b := newBench(t, command.UsedCommand(), command.SharedDoorCommand(), command.RollOutCommand(), command.UndoCommand(), command.NoneCommand())
	lead, crew := b.holder(department.Lead), b.crewOf("engine-4", "B")
	b.say(crew, "used the latch film on a door, opens away, spring latch, opened, second try, no mark")
	shared := b.press(lead, b.say(lead, "share a door").button(t, "Share 1"))
	begun := b.say(lead, "roll out the latch film")
	had := b.press(crew, "roll-out:had:latch-film")
	for _, row := range []struct {
		by     bot.Speaker
		button string
		want   string
	}{
		{crew, had.button(t, "Undo"), "Undone: hands on the latch film."},
		{lead, begun.button(t, "Undo"), "Undone: the roll-out of the latch film."},
		{lead, shared.button(t, "Undo"), "Undone: the shared door."},
	} {
		if got := strings.TrimSpace(b.press(row.by, row.button).text); got != row.want {
			t.Errorf("said %q, want %q", got, row.want)
		}
	}
}
