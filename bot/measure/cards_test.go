package measure_test

import (
	"flag"
	"fmt"
	"os"
	"regexp"
	"testing"

	"kitbell/bot/measure"
	"kitbell/knowledge"
)

var tune = flag.Bool("tune", false, "write the threshold found on own.tsv into the ranking's file")

const (
	ownQuestions  = "../../testdata/questions/own.tsv"  // to tune on
	heldQuestions = "../../testdata/questions/held.tsv" // never tuned on
	rankingFile   = "../../knowledge/data/ranking.yaml"
)

func ownIndex(t *testing.T) *knowledge.Index {
	t.Helper()
	cards, problems := knowledge.Load(knowledge.Cards())
	for _, p := range problems {
		t.Error(p)
	}
	idx, err := knowledge.NewIndex(cards)
	if err != nil {
		t.Fatal(err)
	}
	return idx
}

func readQuestions(t *testing.T, name string) []measure.Question {
	t.Helper()
	file, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	questions, err := measure.ReadQuestions(file)
	if err != nil {
		t.Fatal(err)
	}
	return questions
}

// The floors are a little below what was measured, so that a change which
// loses questions shows. "go test -v -run TestOwnCards" prints the scores.
func TestOwnCards(t *testing.T) {
	idx := ownIndex(t)
	ask := func(question string) []string {
		found := idx.Search(question, 10)
		if found.Verdict == knowledge.Declined {
			return nil
		}
		var ids []string
		for _, h := range found.Hits {
			ids = append(ids, h.ID)
		}
		return ids
	}
	for _, tt := range []struct {
		file                              string
		first, three, declined, refusedTo float64
	}{
		{ownQuestions, 0.87, 0.96, 0.95, 0.03},
		{heldQuestions, 0.88, 0.95, 0.94, 0.03},
	} {
		s := measure.Questions(readQuestions(t, tt.file), ask)
		if tt.file == heldQuestions {
			s.Misses = nil // so that nobody tunes on them by reading
		}
		t.Logf("%s\n%s", tt.file, s)
		if s.First < tt.first || s.WithinThree < tt.three || s.Declined < tt.declined || s.Refused > tt.refusedTo {
			t.Errorf("%s fell below its floor: first %.3f, three %.3f, declined %.3f, refused %.3f", tt.file, s.First, s.WithinThree, s.Declined, s.Refused)
		}
	}
}

// TestThresholdOnOwnQuestions finds the share at which to answer. With -tune it
// writes it into the ranking's file.
func TestThresholdOnOwnQuestions(t *testing.T) {
	idx := ownIndex(t)
	var answerable, others []float64
	for _, q := range readQuestions(t, ownQuestions) {
		found := idx.Search(q.Text, 1)
		switch {
		case len(found.Hits) == 0:
		case q.Answerable():
			answerable = append(answerable, found.Hits[0].Share)
		default:
			others = append(others, found.Hits[0].Share)
		}
	}
	const refused = 0.01
	threshold := measure.Threshold(answerable, others, refused)
	t.Logf("answer: %.3f", threshold)
	if *tune {
		writeThreshold(t, threshold)
	}
}

func writeThreshold(t *testing.T, threshold float64) {
	t.Helper()
	text, err := os.ReadFile(rankingFile)
	if err != nil {
		t.Fatal(err)
	}
	line := regexp.MustCompile(`(?m)^answer: .*$`)
	if !line.Match(text) {
		t.Fatalf("%s has no line for the threshold", rankingFile)
	}
	text = line.ReplaceAll(text, fmt.Appendf(nil, "answer: %.3f", threshold))
	if err := os.WriteFile(rankingFile, text, 0o644); err != nil {
		t.Fatal(err)
	}
}
