package understand_test

import (
	"testing"

	"kitbell/bot/department"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
)

// list3 is the demo department's kit list in force: item and pieces.
var list3 = []kit.ListLine{
	{Item: "shove-knife", Qty: 1}, {Item: "traveler-hook-small", Qty: 1}, {Item: "traveler-hook-large", Qty: 1},
	{Item: "guard-bar-narrow", Qty: 1}, {Item: "guard-bar-wide", Qty: 1}, {Item: "latch-shim-thin", Qty: 1},
	{Item: "latch-shim-thick", Qty: 1}, {Item: "stile-strip", Qty: 1}, {Item: "latch-film", Qty: 2, Consumable: true},
	{Item: "reach-strip", Qty: 1}, {Item: "pair-door-hook", Qty: 1}, {Item: "thumbturn-fork", Qty: 1},
	{Item: "under-door-lever", Qty: 1}, {Item: "air-wedge", Qty: 1}, {Item: "wood-wedge", Qty: 4, Consumable: true},
	{Item: "steel-wedge", Qty: 2}, {Item: "pry-bar-short", Qty: 1}, {Item: "door-strap", Qty: 1},
	{Item: "door-chock", Qty: 2, Consumable: true}, {Item: "screwdriver-set", Qty: 1}, {Item: "air-duster", Qty: 1, Consumable: true},
	{Item: "privacy-latch-hook", Qty: 1}, {Item: "notched-card", Qty: 3, Consumable: true}, {Item: "utility-key", Qty: 1},
	{Item: "inspection-mirror", Qty: 1},
}

// tarnHarbor is as much of the demo department as the reader needs.
func tarnHarbor() *department.Department {
	d := &department.Department{Slug: "tarn-harbor", Lists: []kit.List{{Version: 3, Lines: list3}}}
	for _, u := range []struct{ id, station string }{
		{"engine-1", "station-1"}, {"ladder-1", "station-1"}, {"battalion-1", "station-1"},
		{"engine-2", "station-2"}, {"rescue-2", "station-2"}, {"engine-3", "station-3"},
		{"engine-4", "station-4"}, {"ladder-4", "station-4"}, {"engine-5", "station-5"}, {"boat-5", "station-5"},
		{"engine-6", "station-6"}, {"tower-6", "station-6"}, {"engine-7", "station-7"}, {"engine-11", "station-7"},
	} {
		d.Units = append(d.Units, department.Unit{ID: u.id, Station: u.station, Reserve: u.id == "engine-11"})
		if u.id != "engine-11" && u.id != "boat-5" && u.id != "battalion-1" {
			d.Kits = append(d.Kits, kit.Kit{ID: "k-" + u.id, List: 3, Place: kit.Place{Kind: kit.OnUnit, At: u.id}})
		}
	}
	d.Units[13].Aliases = []string{"the reserve", "reserve engine"}
	return d
}

func newReader(t testing.TB) *understand.Reader {
	t.Helper()
	reader, err := understand.New(tarnHarbor(), nil)
	if err != nil {
		t.Fatal(err)
	}
	return reader
}
