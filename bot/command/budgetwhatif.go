package command

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"kitbell/bot"
	"kitbell/bot/budget"
	"kitbell/bot/understand"
)

// What a committee asks besides why: what if a kind of lines is cut or prices move,
// what a kit costs, where the money goes.

var (
	cutSaid     = regexp.MustCompile(`(?i)^(?:and )?what (?:if|happens if) (?:we )?(?:cut|drop|leave out|skip|strike|remove|do not buy|don't buy|forget) (?:the |all |our )*(.+?)(?: out)?$`)
	riseSaid    = regexp.MustCompile(`(?i)^(?:and )?what (?:if|happens if) (?:the )?(?:prices?|costs?) (rise|go up|increase|grow|fall|drop|go down)(?: by)? (\d{1,3}) ?(?:%|per ?cent|percent)$`)
	kitCostSaid = regexp.MustCompile(`(?i)^(?:what|how much) (?:does|is|would|do) (?:it cost for )?(?:one|a|each|every|the)(?: full| new| whole| complete)? kit(?: cost| worth)?$|^(?:price|cost) of (?:a|one)(?: full| new| whole| complete)? kit$`)
	dearestSaid = regexp.MustCompile(`(?i)\b(?:most expensive|dearest|biggest|largest|highest|costliest)\b.*\blines?\b|^the dearest lines?$|^where does (?:the|our) money go$`)
	muchSaid    = regexp.MustCompile(`(?i)^(?:and )?how much (?:is it |do we (?:ask|need|want) |are we asking |money )?(?:for|on) (?:the |all |our )*(.+?)$`)
)

// requestWithoutKind leaves a kind of lines, or an item, out.
func (r *Request) requestWithoutKind(request budget.Request) (Result, error) {
	if len(r.Reading.Units) > 0 || r.Reading.Station != "" {
		return r.requestWithout(request)
	}
	said := cutSaid.FindStringSubmatch(r.asked())
	if said == nil {
		return Result{}, bot.SayOldButton.With()
	}
	about, name := r.linesSaid(said[1])
	if about == nil {
		return Answer(hearingForms()), nil
	}
	less := request
	less.Lines = slices.DeleteFunc(slices.Clone(request.Lines), about)
	reply := bot.Reply{Title: "The request without " + name, Text: r.changeOfTotal(request, less)}
	reply.Fields = []bot.Field{{Name: "What that leaves out", Value: plural(len(request.Lines)-len(less.Lines), "line") + ", the years after counted in. The need stays: what wears out wears out."}}
	return Answer(reply), nil
}

// linesSaid says which lines words are about: those of a kind, or of an item; nil
// where they name neither.
func (r *Request) linesSaid(words string) (about func(budget.Line) bool, name string) {
	if kinds := lineKindsSaid(words); len(kinds) == 1 {
		return func(l budget.Line) bool { return l.Kind == kinds[0] }, "the lines of " + string(kinds[0])
	}
	if items := r.Read(words, understand.Context{}).Items; len(items) > 0 {
		return func(l budget.Line) bool { return slices.Contains(items, l.Item) }, "the " + r.itemName(items[0])
	}
	return nil, ""
}

// requestAtPrices works the sums out at other prices. Shipping and tax are of the
// goods, so they move with them.
func (r *Request) requestAtPrices(request budget.Request) (Result, error) {
	said := riseSaid.FindStringSubmatch(r.asked())
	if said == nil {
		return Result{}, bot.SayOldButton.With()
	}
	percent, err := strconv.Atoi(said[2])
	if err != nil || percent > 100 {
		return Answer(hearingForms()), nil
	}
	moved := int64(100 + percent)
	if strings.EqualFold(said[1], "fall") || strings.EqualFold(said[1], "drop") || strings.EqualFold(said[1], "go down") {
		moved = int64(100 - percent)
	}
	other := request
	other.Lines = slices.Clone(request.Lines)
	for i, l := range other.Lines {
		if l.Excluded != "" {
			continue
		}
		goods := int64(l.Quantity) * ((l.Each*moved + 50) / 100)
		sums := budget.Sums{Goods: goods, Shipping: request.Terms.Shipping.Of(goods), Tax: request.Terms.Tax.Of(goods)}
		sums.Total = sums.Goods + sums.Shipping + sums.Tax
		other.Lines[i].Sums = sums
	}
	return Answer(bot.Reply{Title: fmt.Sprintf("The request if prices %s %d %%", strings.ToLower(said[1]), percent), Text: r.changeOfTotal(request, other)}), nil
}

// kitCost is what a full kit of the list in force costs at list prices.
func (r *Request) kitCost() bot.Reply {
	list, _ := r.Department.List(r.Department.InForce)
	var cents int64
	var unpriced []string
	for _, on := range list.Lines {
		item, _ := r.Department.Item(on.Item)
		if item.Cents == 0 {
			unpriced = append(unpriced, r.itemName(on.Item))
		}
		cents += item.Cents * int64(on.Qty)
	}
	reply := bot.Reply{Text: fmt.Sprintf("One kit of list %d, %s, costs %s at list prices, before shipping and tax.", list.Version, plural(len(list.Lines), "item"), r.money(cents))}
	if len(unpriced) > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Without a price, so not in it", Value: strings.Join(unpriced, ", ")})
	}
	return reply
}

// dearestLines are the lines of the first year that cost most.
func (r *Request) dearestLines(request budget.Request) bot.Reply {
	numbers := make(map[string]int)
	var lines []budget.Line
	for i, l := range request.Lines {
		numbers[l.Key] = i + 1
		if l.Year == request.Year {
			lines = append(lines, l)
		}
	}
	slices.SortStableFunc(lines, func(a, b budget.Line) int { return cmp.Compare(b.Sums.Total, a.Sums.Total) })
	reply := bot.Reply{Title: fmt.Sprintf("The dearest lines of %d", request.Year)}
	for _, l := range lines[:min(len(lines), 5)] {
		reply.Steps = append(reply.Steps, fmt.Sprintf("Line %d. %s", numbers[l.Key], r.lineSums(l)))
	}
	return reply
}

// muchFor is what an item or a kind of lines comes to in the first year.
func (r *Request) muchFor(request budget.Request) (Result, error) {
	said := muchSaid.FindStringSubmatch(r.asked())
	if said == nil {
		return Result{}, bot.SayOldButton.With()
	}
	about, name := r.linesSaid(said[1])
	if about == nil {
		return Answer(hearingForms()), nil
	}
	reply := bot.Reply{Title: upperFirst(strings.TrimPrefix(name, "the ")) + fmt.Sprintf(", fiscal year %d", request.Year)}
	var cents int64
	for i, l := range request.Lines {
		if l.Year == request.Year && about(l) {
			cents += l.Sums.Total
			reply.Steps = append(reply.Steps, fmt.Sprintf("Line %d. %s", i+1, r.lineSums(l)))
		}
	}
	reply.Text = fmt.Sprintf("%s in all, with shipping and tax.", r.money(cents))
	if len(reply.Steps) == 0 {
		reply.Text = "No line asks for that."
	}
	return Answer(reply), nil
}
