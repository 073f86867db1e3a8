package bot_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"kitbell/knowledge"
)

// verb is a fmt verb of a pattern, which stands for a word.
var verb = regexp.MustCompile(`%[a-z]`)

// Everything that a person hears when something stands in the way can be read
// at grade 8 (Flesch-Kincaid), in sentences of at most 20 words.
func TestSentencesAreEasy(t *testing.T) {
	for _, file := range []string{"sentence.go", "../adapters/console/words.go"} {
		said := sentencesIn(t, file)
		if len(said) < 3 {
			t.Fatalf("%s: %d sentences found", file, len(said))
		}
		var all []string
		for name, text := range said {
			for _, s := range strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(".?!:", r) }) {
				if n := len(strings.Fields(s)); n > 20 {
					t.Errorf("%s: %d words in %q", name, n, s)
				}
				all = append(all, s)
			}
		}
		if grade := knowledge.Grade(all, nil); grade > 8 {
			t.Errorf("%s reads at grade %.1f", file, grade)
		}
	}
}

// sentencesIn gives the string constants of a file's Sentence declarations.
func sentencesIn(t *testing.T, file string) map[string]string {
	t.Helper()
	tree, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	said := make(map[string]string)
	ast.Inspect(tree, func(n ast.Node) bool {
		spec, ok := n.(*ast.ValueSpec)
		if !ok {
			return true
		}
		for i, value := range spec.Values {
			lit, ok := value.(*ast.BasicLit)
			if !ok || lit.Kind != token.STRING {
				continue
			}
			text, err := strconv.Unquote(lit.Value)
			if err != nil {
				t.Fatal(err)
			}
			if strings.Contains(text, " ") {
				said[spec.Names[i].Name] = verb.ReplaceAllString(text, "it")
			}
		}
		return true
	})
	return said
}
