package main_test

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// mayImport says which of our packages each package may import. A pattern that
// ends in /* stands for every package below. A package that is not here may
// import nothing of ours and fails the test, so that a new one is placed on
// purpose.
var mayImport = map[string][]string{
	"bot":                    {},
	"schedule":               {"bot"},
	"knowledge":              {"bot"},
	"knowledge/drawing":      {"bot"},
	"bot/door":               {"bot"},
	"bot/deliver":            {"bot"},
	"bot/lease":              {"bot"},
	"adapters/*":             {"bot"},
	"adapters/adaptertest/*": {"bot", "adapters/adaptertest"},
	"bot/kit":                {"bot", "bot/door"},
	"bot/department":         {"bot", "bot/kit", "schedule"},
	"bot/training":           {"bot", "bot/door", "bot/kit", "bot/sheet", "schedule"},
	"bot/budget":             {"bot", "bot/door", "bot/kit", "bot/sheet", "schedule"},
	"bot/understand":         {"bot", "bot/department", "bot/door", "bot/kit"},
	"bot/store":              {"bot", "bot/deliver", "bot/kit", "schedule"},
	"bot/store/*":            {"bot", "bot/deliver", "bot/kit", "bot/store", "schedule"},
	"bot/command":            {"bot", "bot/budget", "bot/chart", "bot/department", "bot/door", "bot/kit", "bot/sheet", "bot/training", "bot/understand", "knowledge", "knowledge/drawing", "schedule"},
	"bot/chart":              {},
	"bot/label":              {},
	"bot/photo":              {},
	"bot/pocket":             {"bot/door", "bot/kit", "knowledge", "knowledge/drawing"},
	"bot/sheet":              {},
	"bot/measure":            {"bot/command", "knowledge", "bot/understand", "bot/door"},
	"testdata/*":             {"bot", "bot/department", "bot/kit"},
	"main":                   {"*"},
}

// The house stands as DEVELOPERS.md draws it: no package imports another that
// it may not. Test files may import what they test with.
func TestHouse(t *testing.T) {
	imports := ourImports(t)
	for from, tos := range imports {
		allowed, ok := lookUp(from)
		if !ok {
			t.Errorf("package %s has no place in the house: say in mayImport what it may import", from)
			continue
		}
		for _, to := range tos {
			if !slices.Contains(allowed, "*") && !slices.ContainsFunc(allowed, func(p string) bool { return fits(p, to) }) {
				t.Errorf("package %s imports %s, which it may not", from, to)
			}
		}
	}
	if len(imports) < 10 {
		t.Errorf("only %d packages found: the test looks in the wrong place", len(imports))
	}
}

func lookUp(pkg string) ([]string, bool) {
	if allowed, ok := mayImport[pkg]; ok {
		return allowed, true
	}
	best := ""
	for pattern := range mayImport {
		if fits(pattern, pkg) && len(pattern) > len(best) { // the nearest pattern says it
			best = pattern
		}
	}
	allowed, ok := mayImport[best]
	return allowed, ok
}

func fits(pattern, pkg string) bool {
	if below, ok := strings.CutSuffix(pattern, "/*"); ok {
		return strings.HasPrefix(pkg, below+"/")
	}
	return pattern == pkg
}

// ourImports reads the sources, not the build, so that files for other systems
// count too. It gives package → our packages that it imports.
func ourImports(t *testing.T) map[string][]string {
	t.Helper()
	imports := make(map[string][]string)
	files := token.NewFileSet()
	err := fs.WalkDir(os.DirFS("."), ".", func(name string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && name != "." && (strings.HasPrefix(d.Name(), ".") || hasModule(name)):
			return fs.SkipDir
		case d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go"):
			return nil
		}
		file, err := parser.ParseFile(files, name, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		pkg := path.Dir(name)
		if pkg == "." {
			pkg = "main"
		}
		imports[pkg] = append(imports[pkg], []string{}...)
		for _, spec := range file.Imports {
			to, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				return err
			}
			if ours, ok := strings.CutPrefix(to, "kitbell/"); ok && !slices.Contains(imports[pkg], ours) {
				imports[pkg] = append(imports[pkg], ours)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return imports
}

// hasModule says whether a folder is a module of its own.
func hasModule(dir string) bool {
	_, err := os.Stat(path.Join(dir, "go.mod"))
	return err == nil
}

// At the top level stand only package main, the module's files, the two papers
// for people and the folders of the house.
func TestTopLevel(t *testing.T) {
	entries, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	allowed := []string{"go.mod", "go.sum", "README.md", "DEVELOPERS.md", "LICENSE", ".gitignore", ".ci", ".git", "bot", "adapters", "knowledge", "schedule", "testdata"}
	for _, e := range entries {
		if info, err := e.Info(); err == nil && info.Mode().IsRegular() && info.Mode()&0o111 != 0 {
			continue // a program that somebody built here
		}
		if !slices.Contains(allowed, e.Name()) && !strings.HasSuffix(e.Name(), ".go") {
			t.Errorf("%s does not belong at the top level", e.Name())
		}
	}
}
