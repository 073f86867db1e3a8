package main_test

import (
	"math"
	"strings"
	"testing"

	compare "kitbell/knowledge/compare"

	"kitbell/knowledge"
)

// The whole comparison runs, with a row for each engine.
func TestTable(t *testing.T) {
	var out strings.Builder
	if err := compare.Run([]string{"testdata/tiny.tsv"}, &out); err != nil {
		t.Fatal(err)
	}
	rows := 0
	for line := range strings.Lines(out.String()) {
		if strings.Contains(line, " MB ") {
			rows++
		}
	}
	if rows != 6 {
		t.Errorf("%d rows, want kitbell and five set-ups of the library:\n%s", rows, out.String())
	}
}

// A set-up in which the library cannot find the plainest thing would be no fair
// comparison.
func TestEveryEngineFindsTheObvious(t *testing.T) {
	library, _ := knowledge.Load(knowledge.Cards())
	hits, err := compare.FirstHits(library.All(), "inspection mirror")
	if err != nil {
		t.Fatal(err)
	}
	if len(hits) != 6 {
		t.Errorf("only %d engines found something: %v", len(hits), hits)
	}
	for name, id := range hits {
		if id != "inspection-mirror" {
			t.Errorf("%s: %q first", name, id)
		}
	}
}

func TestApart(t *testing.T) {
	tests := []struct {
		name            string
		inside, outside []float64
		want            float64
	}{
		{"all surer", []float64{3, 4}, []float64{1, 2}, 1},
		{"none surer", []float64{1}, []float64{2}, 0},
		{"a tie counts half", []float64{2}, []float64{2}, 0.5},
		{"three of four pairs", []float64{2, 4}, []float64{1, 3}, 0.75},
		{"nothing to tell apart", nil, []float64{1}, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := compare.Apart(tt.inside, tt.outside); math.Abs(got-tt.want) > 1e-12 {
				t.Errorf("got %v, want %v", got, tt.want)
			}
		})
	}
}

func TestDeclinedAt(t *testing.T) {
	inside := []float64{1, 2, 3, 4, 5, 6, 7, 8, 9, 10}
	tests := []struct {
		name    string
		wrong   float64
		outside []float64
		want    float64
	}{
		{"no mistake allowed: all below the least", 0, []float64{0, 0.5, 1, 2}, 0.5},
		{"one in ten given up", 0.1, []float64{0, 0.5, 1, 2}, 0.75},
		{"no outside questions", 0.1, nil, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := compare.DeclinedAt(tt.wrong, inside, tt.outside); got != tt.want {
				t.Errorf("got %v, want %v", got, tt.want)
			}
		})
	}
}
