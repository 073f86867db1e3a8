package command

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"kitbell/bot"
	"kitbell/bot/budget"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
	"kitbell/schedule"
)

// kitTopic begins the topic of a reminder of a kit that is away; its id follows.
const kitTopic = "kit"

// addNews tells the crew that reported a line how far it has come, or asks
// whether what was lent, or a kit that is away, is back.
func (p page) addNews(ctx context.Context, reply *bot.Reply, d schedule.Due) error {
	switch what, id := press(d.Topic); what {
	case loanTopic:
		return p.addLoan(ctx, reply, d)
	case kitTopic:
		return p.addKitAway(ctx, reply, id)
	case stopTopic:
		return p.addStopUse(ctx, reply, id)
	case listTopic:
		return p.addList(ctx, reply, id)
	case wishTopic:
		return p.addWish(ctx, reply, id)
	}
	l, err := p.lineOf(ctx, d)
	if err != nil {
		return err
	}
	if strings.HasPrefix(d.Topic, fetchTopic) {
		reply.Fields = append(reply.Fields, bot.Field{Name: "To be fetched", Value: fmt.Sprintf("#%d %s: left on scene, and %s was to fetch it by %s. Is it here?", l.Number, p.itemName(l.Item), l.Fetch, p.dayOnly(l.FetchBy))})
		reply.Buttons = append(reply.Buttons, bot.Button{Label: fmt.Sprintf("#%d in the kit", l.Number), Value: queueValue("in", l.Number, l.Version)})
		return nil
	}
	words := fmt.Sprintf("#%d %s: %s", l.Number, p.itemName(l.Item), p.stateWords(l))
	if d.Platoon != "" {
		words += ". You reported it"
	}
	reply.Fields = append(reply.Fields, bot.Field{Name: "News", Value: words + "."})
	return nil
}

// addWish tells a crew what the lead says to its wish.
func (p page) addWish(ctx context.Context, reply *bot.Reply, number string) error {
	all, err := p.allWishes(ctx)
	if err != nil {
		return err
	}
	w, err := wishNumbered(all, number)
	if err != nil {
		return nil // it was taken back meanwhile, and nobody asks any more
	}
	reply.Fields = append(reply.Fields, bot.Field{Name: "Your wish", Value: fmt.Sprintf("%s: %s.", p.wishName(w), p.verdictWords(w))})
	return nil
}

// newsForCrew lets a crew hear of something in its next post.
func (r *Request) newsForCrew(c budget.Crew, entry, topic string) bot.Change {
	return schedule.Fell{Due: schedule.Due{
		Entry: entry, Wall: r.Event.ID + "/" + c.Platoon, Unit: c.Unit, Platoon: c.Platoon, Kind: schedule.NewsDue, Topic: topic, At: r.Now,
	}}
}

// lineOf is the line that news is about.
func (p page) lineOf(ctx context.Context, d schedule.Due) (kit.Line, error) {
	number, err := strconv.Atoi(strings.TrimPrefix(d.Topic, fetchTopic+":"))
	if err != nil {
		return kit.Line{}, fmt.Errorf("news of line %q: %w", d.Topic, err)
	}
	return p.line(ctx, number)
}

func (p page) addLoan(ctx context.Context, reply *bot.Reply, d schedule.Due) error {
	l, out, err := p.loanOf(ctx, d)
	if err != nil || !out {
		return err
	}
	fleet, err := p.fleet(ctx)
	if err != nil {
		return err
	}
	reply.Fields = append(reply.Fields, bot.Field{Name: "On loan", Value: fmt.Sprintf("%s, %s. Is it back?", p.loanWords(fleet, l), p.day(l.At))})
	reply.Buttons = append(reply.Buttons, bot.Button{Label: "Back: " + p.itemName(l.Item), Value: string(understand.Lend) + ":back:" + l.Key})
	return nil
}

// loanOf is the loan that a reminder is about; out is false when it is back.
func (p page) loanOf(ctx context.Context, d schedule.Due) (l kit.Loan, out bool, err error) {
	loans, err := p.loans(ctx)
	if err != nil {
		return kit.Loan{}, false, err
	}
	_, key := press(d.Topic)
	i := slices.IndexFunc(loans, func(l kit.Loan) bool { return l.Key == key })
	if i < 0 {
		return kit.Loan{}, false, nil
	}
	return loans[i], true, nil
}

// addKitAway asks whether a kit is back that should be by now.
func (p page) addKitAway(ctx context.Context, reply *bot.Reply, id string) error {
	fleet, err := p.fleet(ctx)
	if err != nil {
		return err
	}
	k, _ := fleet.Kit(id)
	own := p.unit
	reply.Fields = append(reply.Fields, bot.Field{Name: "Kit " + id, Value: fmt.Sprintf("%s, and it was to be back by now. Is it?", p.whereWords(k.Place))})
	back := moveValue(k.Place, kit.Move{Kit: id, To: kit.Place{Kind: kit.OnUnit, At: own}})
	reply.Buttons = append(reply.Buttons, bot.Button{Label: "Kit " + id + " is back", Value: back})
	return nil
}
