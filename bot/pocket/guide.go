package pocket

import (
	_ "embed"
	"fmt"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml"

	"kitbell/bot/door"
)

//go:embed words/guide.yaml
var guideFile []byte

// Guide is what stands on the page and the sheet beside the tree.
type Guide struct {
	Authority []string // who decides
	Stops     []string // when to leave an idea
	Before    []string // what comes before any tool
	Plan      PlanWords
	Tools     map[string]string // tool card id → what it is for
	Sheet     []SheetDoor
}

// PlanWords stand below every plan.
type PlanWords struct{ Routine, Complete, Tries, Force string }

// SheetDoor is one door of the sheet.
type SheetDoor struct {
	Say   string
	Facts map[string]string
}

// readGuide reads the guide's words. limit is the planner's, in minutes.
func readGuide(limit float64) (Guide, error) {
	var g Guide
	if err := yaml.UnmarshalWithOptions(guideFile, &g, yaml.Strict()); err != nil {
		return g, fmt.Errorf("read guide: %w", err)
	}
	for i, stop := range g.Stops {
		g.Stops[i] = strings.ReplaceAll(stop, "{limit}", strconv.FormatFloat(limit, 'g', -1, 64))
	}
	return g, nil
}

// door gives a sheet's door as facts.
func (d SheetDoor) door() (door.Facts, error) {
	var f door.Facts
	for fact, value := range d.Facts {
		if err := f.Set(door.Fact(fact), value); err != nil {
			return f, fmt.Errorf("read door %q: %w", d.Say, err)
		}
	}
	return f, nil
}
