package knowledge_test

import (
	"slices"
	"testing"

	"kitbell/knowledge"
)

// A question that sets two cards side by side gets both; one that has an "or"
// in it and asks about one thing gets one.
func TestComparisons(t *testing.T) {
	library, problems := knowledge.Load(knowledge.Cards())
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	index, err := knowledge.NewIndex(library)
	if err != nil {
		t.Fatal(err)
	}
	for question, want := range map[string][]string{
		"thin or thick":            {"latch-shim-thin", "latch-shim-thick"},
		"small hook vs large hook": {"traveler-hook-small", "traveler-hook-large"},
		"what is the difference between the small and the large hook": {"traveler-hook-small", "traveler-hook-large"},
		"wood wedge against steel":                                    {"wood-wedge", "steel-wedge"},
		"should I lean or spread for the plunger":                     {"plunger-lean", "plunger-spread"},
		"rim device or vertical rods":                                 {"exit-device-rim", "exit-device-vertical-rod"},
		"is a mortise lock different from a deadbolt":                 {"mortise-lock", "deadbolt"},
		"push or pull, how do I tell":                                 {"hinges-and-swing"},
		"is it ok or not to use the shove knife":                      {"shove-knife"},
		"two or three tries with the shove knife":                     {"shove-knife"},
	} {
		answer, ok := knowledge.NewAnswer(library, index.Search(question, 10))
		if !ok || !slices.Equal(answer.Cards, want) {
			t.Errorf("%q: %v, want %v", question, answer.Cards, want)
		}
	}
}
