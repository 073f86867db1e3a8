package command

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"time"

	"kitbell/bot"
	"kitbell/bot/door"
	"kitbell/bot/training"
	"kitbell/knowledge"
	"kitbell/schedule"
)

// oldDrill is the body of a drill from before answers were kept: done hands-on.
type oldDrill struct {
	Card    string `json:"card"`
	Unit    string `json:"unit"`
	Platoon string `json:"platoon"`
}

// drillAnswers are all answers to drills. One of a card that is no more is passed
// over.
func (r *Request) drillAnswers(ctx context.Context) ([]training.Answer, error) {
	return fold(ctx, r, drillKind, func(entries []bot.Entry) ([]training.Answer, error) {
		var answers []training.Answer
		for _, e := range entries {
			a, err := decode[training.Answer](e)
			if err != nil {
				return nil, err
			}
			if a.Prompt == "" {
				if a, err = r.oldAnswer(e); err != nil {
					return nil, err
				}
			}
			if a.Check() == nil {
				answers = append(answers, a)
			}
		}
		return answers, nil
	})
}

func (r *Request) oldAnswer(e bot.Entry) (training.Answer, error) {
	old, err := decode[oldDrill](e)
	if err != nil {
		return training.Answer{}, err
	}
	return training.Answer{
		Prompt: "entry-" + strconv.FormatInt(e.ID, 10), Crew: training.Crew{Unit: old.Unit, Platoon: old.Platoon}, Member: e.Person, At: e.At,
		Drill: training.Drill{Topic: r.topicOf(old.Card), Kind: training.HandsOnDrill, Card: old.Card}, Result: training.DoneHandsOn,
	}, nil
}

// topicOf is the technique that a card trains: itself, or the first one that a
// drill's card is about.
func (r *Request) topicOf(card string) string {
	c, ok := r.Cards.Card(card)
	if !ok {
		return card
	}
	for _, id := range c.Related {
		if about, ok := r.Cards.Card(id); ok && c.Kind == knowledge.Drill && about.Kind == knowledge.Technique {
			return id
		}
	}
	return card
}

// nextDrill is the drill that the speaker's crew is to have now; quiz leaves out
// what takes hands. found is false when nothing is left for this tour.
func (r *Request) nextDrill(ctx context.Context, quiz bool) (given givenDrill, found bool, err error) {
	ask, err := r.drillAsk(ctx)
	if err != nil {
		return givenDrill{}, false, err
	}
	ask.NoHands = quiz
	choice, found := chooser().Next(ask)
	if !found {
		return givenDrill{}, false, nil
	}
	given, err = r.prepared(ctx, choice)
	return given, err == nil, err
}

func chooser() training.Chooser {
	return training.Chooser{Model: schedule.DefaultMemoryModel(), Policy: training.DefaultPolicy()}
}

// drillDue is the drill of a schedule's entry: about its topic, a technique or a
// drill's card, or where it names none the crew's next one.
func (r *Request) drillDue(ctx context.Context, topic string) (given givenDrill, found bool, err error) {
	if topic == "" {
		return r.nextDrill(ctx, false)
	}
	if word, key := press(topic); word == sharedTopic {
		return r.sharedDrill(ctx, key)
	}
	card, ok := r.Cards.Card(topic)
	if !ok {
		return givenDrill{}, false, fmt.Errorf("drill %s: %w", topic, bot.ErrNotFound)
	}
	ask, err := r.drillAsk(ctx)
	if err != nil {
		return givenDrill{}, false, err
	}
	topics, err := r.drillTopics(ctx)
	if err != nil {
		return givenDrill{}, false, err
	}
	about := training.Topic{ID: r.topicOf(topic), Cards: map[training.DrillKind]string{training.RecallDrill: topic}}
	if i := slices.IndexFunc(topics, func(t training.Topic) bool { return t.ID == about.ID }); i >= 0 {
		about = topics[i]
	}
	if card.Kind == knowledge.Drill {
		about.Cards = map[training.DrillKind]string{training.HandsOnDrill: topic}
	}
	kit, err := r.drillKit(ctx)
	if err != nil {
		return givenDrill{}, false, err
	}
	ask.Topics, ask.Had = r.fitOnly(kit, []training.Topic{about}), nil
	choice, found := chooser().Next(ask)
	if !found {
		return givenDrill{}, false, nil
	}
	given, err = r.prepared(ctx, choice)
	return given, err == nil, err
}

// prepared makes a choice a drill that can be given: one that decides gets its
// door, and where there is none becomes a question.
func (r *Request) prepared(ctx context.Context, choice training.Choice) (givenDrill, error) {
	g := givenDrill{Key: r.drillKey(choice.Drill.Topic), Crew: r.crewOf(), Drill: choice.Drill, Why: choice.Reason}
	if g.Drill.Kind != training.DecideDrill {
		return g, nil
	}
	decide, err := r.doorToDecide(ctx, g)
	if err != nil {
		return g, err
	}
	if decide == nil {
		g.Drill.Kind = training.RecallDrill
	}
	g.Decide = decide
	return g, nil
}

// drillAsk is what the choice of the crew's next drill needs to know.
func (r *Request) drillAsk(ctx context.Context) (training.Ask, error) {
	topics, err := r.drillTopics(ctx)
	if err != nil {
		return training.Ask{}, err
	}
	past, err := r.drillPast(ctx)
	if err != nil {
		return training.Ask{}, err
	}
	kit, err := r.drillKit(ctx)
	if err != nil {
		return training.Ask{}, err
	}
	ask := training.Ask{Now: r.Now, Topics: r.fitOnly(kit, topics), Past: past[r.crewOf()]}
	if err := r.addGiven(ctx, &ask); err != nil {
		return training.Ask{}, err
	}
	if ask.Since, err = r.toolsSince(ctx); err != nil {
		return training.Ask{}, err
	}
	if ask.Worth, err = r.drillWorth(ctx, topics); err != nil {
		return training.Ask{}, err
	}
	return ask, nil
}

// drillPast is what each crew still has of each topic, as far as its answers say.
func (r *Request) drillPast(ctx context.Context) (map[training.Crew]map[string]training.History, error) {
	answers, err := r.drillAnswers(ctx)
	if err != nil {
		return nil, err
	}
	past, err := training.Histories(schedule.DefaultMemoryModel(), answers)
	if err != nil {
		return nil, fmt.Errorf("read what crews know: %w", err)
	}
	return past, nil
}

// drillTopics are the techniques that the department goes by and whose tools the
// kit has, with the cards that train them. What the file names as must-know, or
// what has a hands-on drill where it names nothing, is due once a quarter. Drills
// of the kit itself are topics of their own.
func (r *Request) drillTopics(ctx context.Context) ([]training.Topic, error) {
	adopted, err := r.adopted(ctx)
	if err != nil {
		return nil, err
	}
	hands := r.handsOnCards()
	carried := r.CompleteKit(r.Department.InForce)
	var topics []training.Topic
	for _, id := range r.Cards.IDs(knowledge.Technique) {
		c, ok := r.Cards.Card(id)
		if !ok || r.against(adopted, c) != "" || !carries(carried, c.Tools) { // the last resort too: it is planned with, but nobody teaches it unadopted
			continue
		}
		t := training.Topic{ID: id, Tools: c.Tools, Cards: map[training.DrillKind]string{training.RecallDrill: id, training.DecideDrill: id}}
		if card, has := hands[id]; has {
			t.Cards[training.HandsOnDrill] = card
		}
		_, t.Must = hands[id]
		if len(r.Department.MustKnow) > 0 {
			t.Must = slices.Contains(r.Department.MustKnow, id)
		}
		topics = append(topics, t)
	}
	for _, id := range r.Cards.IDs(knowledge.Drill) {
		c, ok := r.Cards.Card(id)
		if ok && r.topicOf(id) == id && len(c.Tools) > 0 { // about the kit, and no way to open a door
			topics = append(topics, training.Topic{ID: id, Cards: map[training.DrillKind]string{training.HandsOnDrill: id}})
		}
	}
	return topics, nil
}

// carries says whether a kit has a technique's tools, or it takes none.
func carries(kit door.Tools, tools []string) bool {
	return len(tools) == 0 || slices.ContainsFunc(tools, func(tool string) bool { _, on := kit[tool]; return on })
}

// handsOnCards gives the drill card of each technique that one is about.
func (r *Request) handsOnCards() map[string]string {
	cards := make(map[string]string)
	for _, id := range r.Cards.IDs(knowledge.Drill) {
		if c, ok := r.Cards.Card(id); ok {
			for _, about := range c.Related {
				if _, taken := cards[about]; !taken {
					cards[about] = id
				}
			}
		}
	}
	return cards
}

// addGiven adds what the crew was given: in this tour, and without an answer.
func (r *Request) addGiven(ctx context.Context, ask *training.Ask) error {
	entries, err := r.Books.Entries(ctx, r.Department.Slug, drillGivenKind, "", r.Now.AddDate(0, -3, 0))
	if err != nil {
		return fmt.Errorf("read drills given: %w", err)
	}
	tour := r.Department.Rotation.TourAt(r.Now)
	ask.Silence = make(map[string]int)
	for _, e := range entries {
		g, err := decode[givenDrill](e)
		if err != nil {
			return err
		}
		if g.Crew != r.crewOf() {
			continue
		}
		if tour.Holds(e.At) {
			ask.Had = append(ask.Had, g.Drill)
		}
		if last := ask.Past[g.Drill.Topic].Memory.Last; !last.After(e.At) {
			ask.Silence[g.Drill.Topic]++
		}
	}
	return nil
}

// toolsSince is since when the crew has had each tool of a roll-out in hand.
func (r *Request) toolsSince(ctx context.Context) (map[string]time.Time, error) {
	entries, err := r.Books.Entries(ctx, r.Department.Slug, rollOutKind, "", r.Now.Add(-training.DefaultPolicy().New))
	if err != nil {
		return nil, fmt.Errorf("read roll-outs: %w", err)
	}
	since := make(map[string]time.Time)
	for _, e := range entries {
		step, err := decode[training.RollOutStep](e)
		if err != nil {
			return nil, err
		}
		if step.What == training.HandsOn && step.Crew == r.crewOf() {
			if _, known := since[step.Item]; !known {
				since[step.Item] = e.At
			}
		}
	}
	return since, nil
}

// drillWorth is what forgetting each topic would cost with a complete kit, by the
// door model with the department's own records in it.
func (r *Request) drillWorth(ctx context.Context, topics []training.Topic) (func(string) float64, error) {
	doors, err := r.learnedDoors(ctx)
	if err != nil {
		return nil, err
	}
	ids := make([]string, len(topics))
	for i, t := range topics {
		ids[i] = t.ID
	}
	return training.Worths(doors.Skills(r.CompleteKit(r.Department.InForce), ids)), nil
}
