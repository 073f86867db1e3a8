package measure_test

import (
	"strings"
	"testing"

	"kitbell/bot/door"
	"kitbell/bot/kit"
	"kitbell/bot/measure"
	"kitbell/bot/understand"
)

// script is a reader that knows its lines by heart.
type script map[string]understand.Reading

func (s script) Read(text string, _ understand.Context) understand.Reading { return s[text] }

func line(item string, c kit.Condition, n int) understand.Line {
	return understand.Line{Unit: "engine-4", Item: item, Condition: c, Count: n}
}

func TestReports(t *testing.T) {
	cases, err := measure.ReadReports(strings.NewReader(`{"id":"1","from":{"unit":"engine-4","shift":"B"},"text":"right","expect":{"intent":"report","lines":[{"unit":"engine-4","item":"door-strap","condition":"missing","count":1}]}}
{"id":"2","from":null,"text":"other list","expect":{"intent":"report","lines":[],"alt":[[{"unit":"engine-4","item":"latch-film","condition":"low","count":1}]]}}
{"id":"3","from":null,"text":"wrong item","expect":{"intent":"report","lines":[{"unit":"engine-4","item":"latch-film","condition":"low","count":1}]}}
{"id":"4","from":null,"text":"must ask","expect":{"intent":"report","ask_back":["unit"]}}
{"id":"5","from":null,"text":"asks for nothing","expect":{"intent":"check","unit":"engine-4"}}
`))
	if err != nil {
		t.Fatal(err)
	}
	asks := []understand.Question{{About: understand.AskUnit}}
	reader := script{
		"right":            {Intent: understand.Report, Lines: []understand.Line{line("door-strap", kit.Missing, 1)}},
		"other list":       {Intent: understand.Report, Lines: []understand.Line{line("latch-film", kit.Low, 1)}},
		"wrong item":       {Intent: understand.Ask, Lines: []understand.Line{line("door-chock", kit.Low, 1)}},
		"must ask":         {Intent: understand.Report, AskBack: asks},
		"asks for nothing": {Intent: understand.Check, AskBack: asks, Unit: "engine-4"},
	}
	var misses strings.Builder
	got, err := measure.Reports(reader, cases, &misses)
	if err != nil {
		t.Fatal(err)
	}
	want := measure.ReportScore{Cases: 5, IntentRight: 4, LineCases: 4, LinesRight: 3, AskCases: 1, Asked: 1, WronglyAsked: 1, Guessed: 1, UnitCases: 1, UnitRight: 1}
	if got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
	if text := misses.String(); !strings.Contains(text, "3 ") || strings.Contains(text, "1 \"right\"") {
		t.Errorf("the misses printed are %q", text)
	}
}

func TestReportsPrints(t *testing.T) {
	var b strings.Builder
	if err := (measure.ReportScore{Cases: 4, IntentRight: 3}).Print(&b); err != nil || !strings.Contains(b.String(), "3 of 4, 75.0 %") {
		t.Errorf("%q, %v", b.String(), err)
	}
}

func TestReadReportsNamesTheBrokenCase(t *testing.T) {
	if _, err := measure.ReadReports(strings.NewReader("{}\n{\"id\":7}")); err == nil || !strings.Contains(err.Error(), "case 2") {
		t.Errorf("got %v, want an error about case 2", err)
	}
}

func TestDoors(t *testing.T) {
	cases, err := measure.ReadDoors(strings.NewReader(`{"id":"1","text":"out","facts":{"swing":"out","guard":null,"leaves":"single","urgency":"routine"}}
{"id":"2","text":"other value","facts":{"swing":"out","leaves":"single","urgency":"routine"},"facts_alt":{"swing":["unknown"]}}
{"id":"3","text":"invents","facts":{"swing":"in","guard":null,"leaves":"single","urgency":"routine"},"ask_back":["swing"]}
`))
	if err != nil {
		t.Fatal(err)
	}
	reader := script{
		"out":         {Door: door.Facts{Swing: door.SwingOut}},
		"other value": {},
		"invents":     {Door: door.Facts{Swing: door.SwingOut, Guard: door.Yes}, AskBack: []understand.Question{{About: "swing"}}},
	}
	var misses strings.Builder
	got, err := measure.Doors(reader, cases, &misses)
	if err != nil {
		t.Fatal(err)
	}
	if got.Cases != 3 || got.Whole != 2 || got.Invents != 1 || got.Asks != 1 || got.Asked != 1 {
		t.Errorf("got %+v", got)
	}
	if share := got.StatedShare(); share < 0.66 || share > 0.67 {
		t.Errorf("stated share %v, want two thirds", share)
	}
	if !strings.HasPrefix(misses.String(), "3 ") {
		t.Errorf("the misses printed are %q", misses.String())
	}
	var table strings.Builder
	if err := got.Print(&table); err != nil || !strings.Contains(table.String(), "wholly right       2 of 3") {
		t.Errorf("%q, %v", table.String(), err)
	}
}
