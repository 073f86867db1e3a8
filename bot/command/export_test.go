package command_test

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"kitbell/bot"
	"kitbell/bot/budget"
	"kitbell/bot/command"
	"kitbell/testdata/demo"
)

// Of every kind of record somebody has decided whether it is handed out.
func TestEveryKindIsDecidedOn(t *testing.T) {
	kinds := kindsInSources(t)
	kinds["StepKind"] = budget.StepKind
	for name, kind := range kinds {
		if as, why := command.ExportedAs(kind); (as == "") == (why == "") {
			t.Errorf("%s: handed out as %q, left out because %q", name, as, why)
		}
	}
	if left := command.NotExported(); len(left) < 10 || left[0].Why == "" {
		t.Errorf("left out: %v", left)
	}
}

// exportBench is a bench with the demo's past and some things that name people.
func exportBench(t *testing.T) *bench {
	t.Helper()
	b, lead := budgetBench(t)
	for _, turn := range demo.History(b.desk.Department, b.clock.Now()) {
		if err := b.db.Apply(t.Context(), turn); err != nil {
			t.Fatal(err)
		}
	}
	crew := b.crewOf("engine-4", "B")
	m, _ := b.desk.Department.Member(crew.ID)
	b.say(crew, "wish: a hook because "+m.Name+" lost it with "+strings.ToUpper(m.Name))
	b.say(lead, "budget add 1 board at 10.00 because "+m.Name+" asked")
	b.press(lead, b.say(lead, "hand in the request").button(t, "Sign and hand in"))
	return b
}

// What is handed out names nobody, in no field, whoever wrote what.
func TestExportNamesNobody(t *testing.T) {
	b := exportBench(t)
	records, err := command.Export(t.Context(), b.desk, b.db, command.ExportFilter{})
	if err != nil || len(records) < 100 {
		t.Fatalf("%d records, %v", len(records), err)
	}
	text, err := json.Marshal(records)
	if err != nil {
		t.Fatal(err)
	}
	low := strings.ToLower(string(text))
	for _, m := range b.desk.Department.Members {
		for _, name := range []string{m.Name, m.ID} {
			if strings.ContainsAny(name, " -") && strings.Contains(low, strings.ToLower(name)) { // "guest" is a word too
				t.Fatalf("%s is named", name)
			}
		}
	}
	kinds := map[string]int{}
	for i, r := range records {
		kinds[r.Kind]++
		if i > 0 && r.Date < records[i-1].Date {
			t.Errorf("%s stands behind %s", r.Date, records[i-1].Date)
		}
	}
	for _, kind := range []string{"queue", "kit checks", "uses", "wishes", "requests", "request lines"} {
		if kinds[kind] == 0 {
			t.Errorf("no %s among %v", kind, kinds)
		}
	}
}

// Records can be had by date, rig and kind, and by what is none they are refused.
func TestExportFilters(t *testing.T) {
	b := exportBench(t)
	now := b.clock.Now()
	get := func(f command.ExportFilter) []command.Exported {
		t.Helper()
		records, err := command.Export(t.Context(), b.desk, b.db, f)
		if err != nil {
			t.Fatal(err)
		}
		return records
	}
	all := len(get(command.ExportFilter{}))
	before, after := get(command.ExportFilter{To: now.AddDate(0, -3, 0)}), get(command.ExportFilter{From: now.AddDate(0, -3, 0)})
	if len(before) == 0 || len(after) == 0 || len(before)+len(after) != all {
		t.Errorf("%d before and %d after of %d", len(before), len(after), all)
	}
	for _, r := range get(command.ExportFilter{Unit: "engine-4", Kinds: []string{"kit checks", "queue"}}) {
		if r.Unit != "engine-4" || r.Kind != "kit checks" && r.Kind != "queue" {
			t.Errorf("%+v", r)
		}
	}
	for name, f := range map[string]command.ExportFilter{"kind": {Kinds: []string{"gossip"}}, "rig": {Unit: "engine-99"}} {
		_, err := command.Export(t.Context(), b.desk, b.db, f)
		var said *bot.UserError
		if !errors.As(err, &said) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if table := command.ExportTable(after); len(table.Rows) != len(after) || len(table.Columns) != len(table.Rows[0].Cells) {
		t.Errorf("table of %d rows", len(table.Rows))
	}
}
