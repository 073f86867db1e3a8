package budget

import (
	"fmt"
	"slices"

	"kitbell/bot"
)

// takeAsks adds the wishes, then the lead's own lines.
func (d *draft) takeAsks() {
	for _, own := range []bool{false, true} {
		for i, a := range d.Asks {
			if a.Own == own {
				d.add(d.asked(a, i))
			}
		}
	}
}

// asked is the line of a wish, or of the lead's own.
func (d *draft) asked(a Ask, i int) Line {
	l := Line{
		Kind: WishLine, Year: a.Year, Item: a.Item, Title: a.Title, Reason: a.Why,
		PerKit: a.PerKit, Pieces: a.Pieces, Price: a.Price, Crews: a.Crews,
	}
	if a.Own {
		l.Kind = OwnLine
	}
	if l.Year == 0 {
		l.Year = d.Year
	}
	if l.Title == "" {
		l.Title = d.item(a.Item).Name
	}
	if a.Key == "" {
		a.Key = fmt.Sprintf("ask-%d", i+1)
	}
	l.Key = d.freeKey(lineKey(l.Kind, l.Year, a.Key))
	if a.Crews > 1 {
		l.Reason = join(l.Reason, fmt.Sprintf("%d crews ask for it.", a.Crews))
	}
	if a.PerKit != 0 {
		l.Kits = d.kitsOf(a, l)
	}
	if l.Year < d.Year || l.Year >= d.Year+d.request.Years {
		d.problem(Problem{What: OtherYear, Line: l.Key, Item: l.Item, Year: l.Year}, bot.SayBudgetOtherYear, lower(l.Title), l.Year)
		l.Excluded = d.request.Problems[len(d.request.Problems)-1].Say
	}
	return l
}

// freeKey is a key that no line has yet.
func (d *draft) freeKey(key string) string {
	free := key
	for n := 2; ; n++ {
		if _, taken := d.request.Line(free); !taken {
			return free
		}
		free = fmt.Sprintf("%s/%d", key, n)
	}
}

func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + " " + b
}

// kitsOf are the kits that an ask is for: those of the units it names, or all in
// service.
func (d *draft) kitsOf(a Ask, l Line) []LineKit {
	if len(a.Units) == 0 {
		return slices.Clone(d.request.Kits)
	}
	var kits []LineKit
	for i, id := range a.Units {
		if slices.Contains(a.Units[:i], id) {
			continue
		}
		carried := false
		for _, k := range d.request.Kits {
			if k.Unit == id {
				kits, carried = append(kits, k), true
			}
		}
		if !carried {
			d.withoutKit(id, l)
		}
	}
	return kits
}

// withoutKit says why a unit that was named gets nothing.
func (d *draft) withoutKit(id string, l Line) {
	unit, known := d.units[id]
	p := Problem{Line: l.Key, Item: l.Item, Unit: id, Year: l.Year}
	switch {
	case !known:
		p.What = UnitStranger
		d.problem(p, bot.SayBudgetStranger, id, lower(l.Title))
	case unit.Sold:
		p.What = UnitSold
		d.problem(p, bot.SayBudgetSold, unit.Name, lower(l.Title))
	case unit.Reserve:
		p.What = UnitReserve
		d.problem(p, bot.SayBudgetReserve, unit.Name, lower(l.Title))
	default:
		p.What = UnitBare
		d.problem(p, bot.SayBudgetBare, unit.Name, lower(l.Title))
	}
}
