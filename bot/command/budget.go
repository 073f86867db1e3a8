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
	wishes, err := r.allWishes(ctx)
	if err != nil {
		return Result{}, err
	}
	closes, _ := r.wishYear(r.Now)
	reply := bot.Reply{
		Title: "To replace what is open now",
		Text:  fmt.Sprintf("%s, %s at list prices, before tax and shipping.", plural(priced, "line"), money(cents, r.Department.Currency)),
		Fields: []bot.Field{
			{Name: "Wishes", Value: wishCount(len(ofYear(wishes, closes)))},
			{Name: "Not in it", Value: "the yearly request: replacement by age, spares and wishes are not worked out yet"},
		},
	}
	if len(unpriced) > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Without a price", Value: strings.Join(unpriced, ", ")})
	}
	return Answer(reply), nil
}

// money is an amount as crews read it: with the sign where it is in dollars, and
// the currency's code where it is not.
func money(cents int64, currency string) string {
	sign := ""
	if cents < 0 {
		sign, cents = "-", -cents
	}
	if currency == "USD" {
		return fmt.Sprintf("%s$%d.%02d", sign, cents/100, cents%100)
	}
	return strings.TrimSpace(fmt.Sprintf("%s%d.%02d %s", sign, cents/100, cents%100, currency))
}
