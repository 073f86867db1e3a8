package knowledge_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"kitbell/knowledge"
)

func file(text string) *fstest.MapFile { return &fstest.MapFile{Data: []byte(text)} }

func titled(title string) string { return strings.Replace(chock, "Door chock", title, 1) }

func title(t *testing.T, l *knowledge.Library, id string) string {
	t.Helper()
	c, ok := l.Card(id)
	if !ok {
		return ""
	}
	return c.Title
}

func TestLoad(t *testing.T) {
	l, problems := knowledge.Load(fstest.MapFS{
		"b-card.md":     file(titled("B")),
		"a-card.md":     file(titled("A")),
		"broken.md":     file("nothing"),
		"README.txt":    file("not a card"),
		"folder/c.md":   file("not at the top"),
		"folder.md/x.y": file("a folder with a card's name"),
	})
	var ids []string
	for _, c := range l.All() {
		ids = append(ids, c.ID)
	}
	if want := []string{"a-card", "b-card"}; !slices.Equal(ids, want) {
		t.Errorf("cards %v, want %v", ids, want)
	}
	if len(problems) != 1 || problems[0].File != "broken.md" {
		t.Errorf("problems %v, want one about broken.md", problems)
	}
	if from := l.LinkedFrom("try-first"); !slices.Equal(from, []string{"a-card", "b-card"}) {
		t.Errorf("try-first is linked from %v", from)
	}
}

func TestLoadWithoutAFolder(t *testing.T) {
	missing, err := fs.Sub(fstest.MapFS{}, "nowhere")
	if err != nil {
		t.Fatal(err)
	}
	l, problems := knowledge.Load(missing)
	if len(l.All()) != 0 || len(problems) != 1 {
		t.Errorf("got %d cards and %v, want none and one problem", len(l.All()), problems)
	}
}

func TestOverlayReplacesAddsAndFallsBack(t *testing.T) {
	base, _ := knowledge.Load(fstest.MapFS{"door-chock.md": file(titled("program's"))})
	first, problems := base.Overlay(fstest.MapFS{"door-chock.md": file(titled("own")), "hose-strap.md": file(titled("added"))}, nil)
	if len(problems) != 0 || title(t, first, "door-chock") != "own" || title(t, first, "hose-strap") != "added" {
		t.Fatalf("overlay: %v, %q, %q", problems, title(t, first, "door-chock"), title(t, first, "hose-strap"))
	}

	broken, problems := base.Overlay(fstest.MapFS{"door-chock.md": file("oops"), "hose-strap.md": file(titled("added"))}, first)
	if len(problems) != 1 || problems[0].File != "door-chock.md" || problems[0].Line != 1 {
		t.Errorf("problems %v, want one at door-chock.md:1", problems)
	}
	if got := title(t, broken, "door-chock"); got != "own" {
		t.Errorf("after a broken edit %q serves, want the department's old card", got)
	}

	removed, _ := base.Overlay(fstest.MapFS{}, broken)
	if got := title(t, removed, "door-chock"); got != "program's" {
		t.Errorf("after removal %q serves, want the program's card", got)
	}
	if _, ok := removed.Card("hose-strap"); ok {
		t.Error("a removed card still serves")
	}
}

// Crews call a thing by its old names until the department's own card gives it
// others.
func TestOverlayKeepsAliases(t *testing.T) {
	base, _ := knowledge.Load(fstest.MapFS{"door-chock.md": file(chock)})
	old, _ := base.Card("door-chock")
	if len(old.Aliases) == 0 {
		t.Fatal("the card of the test has no aliases")
	}
	aliases := regexp.MustCompile(`(?m)^aliases: .*$`)
	for name, row := range map[string]struct {
		line string
		want []string
	}{
		"none of its own": {"aliases: []", old.Aliases},
		"its own":         {"aliases: [hall block]", []string{"hall block"}},
	} {
		l, problems := base.Overlay(fstest.MapFS{"door-chock.md": file(aliases.ReplaceAllString(titled("own"), row.line))}, nil)
		if c, ok := l.Card("door-chock"); !ok || c.Title != "own" || !slices.Equal(c.Aliases, row.want) {
			t.Errorf("%s: %v %v", name, c, problems)
		}
	}
}

func TestABrokenNewCardIsLeftOut(t *testing.T) {
	base, _ := knowledge.Load(fstest.MapFS{"door-chock.md": file(chock)})
	l, problems := base.Overlay(fstest.MapFS{"new-card.md": file("oops")}, nil)
	if _, ok := l.Card("new-card"); ok || len(problems) != 1 || len(l.All()) != 1 {
		t.Errorf("cards %d, problems %v", len(l.All()), problems)
	}
}

// A card's file lies in the folder of the cards: a symbolic link may lead out of
// it, whether it is the file or a folder on the way.
func TestLinkedFilesStayInTheFolder(t *testing.T) {
	outside, cards := t.TempDir(), t.TempDir()
	for _, name := range []string{filepath.Join(outside, "far.png"), filepath.Join(cards, "near.png")} {
		if err := os.WriteFile(name, []byte("a picture"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for name, to := range map[string]string{"lent.png": filepath.Join(outside, "far.png"), "lent": outside} {
		if err := os.Symlink(to, filepath.Join(cards, name)); err != nil {
			t.Skip("no symbolic links here:", err)
		}
	}
	for target, fine := range map[string]bool{"near.png": true, "lent.png": false, "lent/far.png": false, "../far.png": false, "gone.png": false} {
		card := strings.Replace(chock, "reviewed:", "links: [\"Ours: "+target+"\"]\nreviewed:", 1)
		if err := os.WriteFile(filepath.Join(cards, "door-chock.md"), []byte(card), 0o600); err != nil {
			t.Fatal(err)
		}
		l, problems := knowledge.NewLibrary(nil).Overlay(os.DirFS(cards), nil)
		if _, ok := l.Card("door-chock"); ok != fine {
			t.Errorf("a link to %s is taken: %v, %v", target, ok, problems)
		}
	}
}
