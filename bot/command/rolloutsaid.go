package command

import (
	"context"
	"regexp"
	"slices"
	"strings"

	"kitbell/bot"
	"kitbell/bot/training"
	"kitbell/bot/understand"
	"kitbell/knowledge"
)

// What a typed line about a roll-out asks for, in place of a button.
const (
	rollOutSaid = "say"
	handsSaid   = "hands"
)

var (
	taskLine   = regexp.MustCompile(`(?is)^(\W*roll(?:ing)?[ -]?out\b.*?)[ ;,.:-]*\btask ?[:=-] ?(.+)$`)
	handsLine  = regexp.MustCompile(`(?i)^\W*(?:i(?:'ve)? )?(?:have |had |got |just )*(?:my |our )?hands on (?:it|the .+)$`)
	toolNamed  = regexp.MustCompile(`(?i)^\W*(?:please |let'?s |begin to |start to )*roll(?:ing)?[ -]?out (?:the |a |an |our |some |new )*([a-z][a-z0-9' -]{0,39})`)
	noToolName = regexp.MustCompile(`(?i)^(?:status|plans?|lists?|of|page|progress|so far|please|now|how|who|is|to|till|until|for|state|report|count)\b`)
)

// rollOutWords gives the button that a line about a roll-out stands for.
func (r *Request) rollOutWords(text string) (press string, ok bool) {
	switch {
	case taskLine.MatchString(text):
		return string(understand.RollOut) + ":" + rollOutSaid, true
	case handsLine.MatchString(strings.TrimRight(text, ".! ")) && len(r.Reading.Lines) == 0:
		return string(understand.RollOut) + ":" + handsSaid, true
	}
	return "", false
}

// taskSaid splits what the lead says of a tool from the task they give with it. A
// tool that only the task names is not rolled out.
func (r *Request) taskSaid() (line, task string) {
	said := taskLine.FindStringSubmatch(r.Event.Text)
	if said == nil {
		return r.Event.Text, ""
	}
	r.Reading.Items = r.Read(said[1], r.context()).Items
	return said[1], strings.TrimRight(strings.TrimSpace(said[2]), ".")
}

// unknownTool is what a message wants to roll out, in its own words; "" where it
// names nothing.
func unknownTool(line string) string {
	said := toolNamed.FindStringSubmatch(line)
	if said == nil || noToolName.MatchString(said[1]) {
		return ""
	}
	return strings.TrimSpace(said[1])
}

// handsTyped is a tap in words: it counts for the tool named, or for the one that
// is being rolled out; of several it asks which.
func (r *Request) handsTyped(ctx context.Context, open []training.RollOut) (Result, error) {
	about := slices.Clone(open)
	if len(r.Reading.Items) > 0 {
		about = slices.DeleteFunc(about, func(o training.RollOut) bool { return !slices.Contains(r.Reading.Items, o.Item) })
	}
	switch {
	case len(about) == 1:
		return r.handsOn(ctx, about[0])
	case len(about) == 0 && len(r.Reading.Items) > 0:
		return Say("The " + r.itemName(r.Reading.Items[0]) + " is not being rolled out. Every crew may use it."), nil
	case len(about) == 0:
		return Say("No tool is being rolled out now."), nil
	}
	var buttons []bot.Button
	for _, o := range about {
		buttons = append(buttons, bot.Button{Label: "Hands on the " + r.itemName(o.Item), Value: rollOutValue("had", o.Item)})
	}
	return Say("Which tool did you have in hand?", buttons...), nil
}

// taskFor is the card of a tool's ten-minute task, "" for none: of the drills
// about a technique that takes the tool, or else of those techniques themselves,
// the one that takes the fewest tools.
func (r *Request) taskFor(item string) string {
	for _, kind := range []knowledge.Kind{knowledge.Drill, knowledge.Technique} {
		best, fewest := "", 0
		for _, id := range r.Cards.IDs(kind) {
			c, ok := r.Cards.Card(id)
			if ok && slices.Contains(c.Tools, item) && (kind == knowledge.Technique || r.trains(c, item)) && (best == "" || len(c.Tools) < fewest) {
				best, fewest = id, len(c.Tools)
			}
		}
		if best != "" {
			return best
		}
	}
	return ""
}

// trains says whether a drill is about a technique that takes the tool. One whose
// tools are mostly those of other techniques is about choosing between them.
func (r *Request) trains(drill *knowledge.Card, item string) bool {
	var theirs []string
	for _, id := range drill.Related {
		if c, ok := r.Cards.Card(id); ok && c.Kind == knowledge.Technique {
			theirs = append(theirs, c.Tools...)
		}
	}
	own := 0
	for _, tool := range drill.Tools {
		if slices.Contains(theirs, tool) {
			own++
		}
	}
	return slices.Contains(theirs, item) && 2*own > len(drill.Tools)
}

// newInTheKit is what every station hears of a new tool. It tells to do the task
// only where there is one.
func (r *Request) newInTheKit(s training.RollOutStep) bot.Reply {
	reply := bot.Reply{Title: "New in the kit: " + r.itemName(s.Item), Buttons: []bot.Button{{Label: "Hands on it", Value: rollOutValue("had", s.Item)}}}
	do := ""
	if s.About.Replaces != "" {
		reply.Fields = append(reply.Fields, bot.Field{Name: "It replaces", Value: r.itemName(s.About.Replaces)})
	}
	if s.About.Link != "" {
		reply.Fields = append(reply.Fields, bot.Field{Name: "See it", Value: s.About.Link})
	}
	if task, button := r.taskOf(s.About); task != "" {
		do = " do the task,"
		reply.Fields = append(reply.Fields, bot.Field{Name: "Task, ten minutes", Value: task})
		reply.Buttons = append(reply.Buttons, button...)
	}
	reply.Text = "Take it in hand," + do + " then tap, each for themselves. Your plans use it from then on, and an officer confirms."
	return reply
}

// taskOf is a roll-out's task in words, with the button that shows its card.
func (r *Request) taskOf(about training.RolledTool) (words string, button []bot.Button) {
	if about.Task != "" {
		words = upperFirst(about.Task)
	}
	c, ok := r.Cards.Card(about.Card)
	if !ok {
		return words, nil
	}
	label := "Show the card"
	switch {
	case words != "":
	case c.Kind == knowledge.Drill:
		label, words = "Show the task", upperFirst(r.cardTitle(c.ID))
	default:
		words = "With the card at hand, on a practice door: " + lowerFirst(r.cardTitle(c.ID))
	}
	return words, []bot.Button{{Label: label, Value: string(understand.Ask) + ":" + refCard + ":" + about.Card}}
}
