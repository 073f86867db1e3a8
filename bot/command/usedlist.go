package command

import (
	"context"
	"fmt"
	"slices"
	"strconv"

	"kitbell/bot"
	"kitbell/bot/understand"
)

// mostUses is how many records of use are listed at once.
const mostUses = 5

// wrongFor is how many days back a record can be withdrawn by its crew.
const wrongFor = 90

// listUses shows the last records of the speaker's crew, each with a button that
// withdraws it.
func (r *Request) listUses(ctx context.Context) (Result, error) {
	entries, err := r.Books.Entries(ctx, r.Department.Slug, useKind, "", r.Now.AddDate(0, 0, -wrongFor))
	if err != nil {
		return Result{}, fmt.Errorf("read uses: %w", err)
	}
	reply := bot.Reply{Title: "Your crew's last uses"}
	for _, e := range slices.Backward(entries) {
		u, err := decode[use](e)
		if err != nil {
			return Result{}, err
		}
		if !r.ofMyCrew(e, u) || len(reply.Steps) == mostUses {
			continue
		}
		reply.Steps = append(reply.Steps, r.day(e.At)+": "+r.useLine(u))
		label := fmt.Sprintf("Withdraw %d", len(reply.Steps))
		reply.Buttons = append(reply.Buttons, bot.Button{Label: label, Value: withdrawValue(e.ID)})
	}
	if len(reply.Steps) == 0 {
		return Result{}, bot.SayNothingToTell.With()
	}
	return Answer(reply), nil
}

func withdrawValue(id int64) string {
	return fmt.Sprintf("%s:withdraw:%d", understand.Used, id)
}

func (r *Request) useLine(u use) string {
	words := r.cardTitle(u.Technique)
	if u.Technique == "" && len(u.Items) > 0 {
		words = r.itemName(u.Items[0])
	}
	if u.Outcome != "" {
		words += ", " + string(u.Outcome)
	}
	if u.Practice {
		words += ", practice"
	}
	return words
}

// withdrawUse takes a record back: that of the button, or the speaker's last
// one. Whatever is counted from records follows, because it is counted anew.
func (r *Request) withdrawUse(ctx context.Context, ref string) (Result, error) {
	since := r.Now.AddDate(0, 0, -wrongFor)
	if ref == "" {
		entry, u, err := r.lastUse(ctx, since)
		if err != nil {
			return Result{}, err
		}
		return r.withdrawn(entry, u), nil
	}
	id, err := strconv.ParseInt(ref, 10, 64)
	if err != nil {
		return Result{}, bot.SayOldButton.With()
	}
	entries, err := r.Books.Entries(ctx, r.Department.Slug, useKind, "", since)
	if err != nil {
		return Result{}, fmt.Errorf("read uses: %w", err)
	}
	i := slices.IndexFunc(entries, func(e bot.Entry) bool { return e.ID == id })
	if i < 0 {
		return Result{}, bot.SayUndoTwice.With()
	}
	u, err := decode[use](entries[i])
	if err != nil {
		return Result{}, err
	}
	if !r.mayTouch(entries[i], u) {
		return Result{}, bot.SayOtherCrew.With()
	}
	return r.withdrawn(entries[i], u), nil
}

func (r *Request) withdrawn(e bot.Entry, u use) Result {
	text := fmt.Sprintf("Withdrawn: %s, %s. The numbers are as if it had never been.", r.useLine(u), r.day(e.At))
	return Result{Posts: []Post{{Reply: bot.Reply{Text: text}}}, Changes: []bot.Change{bot.Withdrawn{Entry: e, At: r.Now}}}
}
