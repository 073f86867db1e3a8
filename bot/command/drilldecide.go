package command

import (
	"context"
	"errors"
	"fmt"
	"slices"
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
	kit, err := r.drillKit(ctx)
	if err != nil {
		return nil, err
	}
	plan := func(facts door.Facts) (door.Plan, error) { // what is under stop-use is no right answer
		return doors.Plan(door.Request{Facts: facts, Tools: kit.stopped, Barred: barred})
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

// pickWay takes the choice, and shows what the plan does and what worked here. The
// first choice counts: what is tapped after the reveal is shown, and no more.
func (r *Request) pickWay(ctx context.Context, g givenDrill, which []string) (Result, error) {
	if g.Decide == nil || len(which) != 1 {
		return Result{}, bot.SayOldButton.With()
	}
	i, err := strconv.Atoi(which[0])
	if err != nil || i < 0 || i >= len(g.Decide.Options) {
		return Result{}, bot.SayOldButton.With()
	}
	picked := g.Decide.Options[i]
	answered, err := r.answeredBefore(ctx, g)
	if err != nil {
		return Result{}, err
	}
	result := Answer(bot.Reply{Text: "Your first choice stands. Have a look at this one all the same: it is not counted.", Private: true})
	if !answered {
		if result, err = r.answerDrill(g, picked.Result, training.Task{}); err != nil {
			return Result{}, err
		}
		result.Posts[0].Reply.Buttons = nil // the reveal is below: taking the choice back would make it another
	}
	return result, r.reveal(ctx, &result.Posts[0].Reply, g, picked)
}

// answeredBefore says whether the speaker has answered a drill.
func (r *Request) answeredBefore(ctx context.Context, g givenDrill) (bool, error) {
	answers, err := r.drillAnswers(ctx)
	if err != nil {
		return false, err
	}
	return slices.ContainsFunc(answers, func(a training.Answer) bool { return a.Prompt == g.Key && a.Member == r.Who.Person }), nil
}

// reveal adds to a reply what a choice was worth, and what is right at that door.
func (r *Request) reveal(ctx context.Context, reply *bot.Reply, g givenDrill, picked training.Option) error {
	here, err := r.workedHere(ctx, *g.Decide)
	if err != nil {
		return err
	}
	reply.Title = r.verdict(picked)
	reply.Fields = append(reply.Fields, r.rightHere(*g.Decide, picked)...)
	reply.Fields = append(reply.Fields, bot.Field{Name: "Here", Value: here}, r.whyThis(g))
	if card, ok := r.Cards.Card(g.Drill.Card); ok { // what is right now stands there, and so do its cautions
		reply.Fields = append(reply.Fields, bot.Field{Name: knowledge.Cautions, Value: bullets(card.Section(knowledge.Cautions).Texts())})
		*reply = withSources(*reply, card.Sources)
		reply.Buttons = append(reply.Buttons, bot.Button{Label: "Show the card", Value: string(understand.Ask) + ":" + refCard + ":" + card.ID})
		if *reply, err = r.underStops(ctx, *reply, card.Tools...); err != nil {
			return err
		}
	}
	return nil
}

// rightHere says what the verdict on a choice does not: what the plan tries first,
// and by what a real door opened.
func (r *Request) rightHere(d training.Decide, picked training.Option) []bot.Field {
	var fields []bot.Field
	if picked.Result == training.DidNotKnow {
		first := upperFirst(r.attemptTitle(d.First())) + " (by the door model, on assumptions)"
		fields = append(fields, bot.Field{Name: "The plan tries first", Value: first})
	}
	if opened, real := d.Opened(); real && !picked.Worked {
		fields = append(fields, bot.Field{Name: "It opened by", Value: upperFirst(r.attemptTitle(opened.Way))})
	}
	return fields
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

// mostWays is how many ways a reveal tells of.
const mostWays = 4

// workedHere says how the ways did that were tried at such doors on the
// department's own real calls, or where there was none, at doors that nobody
// described.
func (r *Request) workedHere(ctx context.Context, d training.Decide) (string, error) {
	uses, err := r.Books.Entries(ctx, r.Department.Slug, useKind, "", r.Now.AddDate(-5, 0, 0))
	if err != nil {
		return "", fmt.Errorf("read uses: %w", err)
	}
	records := r.doorRecords(uses)
	if ways := training.HowOften(records, d.Facts); len(ways) > 0 {
		return "on real calls at such doors, " + r.waysWords(ways), nil
	}
	const none = "no record of such a door on a real call yet"
	undescribed := slices.DeleteFunc(records, func(record door.Record) bool {
		_, offered := d.Choose(record.Way)
		return !offered || record.Facts.Value(door.FactSwing) != "" || record.Facts.Value(door.FactLock) != ""
	})
	if ways := training.HowOften(undescribed, door.Facts{}); len(ways) > 0 {
		return none + "; where nobody described the door, " + r.waysWords(ways), nil
	}
	return none, nil
}

func (r *Request) waysWords(ways []training.WayHere) string {
	var words []string
	for _, w := range ways[:min(len(ways), mostWays)] {
		words = append(words, fmt.Sprintf("%s opened %d of %d", lowerFirst(r.attemptTitle(w.Way)), w.Opened, w.Of))
	}
	if more := len(ways) - mostWays; more > 0 {
		words = append(words, "and "+plural(more, "way")+" more")
	}
	return strings.Join(words, "; ")
}

// attemptTitle is what crews call a way: its technique, and what comes before it.
func (r *Request) attemptTitle(way string) string {
	technique, before, prepared := strings.Cut(way, "/")
	if !prepared {
		return r.cardTitle(technique)
	}
	return r.cardTitle(technique) + ", after: " + lowerFirst(r.cardTitle(before))
}
