package knowledge_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"pgregory.net/rapid"

	"kitbell/knowledge"
)

// fixture writes a card from a few lines; the body is its intro.
func fixture(kind, title, aliases, asks, notAbout, intro string) *fstest.MapFile {
	return file(fmt.Sprintf("---\ntitle: %s\nkind: %s\naliases: [%s]\nasks: [%s]\nnot_about: [%s]\ntools: []\nhazards: []\nrelated: []\nsources: [common practice]\nreviewed: 2026-11-24\n---\n%s\n",
		title, kind, aliases, asks, notAbout, intro))
}

func smallLibrary() fstest.MapFS {
	return fstest.MapFS{
		"deadbolt.md":  fixture("hardware", "Deadbolt", "thrown bolt", "square bolt above the knob, will the blade move it", "", "A dead bolt has a square end and a 1 in throw."),
		"air-wedge.md": fixture("tool", "Air wedge", "inflatable bag", "how do I spread the gap without a mark", "tire pumps", "A bag that you pump up by hand to spread a door by an eighth of an inch."),
		"drill.md":     fixture("drill", "Latch drill", "", "practise slipping a latch at the table", "", "A board with latches to practise on."),
		"glass.md":     fixture("hazard", "Glass hazard", "shards", "where do I stand when a pane breaks", "", "Broken glass cuts. Stand to the side and clear the shards."),
	}
}

func index(t testing.TB, fsys fstest.MapFS) *knowledge.Index {
	t.Helper()
	l, problems := knowledge.Load(fsys)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	idx, err := knowledge.NewIndex(l)
	if err != nil {
		t.Fatal(err)
	}
	return idx
}

func TestSearchFinds(t *testing.T) {
	idx := index(t, smallLibrary())
	tests := []struct{ name, question, want string }{
		{"title", "deadbolt", "deadbolt"},
		{"two words for one", "dead bolt", "deadbolt"},
		{"one word for two", "airwedge", "air-wedge"},
		{"another form of the word", "spreading gaps", "air-wedge"},
		{"alias", "inflatable bag", "air-wedge"},
		{"slang of the thesaurus", "squeeze ball balloon", "air-wedge"},
		{"letters swapped", "sqaure blot", "deadbolt"},
		{"letter left out", "shrds of glas", "glass"},
		{"spelled by ear", "braking glas, wher do i stend", "glass"},
		{"number in words", "an eighth of an inch", "air-wedge"},
		{"number in millimetres", "3 mm gap", "air-wedge"},
		{"the same number without a unit", "1/8", "air-wedge"},
		{"wrong case and marks", "GLASS HAZARD?!", "glass"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			found := idx.Search(tt.question, 3)
			if len(found.Hits) == 0 || found.Hits[0].ID != tt.want {
				t.Errorf("%q finds %v, want %s first", tt.question, found.Hits, tt.want)
			}
		})
	}
}

func TestSearchDeclines(t *testing.T) {
	idx := index(t, smallLibrary())
	for _, question := range []string{"", "   ", "?!", "the of a", "what's for dinner", "xqzw vvkp", "who won the football game", "\xff\xfe"} {
		if found := idx.Search(question, 3); found.Verdict != knowledge.Declined {
			t.Errorf("%q is %s: %v", question, found.Verdict, found.Hits)
		}
	}
}

func TestSearchNamesTheTopicBeyond(t *testing.T) {
	found := index(t, smallLibrary()).Search("which nozzle for the attack hose", 3)
	if found.Verdict != knowledge.Declined || found.Beyond != "hose and nozzles" {
		t.Errorf("got %s, %q", found.Verdict, found.Beyond)
	}
}

func TestSearchTellsWhatItRead(t *testing.T) {
	found := index(t, smallLibrary()).Search("deadbolt or inflatble", 3)
	if want := (knowledge.Correction{Typed: "inflatble", Read: "inflatable"}); !slices.Contains(found.Read, want) {
		t.Errorf("read %v, want %v among them", found.Read, want)
	}
}

// alone is an index without topics: few cards stand no chance against them.
func alone(t *testing.T, l *knowledge.Library) *knowledge.Index {
	t.Helper()
	ranking, err := knowledge.DefaultRanking()
	if err != nil {
		t.Fatal(err)
	}
	idx, err := knowledge.NewIndexOf(l, nil, ranking)
	if err != nil {
		t.Fatal(err)
	}
	return idx
}

func TestOffersWhatIsTooClose(t *testing.T) {
	l, problems := knowledge.Load(fstest.MapFS{
		"a.md": fixture("tool", "Slim hook", "", "reach a deep latch", "", "One thing."),
		"b.md": fixture("tool", "Slim hook", "", "reach a deep latch", "", "One thing."),
	})
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	found := alone(t, l).Search("slim hook for a deep latch", 3)
	if found.Verdict != knowledge.Offered || len(found.Hits) != 2 {
		t.Errorf("twins are %s: %v", found.Verdict, found.Hits)
	}
}

// TestManyCards: beyond a number of cards the index learns only to tell them
// from the topics, and finds them by their words.
func TestManyCards(t *testing.T) {
	cards := madeUpCards(1_200)
	idx, err := knowledge.NewIndex(knowledge.NewLibrary(cards))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range cards[:20] {
		found := idx.Search(c.Asks[2], 3)
		if len(found.Hits) == 0 || found.Hits[0].ID != c.ID {
			t.Errorf("%q finds %v, want %s", c.Asks[2], found.Hits, c.ID)
		}
	}
}

func TestSearchHoldsItsPromises(t *testing.T) {
	idx := index(t, smallLibrary())
	words := rapid.SliceOfN(rapid.OneOf(
		rapid.SampledFrom(strings.Fields("dead bolt glass pane air wedge practise latch how what not 1/8 in hose who")), rapid.StringN(0, 12, 40)), 0, 90)
	rapid.Check(t, func(t *rapid.T) {
		question, k := strings.Join(words.Draw(t, "words"), " "), rapid.IntRange(-1, 12).Draw(t, "k")
		found := idx.Search(question, k)
		if len(found.Hits) > max(k, 0) {
			t.Fatalf("%d hits, want at most %d", len(found.Hits), k)
		}
		for i, h := range found.Hits {
			if f := h.Evidence.Fields; f < 0 || f > 1.1 || i > 0 && h.Score > found.Hits[i-1].Score {
				t.Fatalf("hits out of order or range: %v", found.Hits)
			}
		}
		if again := idx.Search(question, k); fmt.Sprint(again) != fmt.Sprint(found) {
			t.Fatalf("asked twice: %v, then %v", found, again)
		}
	})
}

func TestSearchFromManyGoroutines(t *testing.T) {
	idx := index(t, smallLibrary())
	want := fmt.Sprint(idx.Search("broken glass shards", 3))
	done := make(chan string)
	for range 8 {
		go func() {
			var got string
			for range 50 {
				idx.Search("dead bolt", 3)
				got = fmt.Sprint(idx.Search("broken glass shards", 3))
			}
			done <- got
		}()
	}
	for range 8 {
		if got := <-done; got != want {
			t.Errorf("got %s, want %s", got, want)
		}
	}
}

func TestLongQuestionIsCutShort(t *testing.T) {
	found := index(t, smallLibrary()).Search("deadbolt "+strings.Repeat("thrown bolt ", 10_000), 1)
	if len(found.Hits) != 1 || found.Hits[0].ID != "deadbolt" {
		t.Errorf("got %v", found.Hits)
	}
}

func FuzzSearch(f *testing.F) {
	idx := index(f, smallLibrary())
	for _, s := range []string{"dead bolt 1/8\"", "½ in", "3/0 in", "don't", "''", "1-3/4in 2.5.5", "ééé ß", "\x00\xff"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, question string) {
		idx.Search(question, 3)
	})
}
