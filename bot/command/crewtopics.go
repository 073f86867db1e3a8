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
)

// CrewTopicsCommand shows an officer what their crew still has, topic by topic, and
// the lead and the chief of training that of any crew or of all. It is made of
// crews' histories: no member and no answer of anybody's stands in it.
func CrewTopicsCommand() Command {
	return Command{
		Name:    crewTopicsVerb,
		Usage:   "crew topics, or: how is {rig} doing on drills",
		For:     department.Officer,
		Summary: "See what your crew has, what fades and what is weak. The lead and the chief of training see any crew. Nobody's own answers.",
		Private: true,
		Run:     crewTopics,
	}
}

const crewTopicsVerb = "crew-topics"

var (
	topicsAsked = regexp.MustCompile(`^(?:(?:show|see|list|our|my|the|all) )*(?:crew|crews|crew's|drill) topics\b|^(?:(?:our|the|crew|crew's) )*drills? (?:progress|history|status|standing)\b`)
	doingAsked  = regexp.MustCompile(`^how(?: is|'s|s| are) (?:our|my|the) (?:crews?|shift|platoon) (?:doing|standing)(?: (?:on|with|in) (?:the |our |their )?(?:drills?|training))?$|^how(?: is|'s|s| are) (?:we|all crews|everybody|everyone) (?:doing|standing) (?:on|with|in) (?:the |our |their )?(?:drills?|training)$`)
	weakAsked   = regexp.MustCompile(`^what(?:'s|s| is| are)(?: (?:we|our crew|my crew|the crew))? (?:the )?(?:weak|weakest|rusty|rustiest|fading)(?: (?:at|on|in|with))?(?: (?:our|my|the) (?:crew|shift|platoon|drills))?$|^what skills? (?:is|are) (?:weak|rusty|fading)$|^what (?:do|does|don't|dont|doesn't|doesnt) (?:we|our crew|my crew|the crew)(?: not)? know(?: well| any ?more)?$`)
	// namedAsked is said of a rig or a platoon by its name.
	namedAsked = regexp.MustCompile(`^how(?: is|'s|s| are) .{1,30}? (?:doing|standing)(?: (?:on|with|in) (?:the |their )?(?:drills?|training))?$|^what(?:'s|s| is| are) (?:.{1,30}? )?(?:weak|weakest|rusty|fading)(?: (?:at|on|in|with))?(?: .{1,30})?$|^what (?:do|does|don't|dont|doesn't|doesnt) .{1,30}?(?: not)? know(?: well| any ?more)?$`)
	oursSaid   = regexp.MustCompile(`(?i)\b(?:our|my|we|us)\b`)
)

// asksTopics says whether a line asks how a crew stands.
func (r *Request) asksTopics(words string) bool {
	if topicsAsked.MatchString(words) || doingAsked.MatchString(words) || weakAsked.MatchString(words) {
		return true
	}
	return namedAsked.MatchString(words) && len(r.Reading.Items) == 0 && (r.Reading.UnitNamed || r.platoonNamed() != "")
}

// platoonNamed is the platoon that the message names, as people name one: A
// platoon, shift B, E4 C.
func (r *Request) platoonNamed() string {
	for _, p := range r.Department.Rotation.Platoons() {
		name := regexp.QuoteMeta(p)
		said := `(?i)\b` + name + `[ -](?:platoon|shift|crew)\b|\b(?:platoon|shift) ` + name + `\b`
		if r.Reading.UnitNamed {
			said += `|\d ` + name + `\b`
		}
		if regexp.MustCompile(said).MatchString(r.Event.Text) {
			return p
		}
	}
	return ""
}

func crewTopics(ctx context.Context, r *Request) (Result, error) {
	switch {
	case !r.Who.member():
		return Result{}, bot.SayNoTechnique.With()
	case !r.Who.May(department.Officer):
		return Say("How a crew stands is for its officers. Your own answers are for you alone: my answers.", typed("My answers", "my answers"), typed("A drill", "give us a drill")), nil
	case r.Reading.UnknownUnit != "":
		return Say("I know no rig called " + r.Reading.UnknownUnit + "."), nil
	}
	asked, own := r.crewsAsked(), r.crewOf()
	switch {
	case r.Who.May(department.Training):
	case own.Unit == "" || own.Platoon == "":
		return Result{}, bot.SayWhichCrew.With()
	case !slices.Contains(asked, own):
		return Say("You see your own crew's topics. The lead and the chief of training see every crew's.", typed("My crew's topics", "crew topics")), nil
	default:
		asked = []training.Crew{own}
	}
	return r.topicsPage(ctx, asked)
}

// topicsPage shows how crews stand: one topic by topic, several in numbers.
func (r *Request) topicsPage(ctx context.Context, crews []training.Crew) (Result, error) {
	topics, err := r.drillTopics(ctx)
	if err != nil {
		return Result{}, err
	}
	past, err := r.drillPast(ctx)
	switch {
	case err != nil:
		return Result{}, err
	case len(topics) == 0:
		return Say("No card is adopted yet, so there is no topic to drill. The chief of training adopts cards."), nil
	case len(crews) == 0:
		return Say("Nobody rides there, so there is no crew to show."), nil
	case len(crews) == 1:
		return Answer(r.topicsOf(crews[0], training.Stand(topics, past[crews[0]], r.Now))), nil
	}
	return Answer(r.topicsOfAll(crews, topics, past)), nil
}

// crewsAsked are the crews that a message is about: the own one, those of a rig or
// a platoon, or all for who says nothing.
func (r *Request) crewsAsked() []training.Crew {
	platoon, own := r.platoonNamed(), r.crewOf()
	hasOwn := own.Unit != "" && own.Platoon != ""
	if hasOwn && !r.Reading.UnitNamed && platoon == "" && (oursSaid.MatchString(r.Event.Text) || !r.Who.May(department.Training)) {
		return []training.Crew{own}
	}
	crews := r.crews()
	if hasOwn && !slices.Contains(crews, own) {
		crews = append(crews, own)
	}
	return slices.DeleteFunc(crews, func(c training.Crew) bool {
		return r.Reading.UnitNamed && !slices.Contains(r.Reading.Units, c.Unit) || platoon != "" && c.Platoon != platoon
	})
}

// estimate says on which footing a page of topics stands.
var estimate = fmt.Sprintf("The chance that a crew still has it at its next drill, in six days, is an estimate of the memory model, made of drills that were answered: strong from %.0f%%, weak below %.0f%% (assumed).",
	100*training.StrongFrom, 100*training.FadingFrom)

// topicsOf shows how one crew stands, the weakest first.
func (r *Request) topicsOf(crew training.Crew, all []training.TopicStanding) bot.Reply {
	reply := bot.Reply{Title: fmt.Sprintf("Crew topics: %s %s", r.unitName(crew.Unit), crew.Platoon), Text: estimate, Private: true}
	for _, standing := range training.Standings() {
		var lines []string
		for _, s := range all {
			switch {
			case s.Standing != standing:
			case standing == training.NotDrilled:
				lines = append(lines, lowerFirst(r.cardTitle(s.Topic)))
			default:
				lines = append(lines, lowerFirst(r.cardTitle(s.Topic))+": "+r.recallWords(s))
			}
		}
		if len(lines) == 0 {
			continue
		}
		value := strings.Join(lines, "; ")
		if standing != training.NotDrilled {
			value = bullets(lines)
		}
		reply.Fields = append(reply.Fields, bot.Field{Name: upperFirst(string(standing)), Value: value})
	}
	if crew == r.crewOf() {
		reply.Buttons = []bot.Button{typed("The next drill", "give us a drill")}
	}
	return reply
}

// standingWords is how a topic stands, and when and how it was drilled last.
func (r *Request) standingWords(s training.TopicStanding) string {
	if s.Standing == training.NotDrilled {
		return string(s.Standing)
	}
	return string(s.Standing) + ", " + r.recallWords(s)
}

func (r *Request) recallWords(s training.TopicStanding) string {
	return fmt.Sprintf("about %.0f%% (estimate), last drilled %s, %s", 100*s.Recall, r.day(s.History.Memory.Last), kindWord(s.History.Kind))
}

// topicsOfAll counts how several crews stand with each topic, that of which the
// most have too little first. It ranks no crew.
func (r *Request) topicsOfAll(crews []training.Crew, topics []training.Topic, past map[training.Crew]map[string]training.History) bot.Reply {
	type counted struct {
		title string
		by    map[training.Standing]int
	}
	all := make([]counted, len(topics))
	for i, t := range topics {
		all[i] = counted{lowerFirst(r.cardTitle(t.ID)), make(map[training.Standing]int)}
		for _, c := range crews {
			all[i].by[training.StandingOf(t.ID, past[c][t.ID], r.Now).Standing]++
		}
	}
	short := func(c counted) int {
		return 2*c.by[training.NotDrilled] + 2*c.by[training.Weak] + c.by[training.Fading]
	}
	slices.SortStableFunc(all, func(a, b counted) int { return short(b) - short(a) })
	reply := bot.Reply{Title: "Crew topics of " + plural(len(crews), "crew"), Text: estimate + " For one crew: crew topics {rig} " + crews[0].Platoon + ".", Private: true}
	for _, c := range all {
		var words []string
		for _, standing := range training.Standings() {
			if n := c.by[standing]; n > 0 {
				words = append(words, fmt.Sprintf("%d %s", n, standing))
			}
		}
		reply.Steps = append(reply.Steps, upperFirst(c.title)+": "+strings.Join(words, ", "))
	}
	return reply
}
