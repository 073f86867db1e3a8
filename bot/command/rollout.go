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
	if r.Verb == "" {
		return r.beginRollOut(open), nil
	}
	what, item := press(r.Ref)
	i := slices.IndexFunc(open, func(o training.RollOut) bool { return o.Item == item })
	if i < 0 && what != "begin" {
		return Result{}, bot.SayRollOutOver.With()
	}
	switch what {
	case "had":
		return r.handsOn(open[i])
	case "begin":
		if !r.Who.May(department.Lead) {
			return Result{}, bot.SayLeadOnly.With()
		}
		return r.begin([]string{item}), nil
	case "finish":
		if !r.Who.May(department.Lead) {
			return Result{}, bot.SayLeadOnly.With()
		}
		text := "Roll-out finished: " + r.itemName(item) + ". Every crew's plans may use it."
		return r.rollOutStep(training.RollOutStep{What: training.Finished, Item: item}, text), nil
	}
	return Result{}, bot.SayOldButton.With()
}

// beginRollOut starts the roll-outs of the tools named, on the lead's word, or
// shows how those under way stand.
func (r *Request) beginRollOut(open []training.RollOut) Result {
	fresh := slices.DeleteFunc(slices.Clone(r.Reading.Items), func(item string) bool {
		return slices.ContainsFunc(open, func(o training.RollOut) bool { return o.Item == item })
	})
	if len(fresh) == 0 || !r.Who.May(department.Lead) {
		return Answer(r.rollOutReply(open))
	}
	if !rollsOut.MatchString(r.Event.Text) {
		return r.askRollOut(fresh)
	}
	return r.begin(fresh)
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
		buttons = append(buttons, bot.Button{Label: "Roll out: " + r.itemName(item), Value: string(understand.RollOut) + ":begin:" + item})
	}
	return Say("A roll-out tells every station, and a crew's plans use the tool once somebody of it has had it in hand. Begin it for the "+list(names, "and")+"?", buttons...)
}

// begin starts the roll-outs of tools.
func (r *Request) begin(items []string) Result {
	var out Result
	for _, item := range items {
		name := r.itemName(item)
		one := r.rollOutStep(training.RollOutStep{What: training.Started, Item: item}, "Roll-out begun: "+name+". A crew's plans use it once somebody of it has had it in hand.")
		out.Posts, out.Changes = append(out.Posts, one.Posts...), append(out.Changes, one.Changes...)
		for _, s := range r.Department.Stations {
			reply := bot.Reply{Title: "New in the kit: " + name, Text: "Take it in hand, try it on the practice door, then tap. Your plans use it from then on.",
				Buttons: []bot.Button{{Label: "Hands on it", Value: string(understand.RollOut) + ":had:" + item}}}
			out.Posts = append(out.Posts, Post{To: Place{Use: department.StationChannel, Station: s.ID}, Reply: reply})
		}
	}
	return out
}

// handsOn notes that a member has had the tool in hand.
func (r *Request) handsOn(o training.RollOut) (Result, error) {
	switch {
	case !r.Who.member():
		return Result{}, bot.SayNoTechnique.With()
	case slices.Contains(o.Members, r.Who.Person):
		return Say("You have had it already, and it counts."), nil
	case r.Who.Unit == "" || r.Who.Platoon == "":
		return Result{}, bot.SayWhichCrew.With()
	}
	crew := training.Crew{Unit: r.Who.Unit, Platoon: r.Who.Platoon}
	text := fmt.Sprintf("Noted: hands on the %s. Plans of %s %s may use it.", r.itemName(o.Item), r.unitName(crew.Unit), crew.Platoon)
	return r.rollOutStep(training.RollOutStep{What: training.HandsOn, Item: o.Item, Crew: crew, Member: r.Who.Person}, text), nil
}

func (r *Request) rollOutStep(step training.RollOutStep, text string) Result {
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: bot.NewEntry(rollOutKind, step.Item, r.Who.Person, r.Now, step)}},
	}
}

// rollOutReply says how far each roll-out has come, by crews: nobody is ranked.
func (r *Request) rollOutReply(open []training.RollOut) bot.Reply {
	if len(open) == 0 {
		return bot.Reply{Text: "No tool is being rolled out. The lead begins one: roll out the fork."}
	}
	reply := bot.Reply{Title: "Roll-outs"}
	crews := r.crews()
	for _, o := range open {
		var waiting []string
		for _, c := range crews {
			if training.Held([]training.RollOut{o}, o.Item, c) {
				waiting = append(waiting, r.unitName(c.Unit)+" "+c.Platoon)
			}
		}
		value := fmt.Sprintf("%d of %d crews, %s hands on.", len(crews)-len(waiting), len(crews), plural(len(o.Members), "member"))
		if len(waiting) > 0 {
			value += " Still to go: " + strings.Join(waiting, ", ") + "."
		}
		reply.Fields = append(reply.Fields, bot.Field{Name: upperFirst(r.itemName(o.Item)), Value: value})
		reply.Buttons = append(reply.Buttons,
			bot.Button{Label: "Hands on the " + r.itemName(o.Item), Value: string(understand.RollOut) + ":had:" + o.Item},
			bot.Button{Label: "Finish (lead)", Value: string(understand.RollOut) + ":finish:" + o.Item})
	}
	return reply
}

// crews are the crews of the rigs with a kit.
func (r *Request) crews() []training.Crew {
	var crews []training.Crew
	for _, u := range r.Department.KitUnits() {
		for _, p := range r.Department.Rotation.Platoons() {
			crews = append(crews, training.Crew{Unit: u.ID, Platoon: p})
		}
	}
	return crews
}
