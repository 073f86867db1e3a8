package budget

import (
	"fmt"
	"slices"
	"time"

	"kitbell/bot"
	"kitbell/bot/kit"
)

// defaultYears is how far a request looks, mostYears how far one can.
const (
	defaultYears = 3
	mostYears    = 10
)

// draft is a request in the making.
type draft struct {
	Basis
	request *Request
	list    kit.List // in force
	records []Record // that count, oldest first
	byItem  map[string][]int
	items   map[string]Item
	units   map[string]Unit
	fleet   []Kit                   // all that the department has, without those of units that it has not
	cited   map[string][]int        // item → records that its forecast rests on
	serves  map[[2]string]time.Time // kit and item → since when; nothing where nobody noted it
}

// Build works a request out. The error is for terms that no request can be made
// with, or a list in force that is not there; whatever else is wrong stands in
// Request.Problems, and lines that cannot be reckoned are excluded from totals.
func Build(b Basis) (Request, error) {
	d, err := newDraft(b)
	if err != nil {
		return Request{}, fmt.Errorf("build request for %d: %w", b.Year, err)
	}
	d.takeFleet()
	if err := d.foresee(); err != nil {
		return Request{}, fmt.Errorf("build request for %d: %w", b.Year, err)
	}
	for year := b.Year; year < b.Year+d.request.Years; year++ {
		for _, line := range d.linesOf(year) {
			d.add(line)
		}
	}
	d.takeAsks()
	d.request.sortLines()
	d.keepCited()
	return *d.request, nil
}

func newDraft(b Basis) (*draft, error) {
	if err := b.Terms.check(); err != nil {
		return nil, err
	}
	if b.Years == 0 {
		b.Years = defaultYears
	}
	if b.Years < 0 || b.Years > mostYears {
		return nil, fmt.Errorf("%w: %d years", ErrTerms, b.Years)
	}
	at := slices.IndexFunc(b.Lists, func(l kit.List) bool { return l.Version == b.InForce })
	if at < 0 {
		return nil, fmt.Errorf("kit list %d: %w", b.InForce, bot.ErrNotFound)
	}
	d := &draft{
		Basis: b, list: b.Lists[at], byItem: map[string][]int{}, items: map[string]Item{}, units: map[string]Unit{}, cited: map[string][]int{}, serves: map[[2]string]time.Time{},
		request: &Request{
			Year: b.Year, Years: b.Years, Terms: b.Terms,
			Starts: b.Calendar.Date(b.Calendar.Start(b.Year)), Until: b.Calendar.Date(b.Now),
		},
	}
	for _, item := range b.Items {
		d.items[item.ID] = item
	}
	for _, unit := range b.Units {
		d.units[unit.ID] = unit
	}
	for _, p := range kit.Pieces(b.Pieces) {
		if !p.Since.IsZero() {
			d.serves[[2]string{p.Kit, p.Item}] = p.Since
		}
	}
	d.takeRecords()
	return d, nil
}

func (d *draft) takeRecords() {
	var bad int
	d.records, bad = countable(d.Records, d.Now)
	if bad > 0 {
		d.problem(Problem{What: BadRecords}, bot.SayBudgetBadRecords, bad)
	}
	for i, r := range d.records {
		d.byItem[r.Item] = append(d.byItem[r.Item], i)
	}
}

func (d *draft) problem(p Problem, say bot.Sentence, args ...any) {
	p.Say = say.With(args...).Say
	d.request.Problems = append(d.request.Problems, p)
}

// takeFleet keeps the kits that count, and those of them that are in service.
func (d *draft) takeFleet() {
	for _, k := range d.Kits {
		u, known := d.units[k.Unit]
		switch {
		case k.Unit != "" && !known:
			d.problem(Problem{What: UnitStranger, Unit: k.Unit, Kit: k.ID}, bot.SayBudgetKitStranger, k.ID, k.Unit)
			continue
		case u.Sold:
			d.problem(Problem{What: UnitSold, Unit: k.Unit, Kit: k.ID}, bot.SayBudgetKitSold, k.ID, u.Name)
			continue
		}
		d.fleet = append(d.fleet, k)
		if k.Unit != "" {
			d.request.Kits = append(d.request.Kits, LineKit{k.ID, k.Unit})
		}
	}
}

func (d *draft) listOf(version int) (kit.List, bool) {
	at := slices.IndexFunc(d.Lists, func(l kit.List) bool { return l.Version == version })
	if at < 0 {
		return kit.List{}, false
	}
	return d.Lists[at], true
}

// foresee makes the forecast of every item on the list in force.
func (d *draft) foresee() error {
	s := newSpan(d.Calendar, d.records, d.Since, d.Now)
	for _, year := range s.silent {
		d.problem(Problem{What: SilentYear, Year: year}, bot.SayBudgetSilentYear, year)
	}
	for _, l := range d.list.Lines {
		f := d.forecast(l, s)
		if err := f.expect(len(d.request.Kits)); err != nil {
			return err
		}
		d.request.Forecasts = append(d.request.Forecasts, f)
	}
	return nil
}

// forecast is what the records say of an item, and what to believe of it then.
func (d *draft) forecast(l kit.ListLine, s span) Forecast {
	item := d.item(l.Item)
	f := Forecast{
		Item: l.Item, Consumable: item.Consumable, Prior: d.prior(item), KitYears: d.exposure(item, s),
		Months: int(s.years(item.Since)*12 + 0.5), LeadDays: d.Terms.LeadDays, Protection: d.Terms.Protection, Held: max(0, d.Stock[l.Item]),
	}
	for _, i := range d.byItem[l.Item] {
		if r := d.records[i]; r.Kind.Gone() && !r.Date.Before(s.from) && !r.Date.Before(item.Since) {
			*f.Counts.of(r.Kind) += r.Count
			d.cited[l.Item] = append(d.cited[l.Item], i)
		}
	}
	f.Belief = f.Prior.After(f.Counts.Gone(), f.KitYears)
	return f
}

// item is one of the department's; one that only a list names goes by its id.
func (d *draft) item(id string) Item {
	item, known := d.items[id]
	if !known {
		item.ID = id
	}
	if item.Name == "" {
		item.Name = id
	}
	line, _ := d.list.Line(id)
	item.Consumable = item.Consumable || line.Consumable
	return item
}

func (d *draft) prior(item Item) Prior {
	if prior, own := d.Priors[item.ID]; own && prior.Pieces > 0 && prior.KitYears > 0 && finite(prior.Pieces, prior.KitYears) {
		return prior
	}
	if item.Consumable {
		return ConsumablePrior()
	}
	return DurablePrior()
}

// exposure is how long kits in service have carried an item while records were
// kept, in kit-years. A kit whose list is not known is taken for one that does.
func (d *draft) exposure(item Item, s span) float64 {
	total := 0.0
	for _, k := range d.fleet {
		list, known := d.listOf(k.List)
		if _, carries := list.Line(item.ID); k.Unit == "" || known && !carries {
			continue
		}
		since := item.Since
		if k.Since.After(since) {
			since = k.Since
		}
		total += s.years(since)
	}
	return total
}

// add settles a line and puts it into the request, unless there is nothing to ask
// for.
func (d *draft) add(l Line) {
	l.Price = d.price(l)
	l.Evidence = d.evidence(l)
	problem, bad := d.request.settle(&l)
	if bad && problem.What == NoCount && l.Kind != WishLine && l.Kind != OwnLine {
		return
	}
	if bad {
		d.request.Problems = append(d.request.Problems, problem)
	}
	d.request.Lines = append(d.request.Lines, l)
}

// price is the best that is known: the last receipt, the list, the asker.
func (d *draft) price(l Line) Price {
	if l.Price.Source == LeadsPrice {
		return l.Price
	}
	if i := d.receipt(l.Item); i >= 0 && l.Item != "" {
		r := d.records[i]
		each := (2*r.Cents + int64(r.Count)) / (2 * int64(r.Count)) // half up
		return Price{Cents: each, Source: Receipt, Line: r.Line, On: d.Calendar.Date(r.Date)}
	}
	if item, known := d.items[l.Item]; known && item.Price.Source != NoSource {
		return item.Price
	}
	return l.Price
}
