package knowledge_test

import (
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"kitbell/knowledge"
)

const hook = `---
title: Small hook
kind: tool
aliases: []
asks: [reach a deep latch]
not_about: []
tools: []
hazards: []
related: []
sources: [common practice]
reviewed: 2026-11-24
---
A thin hook.

## Use it when
- The gap is tight.

## Don't when
- A bolt is thrown.

## Steps
1. Slide it in.
2. Turn it.

## Stop and switch when
- Two tries failed.

## Cautions
- Ask the officer in charge.

## Check it
- The tip is straight.
- Tap it for 2 seconds.

## Numbers
- 2 in reach (common practice)
- 1/8 in gap (common practice)
`

func hooks(t *testing.T) *knowledge.Library {
	t.Helper()
	l, problems := knowledge.Load(fstest.MapFS{
		"small-hook.md": file(hook),
		"large-hook.md": file(strings.NewReplacer("Small hook", "Large hook", "The gap is tight.", "The latch sits deep.", "officer in charge", "owner").Replace(hook)),
	})
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	return l
}

func TestAnswerShowsThePartThatAnswers(t *testing.T) {
	card, _ := hooks(t).Card("small-hook")
	tests := []struct {
		question string
		part     knowledge.Part
		want     []string // texts that must be there
		not      string   // text that must not
	}{
		{"what is the small hook", knowledge.Overview, []string{"The gap is tight."}, "Slide it in."},
		{"small hook", knowledge.Overview, []string{"The gap is tight."}, "Slide it in."},
		{"how do I use the small hook", knowledge.HowTo, []string{"Slide it in.", "Turn it.", "Two tries failed."}, "A bolt is thrown."},
		{"walk me through it", knowledge.HowTo, []string{"Slide it in."}, "A bolt is thrown."},
		{"when should I not use it", knowledge.WhenNot, []string{"A bolt is thrown.", "Two tries failed."}, "Slide it in."},
		{"why won't it work, what's wrong", knowledge.WhenNot, []string{"A bolt is thrown."}, "Slide it in."},
		{"is it ok to use the small hook", knowledge.Whether, []string{"The gap is tight.", "A bolt is thrown."}, "Slide it in."},
		{"it won't move, what now", knowledge.Trouble, []string{"Two tries failed."}, "Slide it in."},
		{"is the small hook still good", knowledge.Upkeep, []string{"The tip is straight."}, "Slide it in."},
		{"why is there a thrown bolt beside it", knowledge.Overview, []string{"A bolt is thrown.", "The gap is tight."}, "Slide it in."},
		{"how long is a tap", knowledge.Figure, []string{"Tap it for 2 seconds."}, "2 in reach (common practice)"},
		{"how do I tell a small hook", knowledge.Overview, []string{"The gap is tight."}, "Slide it in."},
		{"how far does it reach", knowledge.Figure, []string{"2 in reach (common practice)"}, "1/8 in gap (common practice)"},
		{"how wide a gap", knowledge.Figure, []string{"1/8 in gap (common practice)"}, "2 in reach (common practice)"},
		{"how many", knowledge.Figure, []string{"2 in reach (common practice)", "1/8 in gap (common practice)"}, "Slide it in."},
	}
	for _, tt := range tests {
		t.Run(tt.question, func(t *testing.T) {
			a := knowledge.AnswerFrom(card, tt.question)
			if a.Part != tt.part {
				t.Errorf("part %q, want %q", a.Part, tt.part)
			}
			shown := slices.Clone(a.Steps)
			for _, g := range a.Groups {
				shown = append(shown, g.Bullets...)
			}
			for _, want := range tt.want {
				if !slices.Contains(shown, want) {
					t.Errorf("%q is not shown: %q", want, shown)
				}
			}
			if slices.Contains(shown, tt.not) {
				t.Errorf("%q is shown: %q", tt.not, shown)
			}
			if !slices.Equal(a.Cautions, []string{"Ask the officer in charge."}) || !slices.Equal(a.Sources, []string{"common practice"}) {
				t.Errorf("cautions %q, sources %q", a.Cautions, a.Sources)
			}
		})
	}
}

func TestAnswerComparesTwoCards(t *testing.T) {
	l := hooks(t)
	a, ok := knowledge.NewAnswer(l, alone(t, l).Search("small hook or large hook", 3))
	if !ok || a.Part != knowledge.Comparison || len(a.Cards) != 2 || len(a.Groups) != 2 {
		t.Fatalf("got %+v", a)
	}
	if len(a.Cautions) != 2 || len(a.Sources) != 1 {
		t.Errorf("cautions %q, sources %q: want both cards' own, none twice", a.Cautions, a.Sources)
	}
}

func TestNoAnswerWhenDeclined(t *testing.T) {
	l := hooks(t)
	if a, ok := knowledge.NewAnswer(l, knowledge.Found{Verdict: knowledge.Declined, Hits: []knowledge.Hit{{ID: "small-hook"}}}); ok {
		t.Errorf("got %+v", a)
	}
	if a, ok := knowledge.NewAnswer(l, knowledge.Found{Verdict: knowledge.Answered, Hits: []knowledge.Hit{{ID: "gone"}}}); ok {
		t.Errorf("got %+v", a)
	}
}

// Every card answers each way of asking with something to show.
func TestEveryCardAnswers(t *testing.T) {
	l, _ := knowledge.Load(knowledge.Cards())
	for _, c := range l.All() {
		for _, question := range []string{c.Title, "how do I", "when not", "how many"} {
			a := knowledge.AnswerFrom(c, question)
			if a.Text == "" || len(a.Cautions) == 0 || len(a.Steps)+len(a.Groups) == 0 {
				t.Errorf("%s, %q: %+v", c.ID, question, a)
			}
		}
	}
}

// "Use it when: you smell gas" would be read as leave to spray. A card about a
// danger says so otherwise, and its rule stands with it when one asks "can I".
func TestADangerIsNotSaidToBeUsed(t *testing.T) {
	library, problems := knowledge.Load(knowledge.Cards())
	if len(problems) > 0 {
		t.Fatal(problems[0])
	}
	for _, c := range library.All() {
		for _, g := range knowledge.AnswerFrom(c, "").Groups {
			if used := c.Kind == knowledge.Tool || c.Kind == knowledge.Technique; g.Title == knowledge.UseItWhen && !used {
				t.Errorf("%s, a %s, says %q", c.ID, c.Kind, g.Title)
			}
		}
	}
	duster, _ := library.Card("duster-cold-and-flame")
	answer := knowledge.AnswerFrom(duster, "can I use the spray near a flame")
	if answer.Part != knowledge.Whether || !strings.Contains(strings.Join(answer.Steps, "\n"), "no spray of either kind") {
		t.Errorf("the rule is not shown: %s, %q", answer.Part, answer.Steps)
	}
	if got := duster.Shown(knowledge.Cautions); got != knowledge.Cautions {
		t.Errorf("cautions are shown as %q", got)
	}
}
