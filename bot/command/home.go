package command

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"kitbell/bot"
	"kitbell/bot/kit"
)

// mostMine is how many of one's own reports the page shows.
const mostMine = 8

// home is the page that a person sees of the bot: their kit, their crew's next
// drill, what they reported and how it stands.
func (r *Request) home(ctx context.Context) (Result, error) {
	reply := bot.Reply{Title: "Your kit desk", Text: "Tap, or type to me as you would say it."}
	if r.Who.Unit == "" {
		reply.Fields = append(reply.Fields, bot.Field{Name: "My kit", Value: "I do not know your rig. Type: riding {rig} today."})
	} else if kits, err := r.homeKit(ctx); err != nil {
		return Result{}, err
	} else {
		reply.Fields = append(reply.Fields, kits)
	}
	if r.Who.member() {
		given, found, err := r.nextDrill(ctx, false)
		if err != nil {
			return Result{}, err
		}
		if found {
			reply.Fields = append(reply.Fields, bot.Field{Name: "My crew's next drill", Value: r.cardTitle(given.Drill.Card)})
		}
	}
	mine, err := r.mine(ctx)
	if err != nil {
		return Result{}, err
	}
	reply.Fields = append(reply.Fields, bot.Field{Name: "What I reported", Value: mine})
	reply.Buttons = []bot.Button{
		{Label: "Report", Value: formVerb + ":" + reportForm}, {Label: "Kit check", Value: formVerb + ":" + checkForm},
		{Label: "After use", Value: formVerb + ":" + afterUseForm}, {Label: "Wish", Value: formVerb + ":" + wishForm},
		typed("Queue", "queue"),
	}
	if r.Who.member() {
		reply.Buttons = append(reply.Buttons, typed("Drill", "give us a drill"), bot.Button{Label: "New card", Value: formVerb + ":" + cardForm})
	}
	return Answer(reply), nil
}

// homeKit is the kit of the person's rig in one line.
func (r *Request) homeKit(ctx context.Context) (bot.Field, error) {
	k, err := r.kitOn(ctx, r.Who.Unit)
	if sentence, ok := asUserError(err); ok {
		return bot.Field{Name: "My kit", Value: sentence}, nil
	}
	if err != nil {
		return bot.Field{}, err
	}
	c, err := r.checked(ctx, k, r.Who.Unit)
	if err != nil {
		return bot.Field{}, err
	}
	return bot.Field{Name: "My kit", Value: fmt.Sprintf("%s. %s Last check: %s.", r.unitName(r.Who.Unit), r.kitText(k, c.open), c.lastCheck())}, nil
}

// mine lists the person's own reports that are open, or were closed in the last
// two weeks.
func (r *Request) mine(ctx context.Context) (string, error) {
	open, err := r.Books.OpenLines(ctx, r.Department.Slug)
	if err != nil {
		return "", fmt.Errorf("read open lines: %w", err)
	}
	closed, err := r.Books.ClosedLines(ctx, r.Department.Slug, r.Now.AddDate(0, 0, -14))
	if err != nil {
		return "", fmt.Errorf("read closed lines: %w", err)
	}
	var words []string
	for _, l := range slices.Concat(open, closed) {
		if l.By == r.Who.Person && len(words) < mostMine {
			words = append(words, fmt.Sprintf("#%d %s %s: %s", l.Number, r.unitName(l.Unit), r.lineWords(l), stateNow(l)))
		}
	}
	if len(words) == 0 {
		return "nothing open, and nothing in two weeks", nil
	}
	return strings.Join(words, "; "), nil
}

func stateNow(l kit.Line) string { return string(l.State) }
