package command

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"kitbell/bot"
	"kitbell/bot/door"
	"kitbell/bot/training"
	"kitbell/bot/understand"
	"kitbell/knowledge"
)

// doorToDecide is a door of the department's mix at which the topic is what the
// plan tries first; nil when there is none. The drill's key picks it.
func (r *Request) doorToDecide(ctx context.Context, g givenDrill) (*training.Decide, error) {
	doors, err := r.learnedDoors(ctx)
	if err != nil {
		return nil, err
	}
	barred, err := r.barred(ctx)
	if err != nil {
		return nil, err
	}
	plan := func(facts door.Facts) (door.Plan, error) {
		return doors.Plan(door.Request{Facts: facts, Tools: r.CompleteKit(r.Department.InForce), Barred: barred})
	}
	fitting, err := training.DoorsFor(g.Drill.Topic, r.Mix, plan)
	if err != nil || len(fitting) == 0 {
		return nil, err
	}
	facts := fitting[int(r.Now.Unix()/60)%len(fitting)]
	p, err := plan(facts)
	if err != nil {
		return nil, fmt.Errorf("plan a drill's door: %w", err)
	}
	decide, err := training.NewDecide(facts, p, g.Key)
	if errors.Is(err, training.ErrNothingToDecide) {
		return nil, nil
	}
	return &decide, err
}

// decideReply describes and draws the door, and offers what to try first.
func (r *Request) decideReply(g givenDrill) bot.Reply {
	reply := bot.Reply{
		Title: "Decide: what do you try first?",
		Text:  r.realWords(g) + "You see: " + factsWords(g.Decide.Facts) + ". Agree on it, then tap, each for themselves.",
	}
	key := sceneOf(g.Decide.Facts, nil)
	if scene, err := sceneOfKey(key); err == nil {
		reply.Pictures = []bot.Picture{{Scene: key, Alt: scene.Alt()}}
	}
	for i, o := range g.Decide.Options {
		reply.Buttons = append(reply.Buttons, bot.Button{Label: r.optionTitle(o), Value: drillValue("pick", g.Key, strconv.Itoa(i))})
	}
	return reply
}

// realWords says that a door was a real one.
func (r *Request) realWords(g givenDrill) string {
	if g.Real {
		return "A real door, met by another platoon. "
	}
	return ""
}

func (r *Request) optionTitle(o training.Option) string { return upperFirst(r.attemptTitle(o.Way)) }

// pickWay takes the choice, and shows what the plan does and how that did here.
func (r *Request) pickWay(ctx context.Context, g givenDrill, which []string) (Result, error) {
	if g.Decide == nil || len(which) != 1 {
		return Result{}, bot.SayOldButton.With()
	}
	i, err := strconv.Atoi(which[0])
	if err != nil || i < 0 || i >= len(g.Decide.Options) {
		return Result{}, bot.SayOldButton.With()
	}
	picked := g.Decide.Options[i]
	result, err := r.answerDrill(g, picked.Result, training.Task{})
	if err != nil {
		return Result{}, err
	}
	here, err := r.howOften(ctx, picked.Way)
	if err != nil {
		return Result{}, err
	}
	reply := &result.Posts[0].Reply
	reply.Title = r.verdict(picked)
	reply.Fields = append(reply.Fields, bot.Field{Name: "Here", Value: here}, r.whyThis(g))
	if card, ok := r.Cards.Card(g.Drill.Card); ok { // what is right now stands there, and so do its cautions
		reply.Fields = append(reply.Fields, bot.Field{Name: knowledge.Cautions, Value: bullets(card.Section(knowledge.Cautions).Texts())})
		*reply = withSources(*reply, card.Sources)
		reply.Buttons = append(reply.Buttons, bot.Button{Label: "Show the card", Value: string(understand.Ask) + ":" + refCard + ":" + card.ID})
	}
	return result, nil
}

// verdict says what a choice was worth. The plan is a model's, and says so.
func (r *Request) verdict(o training.Option) string {
	if o.Worked {
		return "Yes: that is what opened it."
	}
	switch o.Result {
	case training.GotIt:
		return "Yes: the plan tries that first (by the door model, on assumptions)."
	case training.Struggled:
		return "It comes later: the plan tries " + lowerFirst(r.attemptTitle(o.Before)) + " first (by the door model, on assumptions)."
	}
	return "Not at this door: " + o.Why
}

// howOften says how a way did on the department's own real calls.
func (r *Request) howOften(ctx context.Context, way string) (string, error) {
	uses, err := r.Books.Entries(ctx, r.Department.Slug, useKind, "", r.Now.AddDate(-5, 0, 0))
	if err != nil {
		return "", fmt.Errorf("read uses: %w", err)
	}
	did := training.HowOften(r.doorRecords(uses), way)
	if did.Of == 0 {
		return "no record of it on a real call yet", nil
	}
	return fmt.Sprintf("opened %d of %d doors on real calls", did.Opened, did.Of), nil
}

// attemptTitle is what crews call a way: its technique, and what comes before it.
func (r *Request) attemptTitle(way string) string {
	technique, before, prepared := strings.Cut(way, "/")
	if !prepared {
		return r.cardTitle(technique)
	}
	return r.cardTitle(technique) + ", after: " + lowerFirst(r.cardTitle(before))
}
