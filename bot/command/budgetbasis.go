package command

import (
	"cmp"
	"context"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/budget"
	"kitbell/bot/door"
	"kitbell/bot/kit"
	"kitbell/bot/training"
)

// The journal's words for what the lead adds to the request, and for a month's count
// of entry calls from another system.
const (
	budgetAskKind  = "budget-ask"
	entryCallsKind = "entry-calls"
)

// mixCalls is how many calls the default mix of doors counts for beside the recorded
// ones, when the model's range is drawn: an assumption.
const mixCalls = 20

// modelDraws is how many mixes the model's range is made of, and mixSeed what they
// start from, so that a request says the same whenever it is worked out.
const (
	modelDraws = 200
	mixSeed    = 1
)

// draftRequest works out the request for the fiscal year that comes next, from what
// is on record now.
func (r *Request) draftRequest(ctx context.Context) (budget.Request, error) {
	basis, err := r.budgetBasis(ctx)
	if err != nil {
		return budget.Request{}, err
	}
	request, err := budget.Build(basis)
	if err != nil {
		return budget.Request{}, fmt.Errorf("build request: %w", err)
	}
	model, err := r.budgetModel(ctx)
	if err != nil {
		return budget.Request{}, err
	}
	sample, err := r.callSample(ctx)
	if err != nil {
		return budget.Request{}, err
	}
	return request.WithModel(model, sample), nil
}

// calendar is the department's fiscal years.
func (r *Request) calendar() budget.Calendar {
	starts := r.Department.Budget.YearStarts
	if starts.Month == 0 {
		starts.Month, starts.Day = time.January, 1
	}
	return budget.Calendar{Month: starts.Month, Day: starts.Day, Zone: r.Department.Zone}
}

func (r *Request) budgetTerms() budget.Terms {
	b := r.Department.Budget
	return budget.Terms{
		Currency: r.Department.Currency, Tax: budget.RateOf(b.Tax), Shipping: budget.RateOf(b.Shipping), Escalation: budget.RateOf(b.Escalation),
		LeadDays: b.LeadDays, Protection: cmp.Or(b.Protection, 0.95),
	}
}

// budgetBasis is all that the request is made of.
func (r *Request) budgetBasis(ctx context.Context) (budget.Basis, error) {
	calendar := r.calendar()
	b := budget.Basis{
		Calendar: calendar, Terms: r.budgetTerms(), Year: calendar.Year(r.Now) + 1, Now: r.Now,
		Items: r.budgetItems(), Lists: r.Department.Lists, InForce: r.Department.InForce, Units: r.budgetUnits(),
	}
	fleet, err := r.fleet(ctx)
	if err != nil {
		return b, err
	}
	b.Kits = budget.Kits(fleet.All())
	if b.Pieces, err = r.pieces(ctx); err != nil {
		return b, err
	}
	shelves, err := r.shelves(ctx)
	if err != nil {
		return b, err
	}
	b.Stock = stockOf(shelves)
	if b.Records, err = r.budgetRecords(ctx); err != nil {
		return b, err
	}
	b.Asks, err = r.budgetAsks(ctx)
	return b, err
}

func (r *Request) budgetItems() []budget.Item {
	var items []budget.Item
	for _, i := range r.Department.Items {
		item := budget.Item{ID: i.ID, Name: r.itemName(i.ID), Consumable: i.Consumable, Life: i.Life}
		if i.Priced {
			item.Price = budget.Price{Cents: i.Cents, Source: budget.ListPrice, From: i.Source}
		}
		items = append(items, item)
	}
	return items
}

func (r *Request) budgetUnits() []budget.Unit {
	var units []budget.Unit
	for _, u := range r.Department.Units {
		units = append(units, budget.Unit{ID: u.ID, Name: u.Name, Reserve: u.Reserve, Sold: u.Sold})
	}
	return units
}

// wishesClosed is when wishes for a fiscal year close: the closing before it begins.
func (r *Request) wishesClosed(starts time.Time) time.Time {
	closes, begins := r.wishYear(starts.AddDate(-1, 0, 0))
	for begins.Before(starts) {
		closes, begins = r.wishYear(closes)
	}
	for begins.After(starts) {
		closes, begins = r.wishYear(closes.AddDate(-1, 0, 0).Add(-time.Hour))
	}
	return closes
}

// stockOf adds up what all shelves hold.
func stockOf(shelves map[string][]kit.Stock) map[string]int {
	stock := make(map[string]int)
	for _, shelf := range shelves {
		for _, s := range shelf {
			stock[s.Item] += s.Count
		}
	}
	return stock
}

// budgetRecords are the dated facts that the request rests on: what the queue's
// lines say in the end, and what was used or wanted on real calls.
func (r *Request) budgetRecords(ctx context.Context) ([]budget.Record, error) {
	steps, err := r.Books.LineSteps(ctx, r.Department.Slug)
	if err != nil {
		return nil, fmt.Errorf("read steps of lines: %w", err)
	}
	reader := budget.LineReader{Calendar: r.calendar(), Now: r.Now, Consumable: func(id string) bool {
		item, _ := r.Department.Item(id)
		return item.Consumable
	}}
	var records []budget.Record
	for _, history := range groupBy(steps, func(c kit.Change) string { return strconv.Itoa(c.New.Number) }) {
		records = append(records, reader.Records(history)...)
	}
	uses, err := foldAs(ctx, r, useKind, "records", r.useRecords)
	if err != nil {
		return nil, err
	}
	records = append(records, uses...)
	budget.SortRecords(records)
	return records, nil
}

// useRecords are what was used, and what was wanted and absent, on real calls.
func (r *Request) useRecords(entries []bot.Entry) ([]budget.Record, error) {
	var records []budget.Record
	for _, e := range entries {
		u, err := decode[use](e)
		if err != nil {
			return nil, err
		}
		if u.Practice {
			continue
		}
		k, _ := r.Department.KitOf(u.Unit)
		about := budget.Record{Date: e.At.UTC(), Kit: k.ID, Unit: u.Unit, Count: 1, Entry: fmt.Sprintf("use %d", e.ID)}
		for _, item := range u.tookItems() {
			about.Item, about.Kind = item, budget.Used
			records = append(records, about)
		}
		for _, item := range u.Absent {
			about.Item, about.Kind = item, budget.Absent
			records = append(records, about)
		}
	}
	return records, nil
}

// tookItems are the tools of a use: those that were named, or else those that the
// way took.
func (u use) tookItems() []string {
	if len(u.Items) > 0 {
		return u.Items
	}
	return u.Tools
}

// budgetAsks are the wishes that the lead has granted, the lead's own lines, and
// what training used up.
func (r *Request) budgetAsks(ctx context.Context) ([]budget.Ask, error) {
	all, err := r.allWishes(ctx)
	if err != nil {
		return nil, err
	}
	past, err := r.earlier(ctx)
	if err != nil {
		return nil, err
	}
	closes := r.wishesClosed(r.calendar().Start(r.calendar().Year(r.Now) + 1))
	var asks []budget.Ask
	for _, w := range all {
		if w.Answer == nil || w.Answer.Verdict != budget.Granted || !w.Askings[0].At.Before(closes) || askedBefore(past, budget.WishLine, fmt.Sprintf("w%d", w.Number), w.Answer.At) {
			continue
		}
		ask := budget.Ask{Key: fmt.Sprintf("w%d", w.Number), Item: w.Item, Title: upperFirst(article.ReplaceAllString(r.wishName(w), "")), PerKit: w.Answer.Each, Units: w.Answer.Units, Crews: len(w.Crews())}
		if reasons := w.Reasons(); len(reasons) > 0 {
			ask.Why = upperFirst(reasons[0]) + "."
		}
		switch cents := w.Cents(); {
		case w.Answer.Cents > 0:
			ask.Price = budget.Price{Cents: w.Answer.Cents, Source: budget.LeadsPrice}
		case cents > 0:
			ask.Price = budget.Price{Cents: cents, Source: budget.AskersPrice}
		}
		asks = append(asks, ask)
	}
	own, err := r.ownAsks(ctx, past)
	if err != nil {
		return nil, err
	}
	trained, err := r.trainingAsks(ctx)
	return slices.Concat(asks, own, trained), err
}

// earlier are the requests that were handed in for fiscal years before the coming
// one.
func (r *Request) earlier(ctx context.Context) ([]budget.Submitted, error) {
	all, err := r.submitted(ctx)
	coming := r.calendar().Year(r.Now) + 1
	return slices.DeleteFunc(slices.Clone(all), func(s budget.Submitted) bool { return s.Request.Year >= coming }), err
}

// askedBefore says whether what was wanted by an instant stands in a request of an
// earlier year: it is asked for once, and what became of it is told there.
func askedBefore(past []budget.Submitted, kind budget.LineKind, key string, since time.Time) bool {
	return slices.ContainsFunc(past, func(s budget.Submitted) bool {
		return !since.After(s.At) && slices.ContainsFunc(s.Request.Lines, func(l budget.Line) bool {
			return l.Kind == kind && l.Excluded == "" && strings.HasSuffix(l.Key, "/"+key)
		})
	})
}

// ownAsks are the lead's own lines that no earlier request has had.
func (r *Request) ownAsks(ctx context.Context, past []budget.Submitted) ([]budget.Ask, error) {
	entries, err := r.Books.Entries(ctx, r.Department.Slug, budgetAskKind, "", time.Time{})
	if err != nil {
		return nil, fmt.Errorf("read own lines: %w", err)
	}
	var own []budget.Ask
	for _, e := range entries {
		ask, err := decode[budget.Ask](e)
		if err != nil {
			return nil, err
		}
		if !askedBefore(past, budget.OwnLine, ask.Key, e.At) {
			own = append(own, ask)
		}
	}
	return own, nil
}

// article begins the name of a wish, and no name of a line.
var article = regexp.MustCompile(`(?i)^(?:an?|the|some) `)

// trainingAsks ask for as much of each item as the sessions of twelve months used
// up: a line of its own, for training says nothing of calls.
func (r *Request) trainingAsks(ctx context.Context) ([]budget.Ask, error) {
	sessions, err := r.sessions(ctx)
	if err != nil {
		return nil, err
	}
	var asks []budget.Ask
	used := training.UsedUp(sessions, r.Now.AddDate(-1, 0, 0), r.Now)
	for _, item := range r.Department.Items {
		if n := used[item.ID]; n > 0 {
			asks = append(asks, budget.Ask{
				Key: "training-" + item.ID, Own: true, Item: item.ID, Title: upperFirst(r.itemName(item.ID)) + ", for training", Pieces: n,
				Why: fmt.Sprintf("Sessions of the last 12 months used up %d.", n),
			})
		}
	}
	return asks, nil
}

// callSample puts the real calls that were recorded beside the counts of entry
// calls, in the months that have one; of twelve months where none has.
func (r *Request) callSample(ctx context.Context) (budget.Sample, error) {
	counts, err := r.entryCalls(ctx)
	if err != nil {
		return budget.Sample{}, err
	}
	uses, err := r.Books.Entries(ctx, r.Department.Slug, useKind, "", r.Now.AddDate(-1, 0, 0))
	if err != nil {
		return budget.Sample{}, fmt.Errorf("read uses: %w", err)
	}
	recorded := 0
	for _, e := range uses {
		u, err := decode[use](e)
		if err != nil {
			return budget.Sample{}, err
		}
		month := e.At.In(r.Department.Zone).Format(monthShape)
		counted := slices.ContainsFunc(counts, func(m budget.MonthlyEntries) bool { return m.Month == month })
		if !u.Practice && (counted || len(counts) == 0) {
			recorded++
		}
	}
	return budget.NewSample(recorded, counts), nil
}

const monthShape = "2006-01"

// entryCalls are the months of the last twelve that somebody counted, the last word
// on each.
func (r *Request) entryCalls(ctx context.Context) ([]budget.MonthlyEntries, error) {
	all, err := fold(ctx, r, entryCallsKind, bodies[budget.MonthlyEntries])
	if err != nil {
		return nil, err
	}
	from := r.Now.In(r.Department.Zone).AddDate(-1, 0, 0).Format(monthShape)
	var months []budget.MonthlyEntries
	for _, m := range all {
		months = slices.DeleteFunc(months, func(was budget.MonthlyEntries) bool { return was.Month == m.Month })
		if m.Month > from {
			months = append(months, m)
		}
	}
	return months, nil
}

// budgetModel is the door model as the request asks it: what each item of a
// complete kit saves at each kind of door, weighed by recorded calls and the mix.
func (r *Request) budgetModel(ctx context.Context) (budget.Model, error) {
	doors, err := r.learnedDoors(ctx)
	if err != nil {
		return budget.Model{}, err
	}
	var ids []string
	for _, i := range r.Department.Items {
		ids = append(ids, i.ID)
	}
	savings := doors.Savings(r.CompleteKit(r.Department.InForce), ids)
	if len(ids) == 0 || len(savings[ids[0]]) == 0 {
		return budget.Model{}, nil
	}
	recorded, err := r.callsByDoor(ctx)
	if err != nil {
		return budget.Model{}, err
	}
	for id := range savings {
		savings[id] = byDoor(savings[id])
	}
	var mix []budget.MixedDoor
	for at, s := range savings[ids[0]] {
		mix = append(mix, budget.MixedDoor{
			Calls: s.Share*mixCalls + float64(recorded[s.Door]),
			Worth: func(item string) (minutes, marks float64) {
				if all := savings[item]; at < len(all) {
					return all[at].Minutes, all[at].Marks
				}
				return 0, 0
			},
		})
	}
	return budget.MixModel(mix, modelDraws, mixSeed), nil
}

// byDoor puts the savings at one door, routine and urgent, together.
func byDoor(savings []door.Saving) []door.Saving {
	var doors []door.Saving
	for _, one := range groupBy(savings, func(s door.Saving) string { return s.Door }) {
		sum := door.Saving{Door: one[0].Door}
		for _, s := range one {
			sum.Share += s.Share
			sum.Minutes += s.Share * s.Minutes
			sum.Marks += s.Share * s.Marks
		}
		if sum.Share > 0 {
			sum.Minutes, sum.Marks = sum.Minutes/sum.Share, sum.Marks/sum.Share
		}
		doors = append(doors, sum)
	}
	return doors
}

// callsByDoor counts the recorded real calls at each door of the mix: those whose
// swing and lock are its own.
func (r *Request) callsByDoor(ctx context.Context) (map[string]int, error) {
	return foldAs(ctx, r, useKind, "doors", func(entries []bot.Entry) (map[string]int, error) {
		counts := make(map[string]int)
		for _, e := range entries {
			u, err := decode[use](e)
			if err != nil {
				return nil, err
			}
			like := func(m door.MixedDoor) bool { return m.Facts.Swing == u.Facts.Swing && m.Facts.Lock == u.Facts.Lock }
			if i := slices.IndexFunc(r.Mix, like); i >= 0 && !u.Practice {
				counts[r.Mix[i].Name]++
			}
		}
		return counts, nil
	})
}
