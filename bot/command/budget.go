package command

import (
	"context"
	"fmt"
	"strings"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/understand"
)

// BudgetCommand adds up what it would cost to replace what is open now.
func BudgetCommand() Command {
	return Command{
		Name:    string(understand.Budget),
		Usage:   "budget",
		For:     department.Lead,
		Summary: "See what it costs to replace what is open, at list prices.",
		Run:     budgetNow,
	}
}

func budgetNow(ctx context.Context, r *Request) (Result, error) {
	open, err := r.Books.OpenLines(ctx, r.Department.Slug)
	if err != nil {
		return Result{}, fmt.Errorf("read open lines: %w", err)
	}
	var cents int64
	var priced int
	var unpriced []string
	for _, l := range open {
		item, _ := r.Department.Item(l.Item)
		if item.Cents == 0 {
			unpriced = append(unpriced, r.itemName(l.Item))
			continue
		}
		cents += item.Cents * int64(l.Count)
		priced++
	}
	wishes, err := r.Books.Entries(ctx, r.Department.Slug, wishKind, "", r.Now.AddDate(-1, 0, 0))
	if err != nil {
		return Result{}, fmt.Errorf("read wishes: %w", err)
	}
	reply := bot.Reply{
		Title: "To replace what is open now",
		Text:  fmt.Sprintf("%s, %s at list prices, before tax and shipping.", plural(priced, "line"), money(cents, r.Department.Currency)),
		Fields: []bot.Field{
			{Name: "Wishes in 12 months", Value: fmt.Sprint(len(wishes))},
			{Name: "Not in it", Value: "the yearly request: replacement by age, spares and wishes are not worked out yet"},
		},
	}
	if len(unpriced) > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Without a price", Value: strings.Join(unpriced, ", ")})
	}
	return Answer(reply), nil
}

func money(cents int64, currency string) string {
	return strings.TrimSpace(fmt.Sprintf("%d.%02d %s", cents/100, cents%100, currency))
}
