package department

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"kitbell/bot/kit"
)

// thing reads the id and the name of a group and declares it.
func (w *walk) thing(kind string, o object) (id string, ok bool) {
	v, ok := o.need("id")
	if !ok {
		return "", false
	}
	if id, ok = v.id(); ok {
		w.declare(kind, v, id)
	}
	return id, ok
}

func (w *walk) station(o object) {
	s := Station{}
	s.ID, _ = w.thing("station", o)
	s.Name, _, _ = o.needText("name")
	w.dept.Stations = append(w.dept.Stations, s)
}

func (w *walk) unit(o object) {
	u := Unit{Aliases: o.mayTexts("aliases", "alias"), Reserve: o.mayYes("reserve"), Sold: o.mayYes("sold")}
	u.ID, _ = w.thing("unit", o)
	u.Name, _, _ = o.needText("name")
	if v, ok := o.need("station"); ok {
		u.Station, _ = w.refer("station", v)
	}
	u.Type, u.Number = split(u.ID)
	w.dept.Units = append(w.dept.Units, u)
}

// split takes engine-4 apart.
func split(id string) (kind string, number int) {
	if i := strings.LastIndexByte(id, '-'); i > 0 {
		if n, err := strconv.Atoi(id[i+1:]); err == nil {
			return id[:i], n
		}
	}
	return id, 0
}

func (w *walk) item(o object) {
	i := Item{Name: o.mayText("name"), Aliases: o.mayTexts("aliases", "alias"), Source: o.mayText("source"), Consumable: o.mayYes("consumable")}
	i.ID, _ = w.thing("item", o)
	if v, ok := o.may("price"); ok {
		i.Cents, i.Priced = v.cents(), true
	}
	if v, ok := o.may("life"); ok {
		i.Life, _ = v.whole(1, 50)
	}
	if at, ok := o.may("id"); ok && i.ID != "" && i.Name == "" && len(w.known.Items) > 0 && !slices.Contains(w.known.Items, i.ID) {
		at.bad("item %s has no tool card%s (give it a name when it is the department's own)", i.ID, didYouMean(i.ID, w.known.Items))
	}
	w.dept.Items = append(w.dept.Items, i)
}

func (w *walk) list(o object) {
	l := kit.List{}
	if v, ok := o.need("version"); ok {
		if l.Version, ok = v.whole(1, 9999); ok {
			w.declare("list", v, strconv.Itoa(l.Version))
		}
	}
	if v, ok := o.need("qty"); ok {
		l.Lines = w.lines(v)
	}
	w.dept.Lists = append(w.dept.Lists, l)
}

// lines reads how many of each item a kit holds, in the order of the file.
func (w *walk) lines(v value) []kit.ListLine {
	o, ok := v.object()
	if !ok {
		return nil
	}
	all, _ := pairs(v.node)
	var lines []kit.ListLine
	for _, pair := range all {
		at := value{v.r, pair.Key, "item"}
		qty, ok := o.may(pair.Key.GetToken().Value)
		if !ok || qty.node != pair.Value {
			continue // said when the keys were read
		}
		id, ok1 := w.refer("item", at)
		n, ok2 := qty.whole(1, 99)
		if ok1 && ok2 {
			item, _ := w.dept.Item(id)
			lines = append(lines, kit.ListLine{Item: id, Qty: n, Consumable: item.Consumable, Cents: item.Cents})
		}
	}
	return lines
}

// inForce reads which list counts; without the key it is the newest.
func (w *walk) inForce(o object) {
	if v, ok := o.may("in-force"); ok {
		w.dept.InForce = w.listVersion(v)
		return
	}
	if len(w.dept.Lists) > 0 {
		newest := slices.MaxFunc(w.dept.Lists, func(a, b kit.List) int { return cmp.Compare(a.Version, b.Version) })
		w.dept.InForce = newest.Version
	}
}

func (w *walk) listVersion(v value) int {
	id, _ := w.refer("list", v)
	n, _ := strconv.Atoi(id)
	return n
}

func (w *walk) kit(o object) {
	k := kit.Kit{List: w.dept.InForce, Place: w.place(o)}
	k.ID, _ = w.thing("kit", o)
	if v, ok := o.may("list"); ok {
		k.List = w.listVersion(v)
	}
	if v, ok := o.may("seal"); ok {
		if k.Seal, ok = v.text(); ok {
			w.declare("seal", v, k.Seal)
		}
	}
	w.dept.Kits = append(w.dept.Kits, k)
}

// place reads where a kit is: on a unit or on a station's shelf.
func (w *walk) place(o object) kit.Place {
	unit, onUnit := o.may("unit")
	shelf, onShelf := o.may("shelf")
	switch {
	case onUnit && onShelf:
		shelf.bad("kit: it cannot be on a unit and on a shelf; leave one out")
	case onUnit:
		id, ok := w.refer("unit", unit)
		if !ok {
			return kit.Place{}
		}
		if other, taken := w.dept.KitOf(id); taken {
			unit.bad("kit: %s carries kit %s already", id, other.ID)
		}
		return kit.Place{Kind: kit.OnUnit, At: id}
	case onShelf:
		id, _ := w.refer("station", shelf)
		return kit.Place{Kind: kit.OnShelf, At: id}
	default:
		o.bad("kit: say where it is, with unit or shelf")
	}
	return kit.Place{}
}

// checks reads how often every line of a kit is looked at; what is left out is
// common practice.
func (w *walk) checks(o object) {
	w.dept.Looks = kit.DefaultLooks()
	v, ok := o.may("checks")
	if !ok {
		return
	}
	g, ok := v.object("every-line-weeks", "break-seal-weeks")
	if !ok {
		return
	}
	for key, weeks := range map[string]*int{"every-line-weeks": &w.dept.Looks.EveryLine, "break-seal-weeks": &w.dept.Looks.BreakSeal} {
		if v, ok := g.may(key); ok {
			if n, ok := v.whole(1, 104); ok {
				*weeks = n
			}
		}
	}
}

// limits reads how many days a queue line may stay in each state.
func (w *walk) limits(o object) {
	w.dept.Limits = kit.DefaultLimits()
	if days := w.dept.Budget.LeadDays; days > 0 {
		w.dept.Limits[kit.Ordered] = days
	}
	v, ok := o.may("limits")
	if !ok {
		return
	}
	states := map[string]kit.State{}
	var keys []string
	for _, s := range kit.States() {
		if s.Open() {
			key := strings.ReplaceAll(string(s), " ", "-")
			states[key], keys = s, append(keys, key)
		}
	}
	g, ok := v.object(keys...)
	if !ok {
		return
	}
	for key, state := range states {
		if v, ok := g.may(key); ok {
			if days, ok := v.whole(1, 999); ok {
				w.dept.Limits[state] = days
			}
		}
	}
}
