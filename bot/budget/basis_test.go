package budget_test

import (
	"strings"
	"sync"
	"testing"
	"time"

	"kitbell/bot/budget"
	"kitbell/bot/kit"
	"kitbell/testdata/demo"
)

var july = budget.Calendar{Month: time.July, Day: 1}

// on is noon of a day.
func on(day string) time.Time {
	at, err := time.Parse(time.DateOnly, day)
	if err != nil {
		panic(err)
	}
	return at.Add(12 * time.Hour)
}

// department is the demo's, read once.
var department = sync.OnceValue(demo.Department)

// tarnHarbor is what the demo department's request for fiscal year 2028 is made
// of, without any records or asks.
func tarnHarbor() budget.Basis {
	d := department()
	b := budget.Basis{
		Calendar: budget.Calendar{Month: d.Budget.YearStarts.Month, Day: d.Budget.YearStarts.Day, Zone: d.Zone},
		Terms: budget.Terms{
			Currency: d.Currency, Tax: budget.RateOf(d.Budget.Tax), Shipping: budget.RateOf(d.Budget.Shipping), Escalation: budget.RateOf(d.Budget.Escalation),
			LeadDays: d.Budget.LeadDays, Protection: d.Budget.Protection,
		},
		Year: 2028, Now: on("2027-03-15"), Since: on("2025-03-15"), Lists: d.Lists, InForce: d.InForce, Kits: budget.Kits(d.Kits),
	}
	for _, u := range d.Units {
		b.Units = append(b.Units, budget.Unit{ID: u.ID, Name: u.Name, Reserve: u.Reserve})
	}
	for _, i := range d.Items {
		item := budget.Item{ID: i.ID, Name: strings.ReplaceAll(i.ID, "-", " "), Consumable: i.Consumable}
		if i.Cents > 0 {
			item.Price = budget.Price{Cents: i.Cents, Source: budget.ListPrice, From: i.Source}
		}
		b.Items = append(b.Items, item)
	}
	return b
}

// onList takes away all but the lines of some items, so that a test says of what
// it speaks.
func onList(b budget.Basis, items ...string) budget.Basis {
	var lists []kit.List
	for _, l := range b.Lists {
		few := kit.List{Version: l.Version}
		for _, line := range l.Lines {
			if strings.Contains(strings.Join(items, " "), line.Item) {
				few.Lines = append(few.Lines, line)
			}
		}
		lists = append(lists, few)
	}
	b.Lists = lists
	return b
}

func gone(day, kitID, unit, item string, kind budget.Kind, n int) budget.Record {
	return budget.Record{Date: on(day), Kit: kitID, Unit: unit, Item: item, Kind: kind, Count: n, Line: 40}
}

func build(t *testing.T, b budget.Basis) budget.Request {
	t.Helper()
	r, err := budget.Build(b)
	if err != nil {
		t.Fatal(err)
	}
	return r
}
