package kit_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"kitbell/bot/kit"
)

func listOf(n int) kit.List {
	list := kit.List{Version: 1}
	for i := range n {
		list.Lines = append(list.Lines, kit.ListLine{Item: fmt.Sprintf("item-%02d", i), Qty: 1})
	}
	return list
}

// Every line of a kit has been looked at closely after as many checks as the
// department states, whatever it was short of and whoever put a check off.
func TestEveryLineHasItsTurn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list := listOf(rapid.IntRange(1, 30).Draw(t, "lines"))
		for i := range list.Lines {
			list.Lines[i].Consumable = rapid.Bool().Draw(t, "consumable")
		}
		looks := kit.Looks{EveryLine: rapid.IntRange(1, 8).Draw(t, "weeks")}
		seen := map[string]bool{}
		var checks []kit.Check
		for answered := 0; answered < looks.EveryLine; {
			shorted := []string{list.Lines[rapid.IntRange(0, len(list.Lines)-1).Draw(t, "short")].Item}
			c := kit.Check{Result: kit.AllThere, Lines: looks.Closely(list, checks, shorted)}
			if rapid.IntRange(0, 3).Draw(t, "put off") == 0 {
				c.Result = kit.NotToday
			}
			checks = append(checks, c)
			if !c.Answered() {
				continue
			}
			answered++
			for _, item := range c.Lines {
				seen[item] = true
			}
		}
		for _, line := range list.Lines {
			if !seen[line.Item] {
				t.Fatalf("%s was not looked at in %d checks", line.Item, looks.EveryLine)
			}
		}
	})
}

func TestClosely(t *testing.T) {
	list := listOf(5)
	list.Lines[1].Consumable = true
	looks := kit.Looks{EveryLine: 4}
	for _, row := range []struct {
		name    string
		checks  []kit.Check
		shorted []string
		want    []string
	}{
		{"the first one", nil, nil, []string{"item-00", "item-01"}},
		{"the next one's turn", []kit.Check{{Result: kit.AllThere, Lines: []string{"item-00", "item-01"}}}, nil, []string{"item-01", "item-02"}},
		{"a full check gives all a turn", []kit.Check{{Result: kit.AllThere, Full: true}}, nil, []string{"item-00", "item-01"}},
		{"put off is not looked at", []kit.Check{{Result: kit.NotToday, Lines: []string{"item-00"}}}, nil, []string{"item-00", "item-01"}},
		{"short before", nil, []string{"item-04"}, []string{"item-00", "item-01", "item-04"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			if diff := cmp.Diff(row.want, looks.Closely(list, row.checks, row.shorted)); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestSeals(t *testing.T) {
	at := func(week int, c kit.Check) kit.Check { c.At = noon.AddDate(0, 0, 7*week); return c }
	tag := kit.Check{Result: kit.AllThere, Seal: "004501"}
	full := kit.Check{Result: kit.AllThere, Full: true}
	sealed := kit.Check{Result: kit.AllThere, Full: true, Seal: "004600"}
	open := kit.Check{Result: kit.SealOpen}
	looks := kit.Looks{BreakSeal: 13}
	for _, row := range []struct {
		name   string
		checks []kit.Check
		due    bool // in week 13
		stands bool
	}{
		{"never checked", nil, false, true},
		{"by its tag only, for 13 weeks", []kit.Check{at(0, tag), at(6, tag), at(12, tag)}, true, true},
		{"by its tag, not so long", []kit.Check{at(1, tag)}, false, true},
		{"a full check between", []kit.Check{at(0, tag), at(3, sealed), at(12, tag)}, false, true},
		{"found broken", []kit.Check{at(9, tag), at(10, open)}, false, false},
		{"found broken, then checked, no new tag", []kit.Check{at(9, open), at(10, full)}, false, false},
		{"found broken, then checked and tagged", []kit.Check{at(9, open), at(10, sealed), at(11, tag)}, false, true},
		{"found broken, then only its tag", []kit.Check{at(9, open), at(10, tag)}, false, false},
	} {
		t.Run(row.name, func(t *testing.T) {
			if due := looks.SealDue(row.checks, noon.AddDate(0, 0, 7*13)); due != row.due {
				t.Errorf("due %v, want %v", due, row.due)
			}
			if stands := kit.SealStands(row.checks); stands != row.stands {
				t.Errorf("stands %v, want %v", stands, row.stands)
			}
		})
	}
}

func TestAdvance(t *testing.T) {
	line := kit.Open(report("latch-film", kit.Missing, 4), 41).New
	must := func(l kit.Line, s kit.Step) kit.Line {
		c, err := kit.Advance(l, s)
		if err != nil {
			t.Fatal(err)
		}
		if c.New.Version != l.Version+1 {
			t.Errorf("version %d after %d", c.New.Version, l.Version)
		}
		return c.New
	}
	ordered := must(line, kit.Step{To: kit.Ordered, Order: "PO 7", Expected: noon.AddDate(0, 0, 9), At: noon})
	part := must(ordered, kit.Step{Pieces: 3, Paid: 5700, At: noon})
	whole := must(part, kit.Step{Pieces: 1, Paid: 1900, At: noon})
	closed := must(must(whole, kit.Step{To: kit.Dropped}), kit.Step{To: kit.BackInKit})
	if part.State != kit.Ordered || part.Received != 3 || whole.State != kit.InHand || whole.Paid != 7600 || closed.State.Open() {
		t.Errorf("part %+v, whole %+v, closed %+v", part, whole, closed)
	}
	for _, row := range []struct {
		name string
		line kit.Line
		step kit.Step
		want error
	}{
		{"so already", ordered, kit.Step{To: kit.Ordered}, kit.ErrNothing},
		{"nothing said", line, kit.Step{}, kit.ErrNothing},
		{"closed", closed, kit.Step{To: kit.Taken}, kit.ErrClosed},
		{"too many came", part, kit.Step{Pieces: 2}, kit.ErrPieces},
		{"fewer than none", part, kit.Step{Pieces: -1}, kit.ErrPieces},
	} {
		if _, err := kit.Advance(row.line, row.step); err != row.want {
			t.Errorf("%s: %v, want %v", row.name, err, row.want)
		}
	}
	if _, err := kit.Reopen(line, "a", noon); err != kit.ErrOpen {
		t.Errorf("reopening an open line: %v", err)
	}
	if again, err := kit.Reopen(closed, "a", noon); err != nil || again.New.State != kit.Reported || again.New.Order != "PO 7" {
		t.Errorf("reopened: %+v, %v", again.New, err)
	}
}

func TestLimits(t *testing.T) {
	limits := kit.DefaultLimits()
	line := kit.Line{State: kit.Reported, StateAt: noon}
	ordered := kit.Line{State: kit.Ordered, StateAt: noon, Expected: noon.AddDate(0, 0, 60)}
	for _, row := range []struct {
		name string
		line kit.Line
		days int
		want bool
	}{
		{"fresh", line, 3, false},
		{"nobody took it", line, 4, true},
		{"closed", kit.Line{State: kit.BackInKit, StateAt: noon}, 400, false},
		{"the supplier said later than the limit", ordered, 40, false},
		{"the supplier's day is over", ordered, 63, true},
	} {
		if got := limits.Past(row.line, noon.AddDate(0, 0, row.days)); got != row.want {
			t.Errorf("%s: %v", row.name, got)
		}
	}
	for _, s := range kit.States() {
		if _, limited := limits[s]; limited != s.Open() {
			t.Errorf("limit of %s: %v", s, limited)
		}
	}
	if !slices.Contains(kit.States(), kit.Dropped) {
		t.Error("a state is missing")
	}
}
