package knowledge_test

import (
	"os"
	"slices"
	"strings"
	"testing"

	"kitbell/knowledge"
)

// TestPartsOfCards scores which part of a card a question gets, apart from
// whether the card was found. Columns: card, question, parts that are right.
func TestPartsOfCards(t *testing.T) {
	library, problems := knowledge.Load(knowledge.Cards())
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	for file, floor := range map[string]float64{"../testdata/parts/own.tsv": 0.95} {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		right, all := 0, 0
		for line := range strings.Lines(string(data)) {
			cells := strings.Split(strings.TrimSpace(line), "\t")
			if cells[0] == "card" {
				continue
			}
			card, ok := library.Card(cells[0])
			if !ok || len(cells) != 3 {
				t.Fatalf("%s: %q", file, line)
			}
			all++
			got := knowledge.AnswerFrom(card, cells[1]).Part
			if slices.Contains(strings.Split(cells[2], ","), string(got)) {
				right++
			} else {
				t.Logf("%s %q: %s, want %s", cells[0], cells[1], got, cells[2])
			}
		}
		share := float64(right) / float64(all)
		t.Logf("%s: %d of %d right, %.1f %%", file, right, all, 100*share)
		if share < floor {
			t.Errorf("%s fell below its floor of %.2f", file, floor)
		}
	}
}
