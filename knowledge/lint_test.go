package knowledge_test

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"kitbell/knowledge"
)

func TestEmbeddedCards(t *testing.T) {
	l, problems := knowledge.Load(knowledge.Cards())
	more, err := knowledge.Lint(l)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range append(problems, more...) {
		t.Error(p)
	}
}

// contentIDs are the cards the knowledge base must have; ids never change.
const contentIDs = `
shove-knife traveler-hook-small traveler-hook-large guard-bar-narrow guard-bar-wide latch-shim-thin latch-shim-thick stile-strip
latch-film reach-strip pair-door-hook thumbturn-fork under-door-lever air-wedge wood-wedge steel-wedge pry-bar-short door-strap
door-chock screwdriver-set air-duster privacy-latch-hook notched-card utility-key inspection-mirror irons cylinder-set
spring-latch deadlatch-plunger deadbolt mortise-lock narrow-stile-lock latch-guard exit-device-rim exit-device-vertical-rod
magnetic-lock electric-strike request-to-exit-sensor delayed-egress swing-bar-guard hinged-room-latch door-chain
sliding-glass-door overhead-door gate-and-padlock drop-bar hinges-and-swing door-anatomy door-clearances egress-rules fire-door
vehicle-doors roll-down-grille
try-first slip-outward slip-tight-gap slip-behind-guard slip-narrow-stile slip-inward plunger-lean plunger-spread spread-ladder
pair-door-pull thumbturn-reach lever-under-door sensor-trip swing-bar-release room-latch-hook room-latch-card cut-a-notch
chain-release hinge-side glass-last through-the-lock force-it keep-it-open leave-it-secure
size-up-a-door speed-or-damage plan-b fire-showing welfare-check lift-assist alarm-sounding water-leak gas-or-carbon-monoxide
locked-out-resident guest-room-call lawful-entry occupant-may-be-armed-or-scared privacy-and-records
stored-tension pinch-and-cut glass-hazard duster-cold-and-flame flow-path electrified-hardware back-injury air-wedge-limits
weekly-check what-goes-in-the-kit what-stays-out adding-your-own-tool edges-and-burrs air-wedge-leak-test consumables
marking-and-storage after-use-clean-up out-of-service-tag
drill-latch-board drill-guarded-door drill-plunger drill-inward-film drill-pair-doors drill-guest-room drill-blindfold-kit
drill-two-tries drill-keep-it-open training-record`

func TestEveryCardIsThere(t *testing.T) {
	l, _ := knowledge.Load(knowledge.Cards())
	ids := strings.Fields(contentIDs)
	if len(ids) != 119 {
		t.Fatalf("the list has %d ids, want 119", len(ids))
	}
	for _, id := range ids {
		if _, ok := l.Card(id); !ok {
			t.Errorf("there is no card %q", id)
		}
	}
}

// sound is a card without fault; each row of TestLint spoils it.
const sound = `---
title: Door chock
kind: care
aliases: []
asks: [a one, b two, c three, d four, e five]
not_about: []
tools: []
hazards: []
related: []
sources: ["trade handbook, section 2"]
reviewed: 2026-11-24
---
A chock holds a door.

## Use it when
- You go in.

## Steps
1. Set it.

## Stop and switch when
- It slides.

## Cautions
- Mind your hand.

## Numbers
- 2 in high (maker's sheet)
`

func TestLint(t *testing.T) {
	tests := []struct {
		name, old, new string
		want           string // part of the only problem; empty for none
	}{
		{"no fault", "", "", ""},
		{"link to no card", "related: []", "related: [nowhere]", `related names "nowhere"`},
		{"link to itself", "related: []", "related: [door-chock]", "names the card itself"},
		{"tool that is none", "tools: []", "tools: [other]", `tools names "other", which is a care`},
		{"no source", `sources: ["trade handbook, section 2"]`, "sources: []", "names no source"},
		{"few asks", ", c three, d four, e five", "", "lists 2 questions"},
		{"section missing", "## Cautions\n- Mind your hand.\n", "", `needs the section "Cautions"`},
		{"section of another kind", "## Numbers\n- 2 in high (maker's sheet)", "## Check it\n- Look.", `has no section "Check it"`},
		{"steps as bullets", "1. Set it.", "- Set it.", "card.md:19: each line under \"Steps\" is a numbered step"},
		{"long sentence", "You go in.", "You " + strings.Repeat("go ", 20) + "in.", "a sentence has 22 words"},
		{"hard words", "You go in.", "Institutional considerations necessitate unequivocal determination.", "the reading grade is"},
		{"empty claim", "You go in.", "This is safe.", `nothing supports the word "safe"`},
		{"named exception", "You go in.", "It is fail-safe.", ""},
		{"part of a word", "You go in.", "It is unsafe.", ""},
		{"figure without a source", "Mind your hand.", "Keep 5 in off.", `card.md:25: the figure has no source`},
		{"figure that Numbers has", "Mind your hand.", "Keep two inches off.", ""},
		{"figure line without a source", "(maker's sheet)", "", `under "Numbers" says where its figure is from`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			text := strings.Replace(sound, tt.old, tt.new, 1)
			l, problems := knowledge.Load(fstest.MapFS{"door-chock.md": file(text), "other.md": file(sound)})
			if len(problems) > 0 {
				t.Fatal(problems)
			}
			problems, err := knowledge.Lint(l)
			if err != nil {
				t.Fatal(err)
			}
			if want := strings.Replace(tt.want, "card.md", "door-chock.md", 1); !onlyProblem(problems, want) {
				t.Errorf("got %v, want %q", problems, want)
			}
		})
	}
}

func onlyProblem(problems []knowledge.Problem, want string) bool {
	if want == "" {
		return len(problems) == 0
	}
	return len(problems) == 1 && strings.Contains(problems[0].Error(), want)
}

func TestGrade(t *testing.T) {
	tests := []struct {
		text string
		want float64
	}{
		// Arithmetic by the formula: 6 words, 6 syllables, 1 sentence.
		{"The cat sat on the mat.", 0.39*6 + 11.8*1 - 15.59},
		// 4 words, 2 sentences, 7 syllables: door, o-pen-ing, take, for-ces has 2.
		{"Door opening. Take forces.", 0.39*2 + 11.8*7.0/4 - 15.59},
		{"", 0},
	}
	for _, tt := range tests {
		if got := knowledge.Grade(knowledge.Sentences(tt.text), nil); fmt.Sprintf("%.3f", got) != fmt.Sprintf("%.3f", tt.want) {
			t.Errorf("grade of %q is %.3f, want %.3f", tt.text, got, tt.want)
		}
	}
}

func TestSyllables(t *testing.T) {
	for word, want := range map[string]int{
		"door": 1, "handle": 2, "wedge": 1, "wedges": 2, "bevelled": 2, "lifted": 2, "the": 1, "free": 1, "places": 2, "moves": 1, "wrench": 1, "deadbolt": 2,
	} {
		if got := knowledge.Syllables(word); got != want {
			t.Errorf("%q has %d syllables, want %d", word, got, want)
		}
	}
}

func TestSentencesKeepNumbersWhole(t *testing.T) {
	got := knowledge.Sentences("Push 2.5 in. Then stop: look! Done")
	want := []string{"Push 2.5 in", "Then stop", "look", "Done"}
	if strings.Join(got, "|") != strings.Join(want, "|") {
		t.Errorf("got %q, want %q", got, want)
	}
}
