package door_test

import (
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"kitbell/bot/door"
)

var planOfCard = regexp.MustCompile(`(?m)^title: (.+)$(?s:.*?)^plan:\n((?:  .*\n)+)`)

// cardTechniques reads the plans of the technique cards that ship.
func cardTechniques(tb testing.TB) []door.Technique {
	tb.Helper()
	paths, err := filepath.Glob("../../knowledge/cards/*.md")
	if err != nil {
		tb.Fatal(err)
	}
	var techniques []door.Technique
	for _, path := range paths {
		text, err := os.ReadFile(path)
		if err != nil {
			tb.Fatal(err)
		}
		found := planOfCard.FindSubmatch(text)
		if found == nil {
			continue
		}
		id := filepath.Base(path[:len(path)-len(".md")])
		technique, err := door.ParseTechnique(id, string(found[1]), found[2])
		if err != nil {
			tb.Fatal(err)
		}
		techniques = append(techniques, technique)
	}
	return techniques
}

// cardPlanner plans with the cards and assumptions that ship.
func cardPlanner(tb testing.TB) *door.Planner {
	tb.Helper()
	assumptions, err := door.DefaultAssumptions()
	if err != nil {
		tb.Fatal(err)
	}
	planner, err := door.NewPlanner(assumptions, cardTechniques(tb))
	if err != nil {
		tb.Fatal(err)
	}
	return planner
}

// everyTool is the kit list of the demo department and what the rig carries.
func everyTool() []string {
	return []string{
		"shove-knife", "traveler-hook-small", "traveler-hook-large", "guard-bar-narrow", "guard-bar-wide",
		"latch-shim-thin", "latch-shim-thick", "stile-strip", "latch-film", "reach-strip", "pair-door-hook",
		"thumbturn-fork", "under-door-lever", "air-wedge", "wood-wedge", "steel-wedge", "pry-bar-short",
		"door-strap", "door-chock", "screwdriver-set", "air-duster", "privacy-latch-hook", "notched-card",
		"utility-key", "inspection-mirror", "irons", "cylinder-set",
	}
}

func fullKit() door.Tools { return door.NewTools(everyTool()...) }

func mustPlan(tb testing.TB, planner *door.Planner, request door.Request) door.Plan {
	tb.Helper()
	plan, err := planner.Plan(request)
	if err != nil {
		tb.Fatal(err)
	}
	return plan
}
