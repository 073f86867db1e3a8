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

// RollOutCommand brings a new tool to the crews one by one: until a crew has had
// hands on it, its plans leave it out.
func RollOutCommand() Command {
	return Command{
		Name:    string(understand.RollOut),
		Usage:   "roll out the fork",
		For:     department.Lead,
		Summary: "Bring a new tool to the crews. A crew's plans use it once somebody of it has had it in hand.",
		Run:     rollOut,
	}
}

// rollOutKind is the journal's word for a step of a roll-out.
const rollOutKind = "roll-out"

func (r *Request) rollOuts(ctx context.Context) ([]training.RollOut, error) {
	return fold(ctx, r, rollOutKind, func(entries []bot.Entry) ([]training.RollOut, error) {
		steps := make([]training.RollOutStep, len(entries))
		for i, e := range entries {
			step, err := decode[training.RollOutStep](e)
			if err != nil {
				return nil, err
			}
			steps[i] = step
		}
		return training.RollOuts(steps), nil
	})
}

func rollOut(ctx context.Context, r *Request) (Result, error) {
	open, err := r.rollOuts(ctx)
	if err != nil {
		return Result{}, err
	}
	switch {
	case r.Verb == "", r.Ref == rollOutSaid:
		return r.beginRollOut(ctx, open)
	case r.Ref == handsSaid:
		return r.handsTyped(ctx, open)
	}
	what, ref := press(r.Ref)
	item, about, _ := strings.Cut(ref, ":")
	i := slices.IndexFunc(open, func(o training.RollOut) bool { return o.Item == item })
	if i < 0 && what != "begin" {
		return Result{}, bot.SayRollOutOver.With()
	}
	switch what {
	case "had":
		return r.handsOn(ctx, open[i])
	case "sign":
		return r.confirmHands(open[i], r.tappedUntil(open[i], about))
	case "one":
		return r.confirmHands(open[i], []string{about})
	case "begin":
		if !r.Who.May(department.Lead) {
			return Result{}, bot.SayLeadOnly.With()
		}
		return r.begin(ctx, []string{item}, "")
	case "finish":
		if !r.Who.May(department.Lead) {
			return Result{}, bot.SayLeadOnly.With()
		}
		if about != "yes" {
			return r.askFinish(open[i]), nil
		}
		text := "Roll-out finished: " + r.itemName(item) + ". Every crew's plans may use it."
		return r.rollOutStep(training.RollOutStep{What: training.Finished, Item: item}, text), nil
	}
	return Result{}, bot.SayOldButton.With()
}

// beginRollOut starts the roll-outs of the tools named, on the lead's word, or
// shows how those under way stand.
func (r *Request) beginRollOut(ctx context.Context, open []training.RollOut) (Result, error) {
	line, task := r.taskSaid()
	if name := unknownTool(line); name != "" && len(r.Reading.Items) == 0 {
		return Say(fmt.Sprintf("I know no tool called %s. Type it as the kit list has it: roll out the fork.", name)), nil
	}
	items := slices.Clone(r.Reading.Items)
	if replaces.MatchString(line) && len(items) > 1 {
		items = items[:len(items)-1] // the last is what goes out for it
	}
	fresh := slices.DeleteFunc(items, func(item string) bool {
		return slices.ContainsFunc(open, func(o training.RollOut) bool { return o.Item == item })
	})
	if len(fresh) == 0 || !r.Who.May(department.Lead) {
		return Answer(r.rollOutReply(open)), nil
	}
	if !rollsOut.MatchString(r.Event.Text) {
		return r.askRollOut(fresh), nil
	}
	return r.begin(ctx, fresh, task)
}

// rollsOut is in a message that means it: every station hears of a roll-out, and
// the crews' plans change.
var rollsOut = regexp.MustCompile(`(?i)\broll(?:s|ing|ed)?[ -]?(?:\S+ ){0,4}?out\b`)

// askRollOut asks whether a roll-out is meant.
func (r *Request) askRollOut(items []string) Result {
	var names []string
	var buttons []bot.Button
	for _, item := range items {
		names = append(names, r.itemName(item))
		buttons = append(buttons, bot.Button{Label: "Roll out: " + r.itemName(item), Value: rollOutValue("begin", item)})
	}
	return Say("A roll-out tells every station, and a crew's plans use the tool once somebody of it has had it in hand. Begin it for the "+list(names, "and")+"?", buttons...)
}

// begin starts the roll-outs of tools; task is the lead's own words for it, if any.
func (r *Request) begin(ctx context.Context, items []string, task string) (Result, error) {
	var out Result
	about := r.aboutRollOut(items)
	about.Task = task
	for _, item := range items {
		name := r.itemName(item)
		step := training.RollOutStep{What: training.Started, Item: item, About: about}
		step.About.Card = r.taskFor(item)
		if err := training.CheckRollOut(nil, step); err != nil {
			return Answer(bot.Reply{Text: upperFirst(err.Error()) + ".", Private: true}), nil
		}
		one := r.rollOutStep(step, "Roll-out begun: "+name+". A crew's plans use it once somebody of it has had it in hand.")
		out.Posts, out.Changes = append(out.Posts, one.Posts...), append(out.Changes, one.Changes...)
		post, err := r.underStops(ctx, r.newInTheKit(step), item)
		if err != nil {
			return Result{}, err
		}
		for _, s := range r.Department.Stations {
			out.Posts = append(out.Posts, Post{To: Place{Use: department.StationChannel, Station: s.ID}, Reply: post})
		}
	}
	return out, nil
}

// aboutRollOut is what the lead said of a new tool besides its name: a link to a
// photo or clip, and what it takes the place of.
func (r *Request) aboutRollOut(items []string) training.RolledTool {
	about := training.RolledTool{Link: strings.TrimRight(anyLink.FindString(r.Event.Text), ".,)")}
	if replaces.MatchString(r.Event.Text) && len(r.Reading.Items) == len(items)+1 {
		about.Replaces = r.Reading.Items[len(r.Reading.Items)-1]
	}
	return about
}

var (
	anyLink  = regexp.MustCompile(`[a-z]+://\S+`)
	replaces = regexp.MustCompile(`(?i)\b(?:replac|instead of|in place of|takes over from)`)
)

func rollOutValue(what, item string) string {
	return string(understand.RollOut) + ":" + what + ":" + item
}

func (r *Request) rollOutStep(step training.RollOutStep, text string) Result {
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: bot.NewEntry(rollOutKind, step.Item, r.Who.Person, r.Now, step)}},
	}
}
