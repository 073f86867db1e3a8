package command

import (
	"context"
	"fmt"
	"regexp"
	"slices"

	"kitbell/bot"
	"kitbell/bot/kit"
)

// A missing thing is asked about apart: where it went, and who fetches it. What
// is used up in normal work went where it should, and nobody is asked.

// whereKeys are the whereabouts by their word in a button, in the order asked.
var whereKeys = []struct {
	key, label string
	where      kit.Whereabout
}{
	{"scene", "Left on scene", kit.OnScene},
	{"rig", "On another rig", kit.OtherRig},
	{"broken", "Broken up", kit.BrokenUp},
	{"unknown", "Nobody knows", kit.NotKnown},
}

// fetchers are who may fetch a thing from a scene.
var fetchers = []struct{ key, label, who string }{
	{"crew", "Our crew", "the crew"},
	{"next", "Next crew", "the next crew"},
	{"qm", "Quartermaster", "the quartermaster"},
	{"none", "Nobody yet", "nobody yet"},
}

// fetchDays are until when, as days from now.
var fetchDays = []struct {
	key, label string
	days       int
}{{"0", "Today", 0}, {"1", "Tomorrow", 1}, {"7", "In a week", 7}}

// sceneSaid finds words that say that a thing stayed where the call was.
var sceneSaid = regexp.MustCompile(`(?i)\b(?:left (?:it |them |one |ours |(?:the|our|a|both) [a-z -]{2,24} )?(?:behind|on|at|in)|on scene|still at|forgot (?:it|them) (?:at|in|on))\b`)

// askWhere asks where a tool that is missing went, or, where the message has said
// that it stayed on scene, who fetches it. alone says that the message is about
// nothing else.
func (r *Request) askWhere(l kit.Line, alone bool) (question string, buttons []bot.Button) {
	if l.Condition != kit.Missing || l.Where != "" || !l.State.Open() || r.usedUp(l.Item) {
		return "", nil
	}
	what := "where"
	if alone {
		what = ownPrefix + what
	}
	if r.Verb == "" && sceneSaid.MatchString(r.Event.Text) {
		for _, f := range fetchers {
			buttons = append(buttons, bot.Button{Label: f.label, Value: queueValue(what, l.Number, l.Version) + ":scene:" + f.key})
		}
		return " Left on scene: who fetches it?", buttons
	}
	for _, w := range whereKeys {
		buttons = append(buttons, bot.Button{Label: w.label, Value: queueValue(what, l.Number, l.Version) + ":" + w.key})
	}
	return " Where did it go?", buttons
}

// usedUp says whether an item is used up in normal work.
func (r *Request) usedUp(item string) bool {
	i, ok := r.Department.Item(item)
	return ok && i.Consumable
}

// pressWhere takes the answers: the whereabouts, then who fetches it, then until
// when; or an officer's word that the thing is written off.
func (r *Request) pressWhere(ctx context.Context, number, version int, answers []string) (Result, error) {
	line, err := r.line(ctx, number)
	switch {
	case err != nil:
		return Result{}, err
	case line.Condition != kit.Missing:
		return Result{}, bot.SayNotMissing.With(number)
	}
	step := kit.Step{Where: whereOf(answers[0])}
	if answers[0] == "off" {
		step.Where = kit.WrittenOff
	}
	if step.Where == "" {
		return Result{}, bot.SayOldButton.With()
	}
	if len(answers) > 1 {
		i := slices.IndexFunc(fetchers, func(f struct{ key, label, who string }) bool { return f.key == answers[1] })
		if i < 0 {
			return Result{}, bot.SayOldButton.With()
		}
		step.Fetch = fetchers[i].who
	}
	if len(answers) > 2 {
		for _, d := range fetchDays {
			if d.key == answers[2] {
				step.FetchBy, _ = dayOf(fmt.Sprintf("+%dd", d.days), r.Now.In(r.Department.Zone))
			}
		}
	}
	out, err := r.stepLine(ctx, number, version, step)
	if err != nil {
		return Result{}, err
	}
	change := out.Changes[0].(kit.Change)
	out.Posts = []Post{{Reply: r.whereReply(change, answers)}}
	return out, nil
}

func whereOf(key string) kit.Whereabout {
	for _, w := range whereKeys {
		if w.key == key {
			return w.where
		}
	}
	return ""
}

// whereReply says what is noted and asks what is still open.
func (r *Request) whereReply(c kit.Change, answers []string) bot.Reply {
	l := c.New
	reply := bot.Reply{Text: fmt.Sprintf("#%d %s: %s, %s.", l.Number, r.unitName(l.Unit), r.itemName(l.Item), l.Where)}
	more := func(key string) string {
		return queueValue(ownPrefix+"where", l.Number, l.Version) + ":" + answers[0] + ":" + key
	}
	switch {
	case l.Where == kit.OnScene && len(answers) == 1:
		reply.Text += " Who fetches it? Name no address here."
		for _, f := range fetchers {
			reply.Buttons = append(reply.Buttons, bot.Button{Label: f.label, Value: more(f.key)})
		}
	case l.Where == kit.OnScene && len(answers) == 2 && answers[1] != "none":
		reply.Text += fmt.Sprintf(" %s fetches it. Until when?", upperFirst(l.Fetch))
		for _, d := range fetchDays {
			reply.Buttons = append(reply.Buttons, bot.Button{Label: d.label, Value: more(answers[1] + ":" + d.key)})
		}
	case l.Where == kit.OnScene && len(answers) == 3:
		reply.Text += fmt.Sprintf(" %s fetches it by %s.", upperFirst(l.Fetch), r.dayOnly(l.FetchBy))
	case l.Where == kit.OtherRig:
		reply.Text += " When it is back in the kit, say: found it, and its name."
	case l.Where == kit.WrittenOff:
		reply.Text += " The line stays open until a new one is in the kit. These things happen."
	default:
		reply.Text += " It stays on the list. An officer can write it off."
		reply.Buttons = append(reply.Buttons, bot.Button{Label: "Write it off (officer)", Value: queueValue(ownPrefix+"where", l.Number, l.Version) + ":off"})
	}
	reply.Buttons = append(reply.Buttons, r.undoButton())
	return reply
}
