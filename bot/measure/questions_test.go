package measure_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot/measure"
)

const columns = "id\tstyle\tquestion\taccept\tgrade2\n"

func TestReadQuestions(t *testing.T) {
	got, err := measure.ReadQuestions(strings.NewReader(columns + "a1\tplain\tWhat, \"now\"?\tplan-b, try-first\tforce-it\n\na2\tterse\tdinner\tNONE\t\n"))
	if err != nil {
		t.Fatal(err)
	}
	want := []measure.Question{
		{ID: "a1", Style: "plain", Text: "What, \"now\"?", Accept: []string{"plan-b", "try-first"}, Useful: []string{"force-it"}},
		{ID: "a2", Style: "terse", Text: "dinner", Useful: []string{}},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestReadQuestionsRefuses(t *testing.T) {
	for name, tt := range map[string]struct{ text, want string }{
		"empty file":    {"", "first line"},
		"no columns":    {"a1\tplain\tx\tNONE\t\n", "first line"},
		"short line":    {columns + "a1\tplain\tx\tNONE\n", "line 2"},
		"no question":   {columns + "a1\tplain\tx\tNONE\t\na2\tplain\t\tNONE\t\n", "line 3"},
		"accept is not": {columns + "a1\tplain\tx\t\t\n", "line 2"},
	} {
		if _, err := measure.ReadQuestions(strings.NewReader(tt.text)); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: got %v, want %q", name, err, tt.want)
		}
	}
}

// What the bot does not take for a question never reaches the cards.
func TestHear(t *testing.T) {
	questions := []measure.Question{{Text: "how", Accept: []string{"a"}}, {Text: "gone", Accept: []string{"a"}}, {Text: "dinner"}}
	s := measure.Questions(questions, func(string) []string { return []string{"a"} })
	s.Hear(questions, func(text string) bool { return text == "how" })
	if s.Heard != 0.5 || len(s.Unheard) != 1 || s.Unheard[0] != "gone" {
		t.Errorf("heard %v, not heard %q", s.Heard, s.Unheard)
	}
}

func FuzzReadQuestions(f *testing.F) {
	f.Add(columns + "a\tb\tc\td\te\n")
	f.Fuzz(func(t *testing.T, text string) {
		questions, err := measure.ReadQuestions(strings.NewReader(text))
		if err != nil && questions != nil {
			t.Errorf("%v with %v", questions, err)
		}
	})
}

func TestQuestions(t *testing.T) {
	answers := map[string][]string{
		"right":  {"a", "b"},
		"second": {"x", "a"},
		"fourth": {"x", "y", "z", "a"},
		"missed": nil,
		"dinner": nil,
		"weath":  {"a"},
	}
	var questions []measure.Question
	for _, text := range []string{"right", "second", "fourth", "missed"} {
		questions = append(questions, measure.Question{ID: text, Text: text, Accept: []string{"a"}})
	}
	questions = append(questions, measure.Question{ID: "dinner", Text: "dinner"}, measure.Question{ID: "weath", Text: "weath"})

	s := measure.Questions(questions, func(q string) []string { return answers[q] })
	for name, v := range map[string][2]float64{
		"answerable": {float64(s.Answerable), 4}, "unanswerable": {float64(s.Unanswerable), 2},
		"first": {s.First, 0.25}, "within three": {s.WithinThree, 0.5}, "refused": {s.Refused, 0.25}, "declined": {s.Declined, 0.5},
		"MRR":  {s.MRR, (1 + 0.5 + 0.25) / 4},
		"nDCG": {s.NDCG, (1 + 1/math.Log2(3) + 1/math.Log2(5)) / 4},
	} {
		if math.Abs(v[0]-v[1]) > 1e-9 {
			t.Errorf("%s is %v, want %v", name, v[0], v[1])
		}
	}
	var missed []string
	for _, m := range s.Misses {
		missed = append(missed, m.Question.ID)
	}
	if diff := cmp.Diff([]string{"second", "fourth", "missed", "weath"}, missed); diff != "" {
		t.Error(diff)
	}
	var table strings.Builder
	if err := errors.Join(s.Print(&table), s.PrintMisses(&table)); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"right first                25.0 %", "declined                   50.0 %", "missed [] missed", "want NONE, got a"} {
		if !strings.Contains(table.String(), want) {
			t.Errorf("%q is not in\n%s", want, table.String())
		}
	}
}

func TestNoQuestions(t *testing.T) {
	if s := measure.Questions(nil, nil); s.First != 0 || s.Median != 0 || len(s.Misses) != 0 {
		t.Errorf("got %+v", s)
	}
}
