package command

import (
	"context"
	"slices"
	"strings"

	"kitbell/bot"
	"kitbell/bot/budget"
	"kitbell/bot/door"
	"kitbell/bot/kit"
	"kitbell/bot/training"
	"kitbell/knowledge"
)

// drillKit is what a crew can drill with now. Each tool of the kit list has the
// reason that speaks against it, "" for none.
type drillKit struct {
	out     door.Tools // stop-use, and what is missing or no good in the crew's own kit
	stopped door.Tools // stop-use alone
}

// drillKit reads the speaker's crew's kit. A tool on its way in a roll-out is no
// reason: drilling with it is what the roll-out wants.
func (r *Request) drillKit(ctx context.Context) (drillKit, error) {
	stops, err := r.stopUses(ctx)
	if err != nil {
		return drillKit{}, err
	}
	k, ok, err := r.firstKitOn(ctx, r.Who.Unit)
	if err != nil {
		return drillKit{}, err
	}
	if !ok {
		tools := r.toolsOf(kit.Kit{List: r.Department.InForce}, nil, stops, nil)
		return drillKit{out: tools, stopped: tools}, nil
	}
	open, err := r.openOn(ctx, k.ID)
	if err != nil {
		return drillKit{}, err
	}
	loans, err := r.loans(ctx)
	if err != nil {
		return drillKit{}, err
	}
	return drillKit{out: r.toolsOf(k, open, stops, loans), stopped: r.toolsOf(k, nil, stops, nil)}, nil
}

// fit leaves a topic the drills that the kit allows. By hand every tool of the
// drill's card has to be there and sound. A quiz takes no tool; but where all the
// tools of a technique are under stop-use, nobody is asked to go by it.
func (r *Request) fit(k drillKit, t training.Topic) (fitting training.Topic, why string) {
	fitting = t
	fitting.Cards = make(map[training.DrillKind]string)
	quiz := stoppedWhole(k.stopped, t.Tools)
	for kind, card := range t.Cards {
		against := quiz
		if kind == training.HandsOnDrill {
			against = r.notAtHand(k.out, card, t.Tools)
		}
		if against == "" {
			fitting.Cards[kind] = card
		} else if why == "" || kind == training.HandsOnDrill {
			why = against
		}
	}
	return fitting, why
}

// notAtHand is why a drill's card cannot be worked through now, "" for no reason.
func (r *Request) notAtHand(tools door.Tools, card string, technique []string) string {
	needs := technique
	if c, ok := r.Cards.Card(card); ok && len(c.Tools) > 0 {
		needs = c.Tools
	}
	for _, tool := range needs {
		if tools[tool] != "" {
			return tools[tool]
		}
	}
	return ""
}

// stoppedWhole is why a technique has no tool left, "" where it has one or takes none.
func stoppedWhole(stopped door.Tools, tools []string) (why string) {
	for _, tool := range tools {
		against, carried := stopped[tool]
		if carried && against == "" {
			return ""
		}
		if why == "" {
			why = against
		}
	}
	return why
}

// fitOnly leaves those topics that have a drill left with the crew's kit.
func (r *Request) fitOnly(k drillKit, topics []training.Topic) []training.Topic {
	var left []training.Topic
	for _, t := range topics {
		if t, _ = r.fit(k, t); len(t.Cards) > 0 {
			left = append(left, t)
		}
	}
	return left
}

// namedDrill gives the drill that a message asks for by its name or its tool, or
// says why the crew's kit is not fit for it. ok is false where it names none.
func (r *Request) namedDrill(ctx context.Context) (result Result, ok bool, err error) {
	topics, err := r.drillTopics(ctx)
	if err != nil {
		return Result{}, false, err
	}
	about, ok := r.topicSaid(topics, r.Event.Text)
	if !ok {
		return Result{}, false, nil
	}
	kit, err := r.drillKit(ctx)
	if err != nil {
		return Result{}, false, err
	}
	fitting, why := r.fit(kit, about)
	if _, hands := about.Cards[training.HandsOnDrill]; why != "" && (hands || len(fitting.Cards) == 0) {
		return Say("Not this drill now: "+lowerFirst(r.cardTitle(about.ID))+". "+why+" For one that your kit is fit for: give us a drill.", typed("A drill", "give us a drill")), true, nil
	}
	given, found, err := r.drillDue(ctx, about.ID)
	if err != nil || !found {
		return Result{}, false, err
	}
	result, err = r.hand(ctx, given)
	return result, true, err
}

// topicSaid is the topic that a message is about: by the words of its card or its
// drill, or else by a tool that it names, of whose drills the one with the fewest
// tools.
func (r *Request) topicSaid(topics []training.Topic, text string) (training.Topic, bool) {
	said := budget.Gist(strings.ReplaceAll(strings.ToLower(text), "drill", " "))
	var best training.Topic
	most := 0.0
	for _, t := range topics {
		hands := t.Cards[training.HandsOnDrill]
		if hands != "" && r.topicOf(hands) != t.ID {
			hands = "" // its drill is first about another
		}
		for _, title := range []string{r.cardTitle(t.ID), r.taskTitle(hands)} {
			if score := titleSaid(said, budget.Gist(title)); score > most {
				best, most = t, score
			}
		}
	}
	if most > 0 {
		return best, true
	}
	return r.topicOfTool(topics)
}

// titleSaid is how much of a title a message says, more for a longer one; zero for
// one word of several, or for a door and no more, which says nothing yet.
func titleSaid(said, title []string) float64 {
	hits, doors := 0, 0
	for _, stem := range title {
		if slices.Contains(said, stem) {
			hits++
			if stem == "door" {
				doors++
			}
		}
	}
	if hits < min(2, len(title)) || hits == doors {
		return 0
	}
	return float64(hits*hits) / float64(len(title))
}

func (r *Request) topicOfTool(topics []training.Topic) (best training.Topic, found bool) {
	fewest := 0
	for _, t := range topics {
		tools := t.Tools
		if c, ok := r.Cards.Card(t.Cards[training.HandsOnDrill]); ok && c.Kind == knowledge.Drill {
			tools = c.Tools
		}
		for _, item := range r.Reading.Items {
			if slices.Contains(tools, item) && (!found || len(tools) < fewest) {
				best, fewest, found = t, len(tools), true
			}
		}
	}
	return best, found
}

// hand gives a crew a drill that was found for it.
func (r *Request) hand(ctx context.Context, given givenDrill) (Result, error) {
	given.Asked = r.Who.Person
	reply, err := r.drillReply(ctx, given)
	if err != nil {
		return Result{}, err
	}
	return Result{Posts: []Post{{Reply: reply}}, Changes: []bot.Change{r.give(given)}}, nil
}
