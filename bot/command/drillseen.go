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
)

var (
	mineAsked = regexp.MustCompile(`^(?:show |see |list |me |all |what (?:are|were) )*my (?:last |own |drill |quiz )*(?:answers?|drills?|quizz?es|drill (?:history|progress|results?))(?: (?:again|so far|to (?:the )?drills?|history|progress))?$|^what did i (?:answer|say)(?: (?:last|(?:to|in|on) (?:the |my )?(?:drills?|quiz)))?$|^how did i do (?:on|in|at|with) (?:the |my )?(?:drills?|quiz(?:zes)?)$`)
	oursAsked = regexp.MustCompile(`^(?:(?:show|see|list|our|the|crew|crew's|today'?s|tonight'?s|this tour'?s) )*drills(?: (?:this|of this|of the|so far this|we had this) tour| so far| today)?$|^(?:what|which) drills (?:did we (?:get|have|do)|have we (?:had|done|got)|were we given)(?: (?:this tour|today|so far))?$`)
)

// drillWords gives the button that a line about drills that were had stands for.
func drillWords(words string) (press string, ok bool) {
	switch {
	case mineAsked.MatchString(words):
		return string(understand.Drill) + ":" + myAnswers, true
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
	tour := r.Department.Rotation.TourAt(r.Now)
	entries, err := r.Books.Entries(ctx, r.Department.Slug, drillGivenKind, "", tour.Start)
	if err != nil {
		return Result{}, fmt.Errorf("read drills given: %w", err)
	}
	given, err := bodies[givenDrill](entries)
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
