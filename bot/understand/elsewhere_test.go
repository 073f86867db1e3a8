package understand_test

import (
	"slices"
	"testing"

	"kitbell/bot/department"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
)

// otherFile is a department with other rigs, stations and platoons than the
// demo's.
const otherFile = `
department: reed-hollow
name: Reed Hollow
zone: America/Chicago
currency: USD
hours: {quiet: "21:00-07:00", morning: "08:00-10:00"}
platoons: {names: [Red, Blue, Gold, Green], pattern: 24/72, change: "08:00", start: 2026-01-01}
stations:
  - {id: st-1, name: 1 Main Street}
  - {id: st-2, name: North}
units:
  - {id: squad-3, name: Squad 3, station: st-1}
  - {id: tanker-1, name: Tanker 1, station: st-1, aliases: [big wet]}
  - {id: tower-2, name: Tower 2, station: st-1}
  - {id: quint-8, name: Quint 8, station: st-2}
  - {id: medic-2, name: Medic 2, station: st-1}
  - {id: brush-21, name: Brush 21, station: st-1}
  - {id: company-5, name: Company 5, station: st-1}
items:
  - {id: hinge-peg, name: Hinge peg, price: 2, source: invented}
  - {id: door-strap}
lists:
  - version: 1
    qty: {hinge-peg: 6, door-strap: 1}
in-force: 1
on-every-rig: []
kits:
  - {id: k1, unit: squad-3, list: 1}
  - {id: k2, unit: tanker-1, list: 1}
  - {id: k3, unit: quint-8, list: 1}
  - {id: k4, unit: medic-2, list: 1}
  - {id: k5, unit: brush-21, list: 1}
  - {id: k6, unit: company-5, list: 1}
  - {id: k7, unit: tower-2, list: 1}
members:
  - {id: a-lead, name: A Lead, rank: Lt., roles: [officer, lead], unit: squad-3, platoon: Red}
channels: []
entries: []
forbids: []
calls: {lift-assist: 1}
budget: {year-starts: 1 July, wishes-close: 15 March, tax: 0 %, shipping: 0 %, escalation: 0 %, lead-days: 1, protection: 95 %}
`

func reedHollow(t *testing.T) *understand.Reader {
	t.Helper()
	dept, problems := department.Loader{}.Parse("department.yaml", []byte(otherFile))
	if dept == nil {
		t.Fatal(problems)
	}
	reader, err := understand.New(dept, nil)
	if err != nil {
		t.Fatal(err)
	}
	return reader
}

func TestRigsOfAnotherDepartment(t *testing.T) {
	reader := reedHollow(t)
	const low, missing, damaged = kit.Low, kit.Missing, kit.Damaged
	for _, row := range []struct {
		text, unit, item string
		condition        kit.Condition
		count            int
	}{
		{"Squad 3 is short 2 pegs", "squad-3", "hinge-peg", missing, 2},
		{"squad three is short two hinge pegs", "squad-3", "hinge-peg", missing, 2},
		{"S3 strap missing", "squad-3", "door-strap", missing, 1},
		{"s-3 lost a hinge peg", "squad-3", "hinge-peg", missing, 1},
		{"Tanker 1 strap is torn", "tanker-1", "door-strap", damaged, 1},
		{"the big wet lost its strap", "tanker-1", "door-strap", missing, 1},
		{"tanker's strap is gone", "tanker-1", "door-strap", missing, 1},
		{"tower 2 strap torn", "tower-2", "door-strap", damaged, 1},
		{"Quint 8: one hinge peg bent", "quint-8", "hinge-peg", damaged, 1},
		{"Q8 has no strap", "quint-8", "door-strap", missing, 1},
		{"quint eight, three hinge pegs missing", "quint-8", "hinge-peg", missing, 3},
		{"Medic 2 is missing a strap", "medic-2", "door-strap", missing, 1},
		{"m2 strap missing", "medic-2", "door-strap", missing, 1},
		{"Brush 21 strap torn", "brush-21", "door-strap", damaged, 1},
		{"B21's strap is torn", "brush-21", "door-strap", damaged, 1},
		{"Company 5 is down to two hinge pegs", "company-5", "hinge-peg", low, 4},
		{"company five lost 2 hinge pegs", "company-5", "hinge-peg", missing, 2},
		{"C5 strap missing", "company-5", "door-strap", missing, 1},
		{"2 hinge pegs are bent on Squad 3", "squad-3", "hinge-peg", damaged, 2},
		{"station north lost a strap", "quint-8", "door-strap", missing, 1},
		{"st 2 is missing a strap", "quint-8", "door-strap", missing, 1},
	} {
		t.Run(row.text, func(t *testing.T) {
			got := reader.Read(row.text, understand.Context{Unit: "medic-2"})
			want := []understand.Line{{Unit: row.unit, Item: row.item, Condition: row.condition, Count: row.count}}
			if !slices.Equal(got.Lines, want) || got.Intent != understand.Report {
				t.Errorf("%s %v asks %v, want %v", got.Intent, got.Lines, got.AskBack, want)
			}
		})
	}
}

// A rig that may be two, or none, is asked for: it is never the speaker's.
func TestRigsThatAreAsked(t *testing.T) {
	reader := reedHollow(t)
	for text, unknown := range map[string]string{
		"T1 strap missing": "", "T2 strap missing": "", "E4 strap missing": "E4", "Squad 9 is short 2 hinge pegs": "Squad 9",
		"Foam 7 is short 2 hinge pegs": "Foam 7", "Engine 3 strap torn": "Engine 3", "tanker 12 lost a strap": "tanker 12", "Rescue 2 strap missing": "Rescue 2",
		"main street lost a strap": "", "station 1 strap torn": "", "station 9 strap torn": "station 9",
	} {
		got := reader.Read(text, understand.Context{Unit: "medic-2"})
		if len(got.Lines) > 0 || !got.Asks(understand.AskUnit) || got.UnknownUnit != unknown {
			t.Errorf("%q: lines %v asks %v unknown %q, want %q", text, got.Lines, got.AskBack, got.UnknownUnit, unknown)
		}
	}
	if got := newReader(t).Read("Squad 3 is short 2 pegs", engine4); len(got.Lines) > 0 || got.UnknownUnit != "Squad 3" || !got.Asks(understand.AskUnit) {
		t.Errorf("a strange rig and a strange thing: %+v", got)
	}
}

func TestPlatoonsOfAnotherDepartment(t *testing.T) {
	reader := reedHollow(t)
	for text, platoon := range map[string]string{
		"when is Gold back": "Gold", "is Green on tomorrow": "Green", "what about green shift": "Green", "is Gold on duty": "Gold",
		"when is gold on again": "Gold", "is blue on friday": "Blue", "when does red work next": "Red", "is red shift on": "Red",
	} {
		if got := reader.Read(text, understand.Context{}); got.Intent != understand.Duty || !slices.Equal(got.Platoons, []string{platoon}) {
			t.Errorf("%q: %s %v, want duty of %s", text, got.Intent, got.Platoons, platoon)
		}
	}
}
