package budget

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"kitbell/bot"
	"kitbell/bot/kit"
)

// linesOf are a year's lines that follow from records, ages and lists, in the
// order of their kinds.
func (d *draft) linesOf(year int) []Line {
	var age, wear, used, spares []Line
	for _, l := range d.list.Lines {
		item := d.item(l.Item)
		if item.Consumable {
			used = append(used, d.worn(item, Consumables, year, nil)...)
		} else {
			due := d.due(item, year)
			age = append(age, d.aged(item, due, year)...)
			wear = append(wear, d.worn(item, ByWear, year, due)...)
		}
		if year == d.Year {
			spares = append(spares, d.worn(item, SpareParts, year, nil)...)
		}
	}
	lines := slices.Concat(age, wear, used, spares)
	if year == d.Year {
		lines = append(lines, d.conversions()...)
	}
	return lines
}

// lineKey names a line. more tells lines of one kind, item and year apart.
func lineKey(kind LineKind, year int, id string, more ...string) string {
	short := map[LineKind]string{ByAge: "age", ByWear: "wear", Consumables: "use", SpareParts: "spares", Conversion: "list", WishLine: "wish", OwnLine: "own"}
	return strings.Join(append([]string{short[kind], fmt.Sprint(year), id}, more...), "/")
}

// worn is the line of an item for which records say that pieces go; none without
// such a record, as an assumption alone asks for no money. but are kits that are
// renewed in the year.
func (d *draft) worn(item Item, kind LineKind, year int, but []Kit) []Line {
	if f, _ := d.request.Forecast(item.ID); !f.Recorded() {
		return nil
	}
	line := Line{Key: lineKey(kind, year, item.ID), Kind: kind, Year: year, Item: item.ID, Title: item.Name}
	for _, k := range d.request.Kits {
		if !slices.ContainsFunc(but, func(o Kit) bool { return o.ID == k.Kit }) {
			line.Kits = append(line.Kits, k)
		}
	}
	if kind == ByWear && item.Life <= 0 {
		line.Reason = "No service life is given, so only wear counts."
	}
	return []Line{line}
}

// due are the kits whose item reaches the end of its service life in a year. What
// is overdue falls into the first year, and what is renewed comes due again.
func (d *draft) due(item Item, year int) []Kit {
	if item.Life <= 0 {
		return nil
	}
	var due []Kit
	var unknown []string
	for _, k := range d.fleet {
		if d.holds(k, item.ID) == 0 {
			continue
		}
		since, known := d.serves[[2]string{k.ID, item.ID}]
		if !known {
			unknown = append(unknown, k.ID)
			continue
		}
		first := max(d.Year, d.Calendar.Year(since.AddDate(item.Life, 0, 0)))
		if year >= first && (year-first)%item.Life == 0 {
			due = append(due, k)
		}
	}
	if len(unknown) > 0 && year == d.Year {
		d.problem(Problem{What: NoAge, Item: item.ID}, bot.SayBudgetNoAge, item.Name, d.kitWords(unknown, item.ID))
	}
	return due
}

// kitWords names kits that hold an item: all of them, or which.
func (d *draft) kitWords(ids []string, item string) string {
	all := 0
	for _, k := range d.fleet {
		if d.holds(k, item) > 0 {
			all++
		}
	}
	switch len(ids) {
	case all:
		return "any kit"
	case 1:
		return "kit " + ids[0]
	}
	return "kits " + strings.Join(ids, ", ")
}

// holds is how many of an item a kit's own list has; the one in force stands in
// for a list that is not known.
func (d *draft) holds(k Kit, item string) int {
	list, known := d.listOf(k.List)
	if !known {
		list = d.list
	}
	line, _ := list.Line(item)
	return line.Qty
}

// aged are the lines of an item that is replaced for its age in some kits.
func (d *draft) aged(item Item, due []Kit, year int) []Line {
	parts := map[int][]LineKit{}
	for _, k := range due {
		n := d.holds(k, item.ID)
		parts[n] = append(parts[n], LineKit{k.ID, k.Unit})
	}
	reason := fmt.Sprintf("After %s of service it is replaced.", count(item.Life, "year"))
	return perKit(Line{Kind: ByAge, Year: year, Item: item.ID, Title: item.Name, Reason: reason}, parts)
}

// perKit are lines like one, for kits by how many each of them gets. Where that
// differs, the keys say how many.
func perKit(like Line, parts map[int][]LineKit) []Line {
	var lines []Line
	for n, kits := range parts {
		l := like
		l.Kits, l.PerKit = kits, n
		l.Key = lineKey(l.Kind, l.Year, l.Item)
		if len(parts) > 1 {
			l.Key = lineKey(l.Kind, l.Year, l.Item, fmt.Sprint(n))
		}
		lines = append(lines, l)
	}
	slices.SortFunc(lines, func(a, b Line) int { return cmp.Compare(a.PerKit, b.PerKit) })
	return lines
}

// conversions bring every kit to the list in force. What a newer list drops costs
// nothing.
func (d *draft) conversions() []Line {
	more := map[string]map[int][]LineKit{}
	for _, k := range d.fleet {
		list, known := d.listOf(k.List)
		if !known {
			d.problem(Problem{What: NoList, Kit: k.ID}, bot.SayBudgetNoList, k.ID, k.List)
			continue
		}
		for _, c := range kit.Changes(list, d.list) {
			if c.To > c.From && k.List != d.InForce {
				if more[c.Item] == nil {
					more[c.Item] = map[int][]LineKit{}
				}
				more[c.Item][c.To-c.From] = append(more[c.Item][c.To-c.From], LineKit{k.ID, k.Unit})
			}
		}
	}
	var lines []Line
	for _, l := range d.list.Lines {
		reason := fmt.Sprintf("Version %d of the kit list has %d of it.", d.InForce, l.Qty)
		lines = append(lines, perKit(Line{Kind: Conversion, Year: d.Year, Item: l.Item, Title: d.item(l.Item).Name, Reason: reason}, more[l.Item])...)
	}
	return lines
}
