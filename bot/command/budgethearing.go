package command

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/budget"
	"kitbell/bot/door"
	"kitbell/bot/understand"
)

const countWord = `(\d{1,4}|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve)`

var (
	whySaid     = regexp.MustCompile(`(?i)^why (?:do (?:we|you) (?:need|ask for|want) |are there |is it |so many |the )?(?:` + countWord + ` ?(?:x|×|of)? ?)?(.*?)(?: ?(?:at|for) [$£€]? ?(\d[\d,]{0,9}(?:\.\d{2})?)(?: ?[A-Z]{3})?(?: each| a piece)?)?$`)
	withoutSaid = regexp.MustCompile(`(?i)^(?:and |so )?what if (?:we )?(?:leave out|left out|leave|left|drop|dropped|without|skip|skipped|close|closed)\b|^(?:the )?(?:budget|request) without\b|^leave (?:out )?.* out of the (?:budget|request)$`)
	lostSaid    = regexp.MustCompile(`(?i)^what (?:did|have) (?:we|you|they) (?:los[et]|br[eo]ak|broken?|wear|worn|lost)\b|^(?:losses|what was lost|what got lost|what broke)\b|^how (?:much|many) .*\b(?:did we lose|were lost|got lost)\b`)
	bestSaid    = regexp.MustCompile(`(?i)^(?:what(?:'s| is) (?:the )?)?(?:budget )?best(?: set)?(?: of lines)? (?:we can (?:get|buy) )?(?:for|under|with|below|up to) \$? ?(\d[\d,]{0,9})(?:\.\d{2})?(?: dollars)?$|^what (?:can|should) we (?:get|buy) (?:for|with|under) \$? ?(\d[\d,]{0,9})(?: dollars)?$`)
)

// whySo answers why a line is what it is: by a count and a price, or a tool's name.
func (r *Request) whySo(request budget.Request) (Result, error) {
	said := whySaid.FindStringSubmatch(r.asked())
	if said == nil {
		return Result{}, bot.SayOldButton.With()
	}
	query := budget.Query{Quantity: smallNumber(said[1])}
	if cents, ok := centsOf(said[3]); ok {
		query.Cents = int64(cents)
	}
	if items := r.Read(said[2], understand.Context{}).Items; len(items) > 0 {
		query.Item = items[0]
	}
	if query == (budget.Query{}) {
		return Result{}, bot.SayBudgetAskLine.With()
	}
	found, missed := request.Find(query), ""
	if len(found) == 0 { // the count or the price was misheard
		missed = "No line is just that. "
		for _, less := range []budget.Query{{Item: query.Item, Cents: query.Cents}, {Item: query.Item}, {Cents: query.Cents}, {Quantity: query.Quantity}} {
			if less != (budget.Query{}) && len(found) == 0 {
				found = request.Find(less)
			}
		}
	}
	found = slices.DeleteFunc(found, func(l budget.Line) bool { return l.Year != request.Year })
	number := func(l budget.Line) int {
		return slices.IndexFunc(request.Lines, func(o budget.Line) bool { return o.Key == l.Key }) + 1
	}
	switch len(found) {
	case 0:
		return r.noSuchLine(request, query)
	case 1:
		result, err := r.explained(request, found[0], number(found[0]))
		if err == nil && missed != "" {
			result.Posts[0].Reply.Text = missed + result.Posts[0].Reply.Text
		}
		return result, err
	}
	reply := bot.Reply{Text: missed + "Several lines may be meant."}
	for _, l := range found {
		reply.Steps = append(reply.Steps, fmt.Sprintf("Line %d. %s", number(l), r.lineSums(l)))
		reply.Buttons = append(reply.Buttons, budgetButton(fmt.Sprintf("Line %d", number(l)), fmt.Sprintf("line:%d", number(l))))
	}
	return Answer(reply), nil
}

// noSuchLine says that nothing is asked for, and what the records say of the item.
func (r *Request) noSuchLine(request budget.Request, query budget.Query) (Result, error) {
	if f, ok := request.Forecast(query.Item); ok {
		return Say(fmt.Sprintf("No line asks for the %s. %s", r.itemName(query.Item), f.Words())), nil
	}
	return Result{}, bot.SayBudgetAskLine.With()
}

// requestWithout works the request out again with the kits of some rigs left out.
func (r *Request) requestWithout(request budget.Request) (Result, error) {
	units := slices.Clone(r.Reading.Units)
	for _, u := range r.Department.Units {
		if r.Reading.Station != "" && u.Station == r.Reading.Station && !slices.Contains(units, u.ID) && hasKit(request, u.ID) {
			units = append(units, u.ID)
		}
	}
	if about := cutSaid.FindString(r.asked()); len(units) == 0 && about != "" {
		return r.requestWithoutKind(request)
	}
	if len(units) == 0 {
		return Result{}, bot.SayBudgetWhichRigs.With()
	}
	less, err := request.Without(units...)
	if err != nil {
		return Result{}, r.unitsByName(err)
	}
	difference := budget.Compare(request, less)
	names := make([]string, len(units))
	for i, id := range units {
		names[i] = r.unitName(id)
	}
	reply := bot.Reply{
		Title: "The request without " + list(names, "and"),
		Text:  r.changeOfTotal(request, less),
		Fields: []bot.Field{
			{Name: fmt.Sprintf("All %s, %d to %d", plural(request.Years, "year"), request.Year, request.Year+request.Years-1), Value: difference.Words(r.Department.Currency)},
		},
	}
	for _, l := range difference.Lines {
		if max(l.Before.Year, l.After.Year) == request.Year {
			reply.Steps = append(reply.Steps, fmt.Sprintf("%s (%s): %d becomes %d, %s becomes %s.", l.Title, cmp.Or(l.Before.Kind, l.After.Kind), l.Before.Quantity, l.After.Quantity, r.money(l.Before.Sums.Total), r.money(l.After.Sums.Total)))
		}
	}
	return Answer(reply), nil
}

// changeOfTotal says what the first year comes to before and after a change.
func (r *Request) changeOfTotal(before, after budget.Request) string {
	was, is := before.OfYear(before.Year).Total, after.OfYear(before.Year).Total
	words := fmt.Sprintf("Fiscal year %d: %s becomes %s", before.Year, r.money(was), r.money(is))
	switch {
	case is < was:
		return fmt.Sprintf("%s, %s less.", words, r.money(was-is))
	case is > was:
		return fmt.Sprintf("%s, %s more.", words, r.money(is-was))
	}
	return words + ": the same."
}

func hasKit(request budget.Request, unit string) bool {
	return slices.ContainsFunc(request.Kits, func(k budget.LineKit) bool { return k.Unit == unit })
}

// unitsByName puts rigs' names into a sentence that has their ids.
func (r *Request) unitsByName(err error) error {
	var said *bot.UserError
	if !errors.As(err, &said) {
		return err
	}
	words := said.Say
	for _, u := range r.Department.Units {
		words = strings.ReplaceAll(words, u.ID, u.Name)
	}
	return &bot.UserError{Say: words, Err: said.Err}
}

// lostIn says what was lost, broken or worn out in a fiscal year, by item, and
// beside it what was used up.
func (r *Request) lostIn(ctx context.Context) (Result, error) {
	records, err := r.budgetRecords(ctx)
	if err != nil {
		return Result{}, err
	}
	calendar := r.calendar()
	year := r.fiscalYearSaid(strings.ToLower(r.Event.Text))
	reply := bot.Reply{Title: fmt.Sprintf("Lost in fiscal year %d, %s to %s", year, r.dayAndYear(calendar.Start(year)), r.dayAndYear(calendar.End(year).Add(-time.Hour)))}
	pieces := 0
	for _, g := range budget.Losses(records, calendar, year) {
		pieces += g.Counts.Gone()
		var where []string
		for _, record := range g.Records {
			where = append(where, r.recordWords(record))
		}
		reply.Fields = append(reply.Fields, bot.Field{Name: fmt.Sprintf("%s, %d", upperFirst(r.itemName(g.Key)), g.Counts.Gone()), Value: strings.Join(where, "; ")})
	}
	counts := budget.Count(budget.OfYear(records, calendar, year))
	reply.Text = fmt.Sprintf("%s of tools lost, broken or worn out. Used up of consumables: %d. Days short, all kits together: %d.", plural(pieces, "piece"), counts.UsedUp, counts.DaysShort)
	if counts == (budget.Counts{}) {
		reply.Text = "There are no records of that year. That does not say that nothing was lost."
	}
	return Answer(reply), nil
}

// bestUnder finds the lines of the first year that are worth most under an amount.
func (r *Request) bestUnder(ctx context.Context, request budget.Request) (Result, error) {
	said := bestSaid.FindStringSubmatch(r.asked())
	if said == nil {
		return Result{}, bot.SayOldButton.With()
	}
	cents, ok := centsOf(said[1] + said[2])
	if !ok {
		return Result{}, bot.SayFormPrice.With()
	}
	lines, left := mostWorth(worthLines(request))
	candidates := budget.Candidates(lines)
	parts, err := r.doorParts(ctx, request, lines, candidates)
	if err != nil {
		return Result{}, err
	}
	choice, err := budget.BestSet(ctx, candidates, int64(cents), budget.SumOfParts(parts))
	if err != nil {
		return Result{}, fmt.Errorf("find best set: %w", err)
	}
	reply := bot.Reply{
		Title: fmt.Sprintf("Best under %s: %s", r.money(int64(cents)), r.money(choice.Cents)),
		Text: fmt.Sprintf("By the door model, on assumptions: without these lines an average entry would cost %.2f minutes more, a lasting mark counted as the minutes it is worth. Of %s every set that could be best was tried.",
			choice.Worth, plural(len(candidates), "line")),
	}
	for _, l := range lines {
		if slices.Contains(choice.Keys, l.Key) {
			reply.Steps = append(reply.Steps, r.lineSums(l))
		}
	}
	var idle []string
	for _, l := range lines {
		if !slices.Contains(choice.Keys, l.Key) && l.Sums.Total <= int64(cents)-choice.Cents {
			idle = append(idle, fmt.Sprintf("%s (%s)", l.Title, l.Kind))
		}
	}
	if len(idle) > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "There is money left for these, and they add nothing in the model", Value: strings.Join(idle, ", ")})
	}
	if len(reply.Steps) == 0 {
		reply.Text = "No line that the model gives a worth costs so little."
	}
	if left > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Left out", Value: fmt.Sprintf("%s of the least worth for the money: every set of %d can be tried, no more.", plural(left, "line"), budget.MostCandidates)})
	}
	if out := request.OfYear(request.Year).Lines - len(candidates) - left; out > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Not weighed", Value: fmt.Sprintf("%s that the door model gives no worth.", plural(out, "line"))})
	}
	return Answer(reply), nil
}

// worthLines are the first year's lines that the model gives a worth, and that are
// in the totals.
func worthLines(request budget.Request) []budget.Line {
	return slices.DeleteFunc(slices.Clone(request.Lines), func(l budget.Line) bool {
		return l.Year != request.Year || l.Excluded != "" || l.Worth == nil || l.Worth.Minutes.Mean <= 0 && l.Worth.Marks.Mean <= 0
	})
}

// mostWorth keeps as many lines as can be tried in every set: those of most worth for
// their money, taken one by one. left is how many others there are.
func mostWorth(lines []budget.Line) (kept []budget.Line, left int) {
	slices.SortStableFunc(lines, func(a, b budget.Line) int {
		return cmp.Compare(b.Worth.Minutes.Mean/float64(b.Sums.Total), a.Worth.Minutes.Mean/float64(a.Sums.Total))
	})
	kept = lines[:min(len(lines), budget.MostCandidates)]
	return kept, len(lines) - len(kept)
}

// doorParts are what the candidates are worth, door by door. A line serves the part
// of the kits that its pieces are for; the kits that lack the rarer thing are taken
// to be among those that lack the commoner one. Tools that stand in for each other
// are worth less together.
func (r *Request) doorParts(ctx context.Context, request budget.Request, lines []budget.Line, candidates []budget.Candidate) ([]budget.Part, error) {
	doors, err := r.learnedDoors(ctx)
	if err != nil {
		return nil, err
	}
	complete := r.CompleteKit(r.Department.InForce)
	list, _ := r.Department.List(r.Department.InForce)
	items := make([]string, len(candidates))
	share := make([]float64, len(candidates))
	for i, c := range candidates {
		at := slices.IndexFunc(lines, func(l budget.Line) bool { return l.Key == c.Key })
		on, _ := list.Line(lines[at].Item)
		items[i] = lines[at].Item
		share[i] = min(1, float64(lines[at].Quantity)/float64(max(1, on.Qty*len(request.Kits))))
	}
	var parts []budget.Part
	doors.EachDoor(items, func(weight float64, takes []string, cost func(door.Tools) float64) {
		var uses budget.Set
		for i, item := range items {
			if slices.Contains(takes, item) {
				uses = uses.With(i)
			}
		}
		if uses != 0 {
			parts = append(parts, budget.Part{Uses: uses, Worth: func(s budget.Set) float64 {
				return weight * layered(share, s, func(has budget.Set) float64 {
					return cost(kitWith(complete, items, 0)) - cost(kitWith(complete, items, has))
				})
			}})
		}
	})
	return parts, nil
}

// kitWith is a complete kit of which only some of the items that may be bought are
// there.
func kitWith(complete door.Tools, items []string, has budget.Set) door.Tools {
	tools := make(door.Tools, len(complete))
	for id, why := range complete {
		tools[id] = why
	}
	for i, item := range items {
		if !has.Has(i) {
			delete(tools, item)
		}
	}
	for i, item := range items { // two lines may be about one item
		if has.Has(i) {
			tools[item] = ""
		}
	}
	return tools
}

// layered averages a worth over kits: those that each thing serves are nested, so
// between two shares the same things are there.
func layered(share []float64, s budget.Set, worth func(budget.Set) float64) float64 {
	var levels []float64
	for i, part := range share {
		if s.Has(i) {
			levels = append(levels, part)
		}
	}
	slices.Sort(levels)
	total, from := 0.0, 0.0
	for _, level := range slices.Compact(levels) {
		var has budget.Set
		for i, part := range share {
			if s.Has(i) && part >= level {
				has = has.With(i)
			}
		}
		total += (level - from) * worth(has)
		from = level
	}
	return total
}
