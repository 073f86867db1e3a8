package knowledge_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/knowledge"
)

const chock = `---
title: Door chock
kind: care
aliases: [block, "wedge: low"]
asks:
  - what holds it open
not_about: []
tools: []
hazards: []
related: [try-first]
sources:
  - "common practice"
reviewed: 2026-11-24
plan:
  opens:
    latch: {a: 3, b: 1}
  minutes: 2
---

A chock holds a door.
It sits at the floor.

## Use it when

- You go in. It stays
  until you leave.

## Steps

1. Set it.
2. Look twice.
`

func TestParseCard(t *testing.T) {
	c, problems := knowledge.ParseCard("cards/door-chock.md", []byte(chock))
	if len(problems) > 0 {
		t.Fatalf("problems: %v", problems)
	}
	want := &knowledge.Card{
		ID: "door-chock", Title: "Door chock", Kind: knowledge.Care,
		Aliases: []string{"block", "wedge: low"}, Asks: []string{"what holds it open"},
		NotAbout: []string{}, Tools: []string{}, Hazards: []string{}, Related: []string{"try-first"},
		Sources: []string{"common practice"}, Version: "e5897c128aff", Reviewed: time.Date(2026, 11, 24, 0, 0, 0, 0, time.UTC),
		Intro: "A chock holds a door. It sits at the floor.",
		Sections: []knowledge.Section{
			{Title: "Use it when", Line: 23, Items: []knowledge.Item{{Text: "You go in. It stays until you leave.", Line: 25, Mark: knowledge.Bullet}}},
			{Title: "Steps", Line: 28, Items: []knowledge.Item{
				{Text: "Set it.", Line: 30, Mark: knowledge.Numbered}, {Text: "Look twice.", Line: 31, Mark: knowledge.Numbered}}},
		},
		Plan:     []byte("  opens:\n    latch: {a: 3, b: 1}\n  minutes: 2\n"),
		PlanLine: 15,
		File:     "cards/door-chock.md",
	}
	if diff := cmp.Diff(want, c); diff != "" {
		t.Error(diff)
	}
}

func TestParseCardRefuses(t *testing.T) {
	tests := []struct {
		name, file, text string
		want             []string // parts of the problems, in order
	}{
		{"no front matter", "a.md", "# Title\n", []string{"a.md:1: a card starts with front matter"}},
		{"front matter without an end", "a.md", "---\ntitle: x\n", []string{"a.md:1: a card starts with"}},
		{"not text", "a.md", "---\n\xff\n---\n", []string{"a.md: the file is not UTF-8"}},
		{"bad id", "Door_Chock.md", chock, []string{"file name is lower-case words"}},
		{"unknown key", "a.md", strings.Replace(chock, "related:", "relatd:", 1),
			[]string{`a.md:1: the front matter has no "related"`, `a.md:10: no card has a key "relatd"`}},
		{"key twice", "a.md", strings.Replace(chock, "tools: []", "title: again", 1),
			[]string{`no "tools"`, `a.md:8: "title" stands here twice, first on line 2`}},
		{"unknown kind", "a.md", strings.Replace(chock, "kind: care", "kind: gadget", 1), []string{`a.md:3: no kind of card is called "gadget"`}},
		{"bad day", "a.md", strings.Replace(chock, "2026-11-24", "24 Nov", 1), []string{`a.md:13: "reviewed" is a day`}},
		{"text for a list", "a.md", strings.Replace(chock, "tools: []", "tools: irons", 1), []string{`a.md:8: "tools" is a list`}},
		{"list for a text", "a.md", strings.Replace(chock, "title: Door chock", "title: [a]", 1), []string{`a.md:2: "title" needs a text`}},
		{"empty text", "a.md", strings.Replace(chock, "title: Door chock", "title:", 1), []string{`"title" needs a text`}},
		{"a target below zero", "a.md", strings.Replace(chock, "tools: []", "tools: []\ntarget: {minutes: -3}", 1), []string{"a.md:9: a target is a whole number from 1 to 60"}},
		{"a target of something else", "a.md", strings.Replace(chock, "tools: []", "tools: []\ntarget: {metres: 3}", 1), []string{"a.md:9: a target has minutes and tries"}},
		{"a target without measure", "a.md", strings.Replace(chock, "tools: []", "tools: []\ntarget: 3", 1), []string{`a.md:9: "target" is {minutes: 3`}},
		{"broken YAML", "a.md", strings.Replace(chock, "tools: []", "tools: [", 1), []string{"the front matter cannot be read"}},
		{"wrong level of title", "a.md", strings.Replace(chock, "## Steps", "### Steps", 1), []string{"a.md:28: only titles of the second level"}},
		{"section twice", "a.md", strings.Replace(chock, "## Steps", "## Use it when", 1), []string{"a.md:28: the section"}},
		{"no intro", "a.md", strings.Replace(chock, "A chock holds a door.\nIt sits at the floor.\n", "", 1), []string{"needs one or two sentences"}},
		{"many mistakes at once", "a.md", strings.NewReplacer("kind: care", "kind: x", "2026-11-24", "soon", "## Steps", "# Steps").Replace(chock),
			[]string{"a.md:3:", "a.md:13:", "a.md:28:"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			card, problems := knowledge.ParseCard(tt.file, []byte(tt.text))
			if card != nil {
				t.Error("the card was taken")
			}
			if len(problems) != len(tt.want) {
				t.Fatalf("got %d problems, want %d: %v", len(problems), len(tt.want), problems)
			}
			for i, want := range tt.want {
				if !strings.Contains(problems[i].Error(), want) {
					t.Errorf("problem %d is %q, want %q in it", i, problems[i], want)
				}
			}
		})
	}
}

func FuzzParseCard(f *testing.F) {
	f.Add([]byte(chock))
	f.Add([]byte("---\n---\n\n## \n"))
	f.Add([]byte("---\nplan:\n\n---\n- x\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		card, problems := knowledge.ParseCard("a.md", text)
		if (card == nil) != (len(problems) > 0) {
			t.Errorf("card %v with problems %v", card, problems)
		}
	})
}
