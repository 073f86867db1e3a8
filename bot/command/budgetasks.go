package command

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/budget"
	"kitbell/bot/understand"
)

var (
	addSaid   = regexp.MustCompile(`(?i)^(?:budget|request) (?:add|plus) ?:? (?:` + countWord + `|(-\d+)) ?(?:x|×)? ?(.+?)(?: (?:at|for|@) \$? ?(-?[\d,]+(?:\.\d{1,2})?)(?: each)?)?(?:[,;]? (?:because|for the reason that|since) (.+?))?\.?$`)
	dropSaid  = regexp.MustCompile(`(?i)^(?:budget|request) (?:drop|remove|take out|without the line) ?:? (?:the )?(.+?)\.?$`)
	callsSaid = regexp.MustCompile(`(?is)^(?:entry calls?|calls with (?:an )?entry)\b[ :]*(.*\d.*)$`)
	monthCall = regexp.MustCompile(`(?i)(` + monthNames + `(?: 20\d\d\b)?|\b20\d\d-\d\d)[ :=]+(?:were |was )?(-?\d{1,5})\b`)
)

// addAsk writes a line of the lead's own: boards, locks, printing.
func (r *Request) addAsk(ctx context.Context) (Result, error) {
	said := addSaid.FindStringSubmatch(strings.TrimSpace(r.Event.Text))
	if said == nil {
		return Result{}, bot.SayBudgetAddHow.With()
	}
	if said[2] != "" || strings.HasPrefix(said[4], "-") || smallNumber(said[1]) < 1 {
		return Result{}, bot.SayBudgetNegative.With()
	}
	past, err := r.earlier(ctx)
	if err != nil {
		return Result{}, err
	}
	own, err := r.ownAsks(ctx, past)
	if err != nil {
		return Result{}, err
	}
	if slices.ContainsFunc(own, func(a budget.Ask) bool { return a.Key == strings.ToLower(said[3]) }) {
		return Result{}, bot.SayBudgetTwice.With(said[3], said[3])
	}
	ask := budget.Ask{Own: true, Key: strings.ToLower(said[3]), Title: upperFirst(said[3]), Pieces: smallNumber(said[1]), Why: upperFirst(said[5])}
	if ask.Why != "" {
		ask.Why += "."
	}
	if said[4] != "" {
		cents, ok := centsOf(said[4])
		if ok && cents == 0 {
			return Result{}, bot.SayBudgetNegative.With()
		}
		if !ok {
			return Result{}, bot.SayFormPrice.With()
		}
		ask.Price = budget.Price{Cents: int64(cents), Source: budget.LeadsPrice}
	}
	if items := r.Read(said[3], understand.Context{}).Items; len(items) == 1 && len(budget.Gist(said[3], r.namesOf(items[0])...)) == 0 {
		ask.Item, ask.Title = items[0], "" // a tool of the list, at its price
	}
	text := fmt.Sprintf("In the request: %d × %s", ask.Pieces, said[3])
	switch {
	case ask.Price.Cents > 0:
		text += fmt.Sprintf(" at %s.", r.money(ask.Price.Cents))
	case ask.Item != "":
		text += ", at its price on the list."
	default:
		text += ". It has no price, so it is in no total yet."
	}
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: bot.NewEntry(budgetAskKind, ask.Key, r.Who.Person, r.Now, ask)}},
	}, nil
}

// dropAsk takes a line of the lead's own out again.
func (r *Request) dropAsk(ctx context.Context) (Result, error) {
	said := dropSaid.FindStringSubmatch(strings.TrimSpace(r.Event.Text))
	if said == nil {
		return Result{}, bot.SayOldButton.With()
	}
	entries, err := r.Books.Entries(ctx, r.Department.Slug, budgetAskKind, "", time.Time{})
	if err != nil {
		return Result{}, fmt.Errorf("read own lines: %w", err)
	}
	var names []string
	for _, e := range slices.Backward(entries) {
		names = append(names, e.Subject)
		if strings.EqualFold(e.Subject, said[1]) {
			return Result{
				Posts:   []Post{{Reply: bot.Reply{Text: "Out of the request: " + e.Subject + ".", Buttons: []bot.Button{r.undoButton()}}}},
				Changes: []bot.Change{bot.Withdrawn{Entry: e, At: r.Now}},
			}, nil
		}
	}
	if len(names) == 0 {
		return Say("There is no line of your own in the request."), nil
	}
	return Say("There is no such line of your own. There are: " + strings.Join(names, ", ") + "."), nil
}

// countCalls writes the counts of entry calls of some months, from another system:
// typed one by one, or pasted as a list.
func (r *Request) countCalls() (Result, error) {
	said := callsSaid.FindStringSubmatch(strings.TrimSpace(r.Event.Text))
	if said == nil {
		return Result{}, bot.SayOldButton.With()
	}
	var out Result
	var words []string
	for _, pair := range monthCall.FindAllStringSubmatch(said[1], -1) {
		month, ok := r.monthSaid(pair[1])
		n, err := strconv.Atoi(pair[2])
		if !ok || err != nil || n < 0 {
			return Result{}, bot.SayBudgetMonth.With()
		}
		count := budget.MonthlyEntries{Month: month.Format(monthShape), Entries: n}
		out.Changes = append(out.Changes, bot.Written{Entry: bot.NewEntry(entryCallsKind, count.Month, r.Who.Person, r.Now, count)})
		words = append(words, fmt.Sprintf("%s %d", month.Format("January 2006"), n))
	}
	if rest := strings.Trim(monthCall.ReplaceAllString(said[1], ""), " ,;.\n"); len(words) == 0 || rest != "" {
		return Result{}, bot.SayBudgetMonth.With()
	}
	text := "Calls with an entry: " + strings.Join(words, ", ") + ". What was recorded is set against them."
	out.Posts = []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}}
	return out, nil
}

// monthSaid is the month that is named, the last one that was where no year is.
func (r *Request) monthSaid(said string) (time.Time, bool) {
	now := r.Now.In(r.Department.Zone)
	if month, err := time.ParseInLocation(monthShape, said, r.Department.Zone); err == nil {
		return month, !month.After(now)
	}
	name, year, _ := strings.Cut(strings.TrimSuffix(said, "."), " ")
	for m := time.January; m <= time.December; m++ {
		if !strings.EqualFold(m.String()[:3], name[:3]) {
			continue
		}
		if n, err := strconv.Atoi(year); err == nil {
			month := time.Date(n, m, 1, 0, 0, 0, 0, now.Location())
			return month, !month.After(now)
		}
		month := time.Date(now.Year(), m, 1, 0, 0, 0, 0, now.Location())
		if month.After(now) {
			month = month.AddDate(-1, 0, 0)
		}
		return month, true
	}
	return time.Time{}, false
}
