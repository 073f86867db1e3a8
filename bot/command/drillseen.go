package command

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/training"
	"kitbell/bot/understand"
)

// What a typed line about drills that were had asks for: none of them hands out a
// new one.
const (
	myAnswers   = "mine"
	toursDrills = "ours"
	drillTold   = "told"
	drillLeft   = "left"
)

var (
	mineAsked = regexp.MustCompile(`^(?:show |see |list |me |all |what (?:are|were) )*my (?:last |own |drill |quiz )*(?:answers?|drills?|quizz?es|drill (?:history|progress|results?))(?: (?:again|so far|to (?:the )?drills?|history|progress))?$|^what did i (?:answer|say)(?: (?:last|(?:to|in|on) (?:the |my )?(?:drills?|quiz)))?$|^how did i do (?:on|in|at|with) (?:the |my )?(?:drills?|quiz(?:zes)?)$`)
	oursAsked = regexp.MustCompile(`^(?:(?:show|see|list|our|the|crew|crew's|today'?s|tonight'?s|this tour'?s) )*drills(?: (?:this|of this|of the|so far this|we had this) tour| so far| today)?$|^(?:what|which) drills (?:did we (?:get|have|do)|have we (?:had|done|got)|were we given)(?: (?:this tour|today|so far))?$`)
)

var (
	toldDone = regexp.MustCompile(`^(?:the |our |this )?drill (?:is |was )?(?:done|finished|completed?)\b.*$|^(?:we |i |all )?(?:have |are |'ve |just )*(?:did|done|finished|completed?) (?:with )?(?:the |our |this |that )?drill\b.*$|^done hands-? ?on$`)
	toldLeft = regexp.MustCompile(`^(?:skip|postpone|no time for|not now|(?:we )?(?:can'?t|cannot) do) (?:the |a |this |that |today'?s )?drill\b.*$`)
)

// drillWords gives the button that a line about drills that were had stands for.
func drillWords(words string) (press string, ok bool) {
	switch {
	case mineAsked.MatchString(words):
		return string(understand.Drill) + ":" + myAnswers, true
	case toldDone.MatchString(words):
		return string(understand.Drill) + ":" + drillTold, true
	case toldLeft.MatchString(words):
		return string(understand.Drill) + ":" + drillLeft, true
	case oursAsked.MatchString(words):
		return string(understand.Drill) + ":" + toursDrills, true
	}
	return "", false
}

// mostAnswers is how many of their own answers a member is shown.
const mostAnswers = 10

// ownAnswers shows the speaker their own last answers. They are nobody else's to
// see, whatever the role.
func (r *Request) ownAnswers(ctx context.Context) (Result, error) {
	all, err := r.drillAnswers(ctx)
	if err != nil {
		return Result{}, err
	}
	reply := bot.Reply{Title: "Your own answers, the last first", Text: "Seen by you alone.", Private: true}
	seen := make(map[string]bool) // only the last tap under a drill counts
	for _, a := range slices.Backward(all) {
		if a.Member != r.Who.Person || seen[a.Prompt+a.Drill.Topic] {
			continue
		}
		seen[a.Prompt+a.Drill.Topic] = true
		reply.Steps = append(reply.Steps, r.answerWords(a))
		if len(reply.Steps) == mostAnswers {
			break
		}
	}
	if len(reply.Steps) == 0 {
		reply = bot.Reply{Text: "You have answered no drill yet. For one: give us a drill.", Private: true, Buttons: []bot.Button{typed("A drill", "give us a drill")}}
	}
	return Answer(reply), nil
}

func (r *Request) answerWords(a training.Answer) string {
	words := fmt.Sprintf("%s: %s, %s: %s", r.day(a.At), lowerFirst(r.cardTitle(a.Drill.Topic)), kindWord(a.Drill.Kind), a.Result)
	if took := taskWords(a.Took); took != "" {
		words += ", " + took
	}
	return words
}

// kindWord says how a drill was done.
func kindWord(kind training.DrillKind) string {
	if kind == training.HandsOnDrill {
		return "by hand"
	}
	return "quiz"
}

// drillsOfTour shows what the speaker's crew was given in this tour and what came
// of it by topic: to all whether it was answered, to an officer how the topic
// stands. A quiz that the speaker has still to answer keeps its topic to itself.
func (r *Request) drillsOfTour(ctx context.Context) (Result, error) {
	if r.Who.Unit == "" || r.Who.Platoon == "" {
		return Result{}, bot.SayWhichCrew.With()
	}
	given, err := r.givenThisTour(ctx)
	if err != nil {
		return Result{}, err
	}
	answers, err := r.drillAnswers(ctx)
	if err != nil {
		return Result{}, err
	}
	past, err := r.drillPast(ctx)
	if err != nil {
		return Result{}, err
	}
	crew := r.crewOf()
	reply := bot.Reply{Title: fmt.Sprintf("Drills of this tour: %s %s", r.unitName(crew.Unit), crew.Platoon), Private: true}
	for _, g := range given {
		if g.Crew == crew {
			reply.Steps = append(reply.Steps, r.cameOf(g, answers, past[crew]))
		}
	}
	if len(reply.Steps) == 0 {
		reply.Text = "Your crew was given none yet."
	}
	reply.Buttons = []bot.Button{typed("The next drill", "give us a drill")}
	return Answer(reply), nil
}

// givenThisTour are the drills that crews were given in this tour.
func (r *Request) givenThisTour(ctx context.Context) ([]givenDrill, error) {
	entries, err := r.Books.Entries(ctx, r.Department.Slug, drillGivenKind, "", r.Department.Rotation.TourAt(r.Now).Start)
	if err != nil {
		return nil, fmt.Errorf("read drills given: %w", err)
	}
	return bodies[givenDrill](entries)
}

// toldOf answers a typed word that a drill is done with what there is to tap: whose
// answer it is and which of four it was cannot be read from it.
func (r *Request) toldOf(ctx context.Context) (Result, error) {
	if r.Who.Unit == "" || r.Who.Platoon == "" {
		return Result{}, bot.SayWhichCrew.With()
	}
	given, err := r.givenThisTour(ctx)
	if err != nil {
		return Result{}, err
	}
	for _, g := range slices.Backward(given) {
		switch {
		case g.Crew != r.crewOf():
		case g.Drill.Kind == training.DecideDrill:
			return Say("Open the door, and tap what you would try, each for themselves.", bot.Button{Label: "Drill: decide", Value: drillValue("show", g.Key)}), nil
		default:
			text := fmt.Sprintf("%s: tap what came of it, each for themselves.", upperFirst(r.taskTitle(g.Drill.Card)))
			results := []training.Result{training.DoneHandsOn, training.Struggled, training.DidNotKnow}
			if g.Drill.Kind.Quiz() {
				results[0] = training.GotIt
			}
			return Say(text, resultButtons(g.Key, results...)...), nil
		}
	}
	return Say("Your crew was given no drill this tour, so there is none to answer. For one: give us a drill.", typed("A drill", "give us a drill")), nil
}

// cameOf is one drill of a tour, and what came of it.
func (r *Request) cameOf(g givenDrill, answers []training.Answer, past map[string]training.History) string {
	theirs := slices.DeleteFunc(slices.Clone(answers), func(a training.Answer) bool { return a.Prompt != g.Key || a.Crew != g.Crew })
	mine := slices.ContainsFunc(theirs, func(a training.Answer) bool { return a.Member == r.Who.Person })
	if g.Drill.Kind == training.DecideDrill && !mine {
		return "a door to decide about, quiz: you have still to answer it"
	}
	words := fmt.Sprintf("%s, %s: ", lowerFirst(r.cardTitle(g.Drill.Topic)), kindWord(g.Drill.Kind))
	switch {
	case len(theirs) == 0:
		return words + "nobody has answered it yet"
	case !r.Who.May(department.Officer):
		return words + "answered"
	}
	return words + "answered. The crew's topic now: " + strings.TrimSuffix(r.standingWords(training.StandingOf(g.Drill.Topic, past[g.Drill.Topic], r.Now)), ".")
}
