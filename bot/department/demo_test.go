package department_test

import (
	"bytes"
	"flag"
	"os"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
	"kitbell/testdata/demo"
)

var update = flag.Bool("update", false, "write the demo's roster anew")

const demoFile = "../../testdata/demo/" + department.FileName

// The roster in the file is the one that the seed makes.
func TestRosterIsTheSeeds(t *testing.T) {
	raw, err := os.ReadFile(demoFile)
	if err != nil {
		t.Fatal(err)
	}
	marker := []byte("-run Roster -update\n")
	at := bytes.Index(raw, marker)
	if at < 0 {
		t.Fatal("the file has no place for the roster")
	}
	head, got := raw[:at+len(marker)], string(raw[at+len(marker):])
	want := demo.Lines(demo.Roster(demo.Seed))
	if *update {
		if err := os.WriteFile(demoFile, append(head, want...), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestDemoLoads(t *testing.T) {
	_, problems := department.Load(demo.FS(), department.FileName)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
}

// The demo is SCENARIO's department.
func TestDemoIsTheScenario(t *testing.T) {
	d := demo.Department()
	count := func(fits func(department.Member) bool) (n int) {
		for _, m := range d.Members {
			if fits(m) {
				n++
			}
		}
		return n
	}
	perPlatoon := func(p string) int { return count(func(m department.Member) bool { return m.Platoon == p }) }
	probation := func(m department.Member) bool { return m.Probation }
	acting := func(m department.Member) bool { return m.Acting }
	away := func(m department.Member) bool { return m.Status != department.Working }
	if diff := cmp.Diff([]int{7, 14, 25, 3, 13, 9, 47, 47, 47, 6, 2, 5}, []int{len(d.Stations), len(d.Units), len(d.Items), len(d.Lists),
		len(d.Kits), len(d.Channels), perPlatoon("A"), perPlatoon("B"), perPlatoon("C"), count(probation), count(acting), count(away)}); diff != "" {
		t.Errorf("stations, units, items, lists, kits, channels, platoons, probation, acting, away: %s", diff)
	}
	lists := map[string]int{}
	for _, k := range d.Kits {
		lists[k.ID] = k.List
	}
	want := map[string]int{"k01": 3, "k02": 3, "k03": 3, "k04": 3, "k05": 3, "k06": 3, "k07": 3, "k08": 2, "k09": 3, "k10": 2, "k11": 3, "k12": 3, "k13": 3}
	if diff := cmp.Diff(want, lists); diff != "" {
		t.Error(diff)
	}
	if tour := d.Rotation.TourAt(time.Date(2026, 1, 1, 8, 0, 0, 0, d.Zone)); tour.Key() != "A 2026-01-01T07:30" {
		t.Errorf("the first tour is %s", tour.Key())
	}
	if k, _ := d.Kit("k04"); k.Seal != "004504" || k.Place != (kit.Place{Kind: kit.OnUnit, At: "rescue-2"}) {
		t.Errorf("k04: %+v", k)
	}
	film, _ := d.Lists[2].Line("latch-film")
	if film != (kit.ListLine{Item: "latch-film", Qty: 2, Consumable: true, Cents: 1900}) {
		t.Errorf("latch-film: %+v", film)
	}
	if want := (department.Budget{YearStarts: department.Day{Month: time.July, Day: 1}, WishesClose: department.Day{Month: time.March, Day: 15},
		Shipping: 0.06, Escalation: 0.03, LeadDays: 35, Protection: 0.95}); d.Budget != want {
		t.Errorf("budget: %+v", d.Budget)
	}
	for _, warning := range d.ClockWarnings(time.Date(2026, 11, 24, 0, 0, 0, 0, time.UTC)) {
		t.Error(warning)
	}
}

// The past is in order, lies before now, is told by people who were on duty,
// and leaves five lines open.
func TestDemoHistory(t *testing.T) {
	d := demo.Department()
	for _, now := range []time.Time{
		time.Date(2026, 11, 24, 8, 0, 0, 0, d.Zone), time.Date(2026, 3, 9, 0, 5, 0, 0, d.Zone), time.Date(2028, 2, 29, 23, 59, 0, 0, d.Zone),
	} {
		turns := demo.History(d, now)
		if diff := cmp.Diff(turns, demo.History(d, now)); diff != "" {
			t.Fatalf("the past changes: %s", diff)
		}
		queue := map[int]kit.Line{}
		kinds := map[string]int{}
		var last time.Time
		for _, turn := range turns {
			if turn.At.Before(last) || turn.At.After(now) || turn.Department != d.Slug {
				t.Errorf("turn at %s after %s, now %s", turn.At, last, now)
			}
			last = turn.At
			for _, c := range turn.Changes {
				kinds[tell(t, d, queue, c)]++
			}
		}
		open := 0
		for _, line := range queue {
			if line.State.Open() {
				open++
			}
		}
		if open != 5 || len(queue) != 31 {
			t.Errorf("%d of %d lines are open", open, len(queue))
		}
		for _, kind := range []string{"line", "check", "use", "drill", "wish", "unanswered"} {
			if kinds[kind] == 0 {
				t.Errorf("no %s", kind)
			}
		}
	}
}

// tell applies one change of the past and checks who made it.
func tell(t *testing.T, d *department.Department, queue map[int]kit.Line, c bot.Change) string {
	t.Helper()
	switch c := c.(type) {
	case kit.Change:
		if queue[c.New.Number] != c.Old {
			t.Errorf("line %d: %+v is not %+v", c.New.Number, c.Old, queue[c.New.Number])
		}
		queue[c.New.Number] = c.New
		k, _ := d.Kit(c.New.Kit)
		if list, _ := d.ListOf(k); c.Old.Number == 0 {
			if line, ok := list.Line(c.New.Item); !ok || c.New.Count > line.Qty || d.Rotation.PlatoonAt(c.At) != c.New.Platoon {
				t.Errorf("line %+v does not fit list or platoon", c.New)
			}
		}
		return "line"
	case bot.Written:
		m, ok := d.Member(c.Entry.Person)
		if !ok || m.Platoon != d.Rotation.PlatoonAt(c.Entry.At) {
			t.Errorf("%s was off duty: %+v", c.Entry.Person, c.Entry)
		}
		return c.Entry.Kind
	}
	t.Errorf("unexpected %T", c)
	return ""
}
