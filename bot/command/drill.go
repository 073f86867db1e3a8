package command

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"kitbell/bot"
	"kitbell/bot/training"
	"kitbell/bot/understand"
)

// DrillCommand gives a crew its next drill, and takes what each member says came
// of it.
func DrillCommand() Command {
	return Command{
		Name:    string(understand.Drill),
		Usage:   "give us a drill",
		Summary: "Get a short drill for your crew, the one that forgetting would cost most. When no hands are free: quiz. What you had: drills. Your own answers, for you alone: my answers.",
		Run:     drill,
	}
}

// The journal's words for a drill that a crew was given, and for what a member
// said came of it.
const (
	drillGivenKind = "drill-given"
	drillKind      = "drill"
)

// givenDrill is the body of a drill that was given; its subject is the key that
// the buttons below it name.
type givenDrill struct {
	Key    string           `json:"key"`
	Crew   training.Crew    `json:"crew"`
	Drill  training.Drill   `json:"drill"`
	Why    training.Reason  `json:"why,omitzero"`
	Decide *training.Decide `json:"decide,omitempty"` // of a decide drill
	Real   bool             `json:"real,omitempty"`   // its door was another platoon's
	Asked  string           `json:"asked,omitempty"`  // who asked for it, empty for the schedule
}

func drill(ctx context.Context, r *Request) (Result, error) {
	switch {
	case !r.Who.member():
		return Result{}, bot.SayNoTechnique.With()
	case r.Verb != "":
		return r.pressDrill(ctx)
	}
	quiz := wantsQuiz.MatchString(r.Event.Text)
	if !quiz && r.Who.Unit != "" && r.Who.Platoon != "" {
		if result, named, err := r.namedDrill(ctx); named || err != nil {
			return result, err
		}
	}
	return r.newDrill(ctx, quiz)
}

// newDrill gives the speaker's crew its next drill; a quiz takes no hands.
func (r *Request) newDrill(ctx context.Context, quiz bool) (Result, error) {
	if r.Who.Unit == "" || r.Who.Platoon == "" {
		return Result{}, bot.SayWhichCrew.With()
	}
	given, found, err := r.nextDrill(ctx, quiz)
	if err != nil {
		return Result{}, err
	}
	if !found {
		return r.noDrill(ctx, quiz)
	}
	return r.hand(ctx, given)
}

// noDrill says why a crew gets none now.
func (r *Request) noDrill(ctx context.Context, quiz bool) (Result, error) {
	ask, err := r.drillAsk(ctx)
	if err != nil {
		return Result{}, err
	}
	asks := func(t training.Topic) bool { _, has := t.Cards[training.RecallDrill]; return has }
	switch {
	case !slices.ContainsFunc(ask.Topics, asks):
		return Say("No card on a technique is adopted yet, so there is nothing to ask about. The chief of training adopts cards."), nil
	case quiz && slices.ContainsFunc(ask.Had, func(d training.Drill) bool { return d.Kind.Quiz() }):
		return Say("Your crew has had its quiz for this tour: there is one a tour. With your hands free: give us a drill.", typed("A drill", "give us a drill")), nil
	}
	return Say("Your crew has had every drill there is for this tour. There is more in your next one."), nil
}

// wantsQuiz asks for a drill that needs no hands.
var wantsQuiz = regexp.MustCompile(`(?i)\b(?:quiz|question|ask us|no hands|at the table)\b`)

// give writes down that a crew was given a drill.
func (r *Request) give(g givenDrill) bot.Change {
	return bot.Written{Entry: bot.NewEntry(drillGivenKind, g.Key, "", r.Now, g)}
}

// drillReply shows a drill with what to tap below it.
func (r *Request) drillReply(ctx context.Context, g givenDrill) (bot.Reply, error) {
	var reply bot.Reply
	switch g.Drill.Kind {
	case training.DecideDrill:
		reply = r.decideReply(g)
	case training.RecallDrill:
		reply = bot.Reply{
			Title: "Recall: " + r.cardTitle(g.Drill.Topic),
			Text:  "Say it aloud before you look: when is it for you, what is the first move, when do you stop? Then open the card, and tap what came of it, each for themselves.",
			Buttons: append([]bot.Button{{Label: "Show the card", Value: string(understand.Ask) + ":" + refCard + ":" + g.Drill.Card}},
				resultButtons(g.Key, training.GotIt, training.Struggled, training.DidNotKnow)...),
		}
	default:
		card, ok := r.Cards.Card(g.Drill.Card)
		if !ok {
			return reply, fmt.Errorf("drill card %s: %w", g.Drill.Card, bot.ErrNotFound)
		}
		reply = stepsReply(card)
		reply.Buttons = resultButtons(g.Key, training.DoneHandsOn, training.Struggled, training.DidNotKnow)
		if aim := taskWords(r.drillTarget(g.Drill.Card)); aim != "" {
			reply.Fields = append(reply.Fields, bot.Field{Name: "Target (an assumption)", Value: aim})
		}
	}
	if g.Drill.Kind == training.DecideDrill {
		return reply, nil // its card, and why it came up, would give the answer away
	}
	reply.Fields = append(reply.Fields, r.whyThis(g))
	return r.asServed(ctx, reply, g.Drill.Card)
}

func (r *Request) whyThis(g givenDrill) bot.Field {
	if g.Real {
		return bot.Field{Name: "Why this one", Value: "Another platoon met this door on a call."}
	}
	return bot.Field{Name: "Why this one", Value: g.Why.Words(r.reasonName(g))}
}

// reasonName is what a drill's reason is about, as crews call it.
func (r *Request) reasonName(g givenDrill) string {
	if g.Why.Why == training.NewTool {
		return r.itemName(g.Why.Tool)
	}
	return lowerFirst(r.cardTitle(g.Drill.Topic))
}

// The words of a result in a button's value, and on it.
var resultWords = []struct {
	word   string
	result training.Result
}{{"got", training.GotIt}, {"hard", training.Struggled}, {"no", training.DidNotKnow}, {"done", training.DoneHandsOn}}

func resultButtons(key string, results ...training.Result) []bot.Button {
	var buttons []bot.Button
	for _, result := range results {
		for _, w := range resultWords {
			if w.result == result {
				buttons = append(buttons, bot.Button{Label: upperFirst(string(result)), Value: drillValue(w.word, key)})
			}
		}
	}
	return buttons
}

func drillValue(parts ...string) string {
	return string(understand.Drill) + ":" + strings.Join(parts, ":")
}

// pressDrill takes a press below a drill: drill:WORD:KEY and sometimes more.
func (r *Request) pressDrill(ctx context.Context) (Result, error) {
	switch r.Ref {
	case "quiz":
		return r.newDrill(ctx, true)
	case myAnswers:
		return r.ownAnswers(ctx)
	case toursDrills:
		return r.drillsOfTour(ctx)
	case drillTold:
		return r.toldOf(ctx)
	case drillLeft:
		return Say("Nothing is noted, and nobody is behind by it. It comes again in another tour."), nil
	}
	parts := strings.Split(r.Ref, ":")
	if len(parts) < 2 {
		return Result{}, bot.SayOldButton.With()
	}
	given, err := r.given(ctx, parts[1])
	if err != nil {
		return Result{}, err
	}
	switch parts[0] {
	case "show":
		reply, err := r.drillReply(ctx, given)
		return Result{Posts: []Post{{Reply: reply}}}, err
	case "pick":
		return r.pickWay(ctx, given, parts[2:])
	case "took":
		return r.tookFor(given, parts[2:])
	}
	for _, w := range resultWords {
		if w.word == parts[0] {
			return r.answerDrill(given, w.result, training.Task{})
		}
	}
	return Result{}, bot.SayOldButton.With()
}

// given finds a drill by its key.
func (r *Request) given(ctx context.Context, key string) (givenDrill, error) {
	entries, err := r.Books.Entries(ctx, r.Department.Slug, drillGivenKind, key, r.Now.AddDate(0, 0, -answerFor))
	if err != nil {
		return givenDrill{}, fmt.Errorf("read drill %s: %w", key, err)
	}
	if key == "" || len(entries) == 0 {
		return givenDrill{}, bot.SayOldButton.With()
	}
	return decode[givenDrill](entries[0])
}

// answerFor is for how many days a drill can be answered.
const answerFor = 30

// drillTarget is what a drill's task aims at: by the department's file, or else
// by its card. Either is an assumption.
func (r *Request) drillTarget(card string) training.Task {
	for _, t := range r.Department.Targets {
		if t.Drill == card {
			return training.Task{Minutes: float64(t.Minutes), Tries: t.Tries}
		}
	}
	c, _ := r.Cards.Card(card)
	return training.Task{Minutes: float64(c.Target.Minutes), Tries: c.Target.Tries}
}

// taskWords is a measure in words, "" where nothing is measured.
func taskWords(t training.Task) string {
	var words []string
	if t.Minutes > 0 {
		words = append(words, plural(int(t.Minutes), "minute"))
	}
	if t.Tries > 0 {
		words = append(words, triesWords(t.Tries))
	}
	return strings.Join(words, ", ")
}

// answerDrill writes what a member says came of a drill. Only they are told; what
// others see is the crew's topic.
func (r *Request) answerDrill(g givenDrill, result training.Result, took training.Task) (Result, error) {
	if r.Who.Unit == "" || r.Who.Platoon == "" {
		return Result{}, bot.SayWhichCrew.With()
	}
	a := training.Answer{
		Prompt: g.Key, Crew: training.Crew{Unit: r.Who.Unit, Platoon: r.Who.Platoon}, Drill: g.Drill, Member: r.Who.Person, Result: result, At: r.Now,
	}
	if result == training.DoneHandsOn {
		a.Took, a.Target = took, r.drillTarget(g.Drill.Card)
	}
	if err := a.Check(); err != nil {
		return Result{}, fmt.Errorf("answer drill: %w", err)
	}
	came := string(result)
	if g.Drill.Kind == training.DecideDrill && result != training.GotIt {
		came = "to be drilled again" // the topic is what was right, and no way that was tapped
	}
	text := fmt.Sprintf("Noted for %s %s: %s, %s. Your own answer is seen by you alone.", r.unitName(a.Crew.Unit), a.Crew.Platoon, lowerFirst(r.cardTitle(g.Drill.Topic)), came)
	reply := bot.Reply{Text: text, Private: true, Buttons: []bot.Button{r.undoButton()}}
	if took != (training.Task{}) {
		reply.Text += measured(a)
	}
	if result == training.DoneHandsOn && took == (training.Task{}) {
		reply.Text += " How long did it take?"
		reply.Buttons = append(minuteButtons(g.Key), reply.Buttons...)
	}
	return Result{Posts: []Post{{Reply: reply}}, Changes: []bot.Change{bot.Written{Entry: bot.NewEntry(drillKind, g.Drill.Topic, r.Who.Person, r.Now, a)}}}, nil
}

// measured says what a task took, beside what it aimed at.
func measured(a training.Answer) string {
	aim := taskWords(a.Target)
	switch {
	case aim == "":
		return fmt.Sprintf(" It took %s.", taskWords(a.Took))
	case a.InTarget():
		return fmt.Sprintf(" It took %s: within the target (%s).", taskWords(a.Took), aim)
	}
	return fmt.Sprintf(" It took %s; the target is %s.", taskWords(a.Took), aim)
}

func minuteButtons(key string) []bot.Button {
	var buttons []bot.Button
	for _, minutes := range []int{1, 2, 3, 5, 10, 15} {
		label := fmt.Sprintf("%d min", minutes)
		if minutes == 15 {
			label = "Longer"
		}
		buttons = append(buttons, bot.Button{Label: label, Value: drillValue("took", key, strconv.Itoa(minutes))})
	}
	return buttons
}

// tookFor takes the minutes of a hands-on drill, and then the tries. The member's
// last answer counts.
func (r *Request) tookFor(g givenDrill, taken []string) (Result, error) {
	var numbers []int
	for _, text := range taken {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 || n > 60 {
			return Result{}, bot.SayOldButton.With()
		}
		numbers = append(numbers, n)
	}
	switch len(numbers) {
	case 1:
		var buttons []bot.Button
		for tries, label := range []string{"1 try", "2 tries", "3 or more"} {
			buttons = append(buttons, bot.Button{Label: label, Value: drillValue("took", g.Key, taken[0], strconv.Itoa(tries+1))})
		}
		return Answer(bot.Reply{Text: "How many tries?", Private: true, Buttons: buttons}), nil
	case 2:
		return r.answerDrill(g, training.DoneHandsOn, training.Task{Minutes: float64(numbers[0]), Tries: numbers[1]})
	}
	return Result{}, bot.SayOldButton.With()
}

// drillPart is one line of a post of the schedule, with the button that opens the
// drill.
func (r *Request) drillPart(g givenDrill, late string) (step string, button bot.Button) {
	title := r.taskTitle(g.Drill.Card)
	if g.Drill.Kind.Quiz() {
		title = "recall, " + lowerFirst(r.cardTitle(g.Drill.Topic))
	}
	if g.Drill.Kind == training.DecideDrill {
		return fmt.Sprintf("Drill, a few minutes%s: what do you try first at this door?", late), bot.Button{Label: "Drill: decide", Value: drillValue("show", g.Key)}
	}
	return fmt.Sprintf("Drill, ten minutes%s: %s. %s", late, title, g.Why.Words(r.reasonName(g))), bot.Button{Label: "Drill: " + title, Value: drillValue("show", g.Key)}
}

// taskTitle is what a drill's card is called where the word drill stands already.
func (r *Request) taskTitle(card string) string {
	title := r.cardTitle(card)
	if rest, is := strings.CutPrefix(strings.ToLower(title), "drill: "); is {
		return rest
	}
	return title
}

// drillKey names a drill that is given now. A crew that is given two at the same
// moment is given two topics.
func (r *Request) drillKey(topic string) string {
	key := fmt.Sprintf("%s.%s.%s.%s", strconv.FormatInt(r.Now.Unix(), 36), r.Who.Unit, r.Who.Platoon, topic)
	if most := bot.MaxButtonValue - len(drillValue("took", "", "15", "3")); len(key) > most {
		key = key[:most]
	}
	return strings.ReplaceAll(key, ":", "-")
}

// crewOf is the speaker's crew.
func (r *Request) crewOf() training.Crew {
	return training.Crew{Unit: r.Who.Unit, Platoon: r.Who.Platoon}
}
