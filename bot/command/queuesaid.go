package command

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"strings"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
)

// stepsSaid makes the step that a message tells of, for each line that it names.
// One that cannot be made is said beside the others.
func (r *Request) stepsSaid(ctx context.Context) (Result, error) {
	said := r.Reading.Step
	numbers := r.Reading.Numbers
	if said.ByPlace {
		var err error
		if numbers, err = r.inHandNamed(ctx); err != nil {
			return Result{}, err
		}
		if len(numbers) == 0 {
			return Say("Nothing is in hand for there. Type bag list to see what is."), nil
		}
	}
	var out Result
	var words []string
	var asked []bot.Button
	for _, number := range numbers {
		one, err := r.stepSaid(ctx, number, len(numbers))
		var refused *bot.UserError
		if errors.As(err, &refused) {
			words = append(words, refused.Say)
			continue
		}
		if err != nil {
			return Result{}, err
		}
		words = append(words, one.Posts[0].Reply.Text)
		out.Changes = append(out.Changes, one.Changes...)
		if len(numbers) == 1 {
			return one, nil
		}
		if len(one.Changes) == 0 {
			asked = append(asked, one.Posts[0].Reply.Buttons...)
		}
	}
	reply := bot.Reply{Text: strings.Join(words, "\n"), Buttons: asked}
	if len(out.Changes) > 0 {
		reply.Buttons = append(reply.Buttons, r.undoButton())
	}
	out.Posts = []Post{{Reply: reply}}
	return out, nil
}

// stepSaid makes the step for one line. What was paid for several lines is not
// split among them: nobody said how.
func (r *Request) stepSaid(ctx context.Context, number, of int) (Result, error) {
	said := r.Reading.Step
	if said.Reopen {
		return r.reopenLine(ctx, number)
	}
	step := kit.Step{To: said.To, Where: said.Where, Order: r.Reading.Order, Pieces: said.Came, Note: said.Note}
	if said.Cents > 0 && of > 1 {
		return Result{}, bot.SayOnePrice.With()
	}
	step.Paid = said.Cents
	if len(r.Reading.Days) > 0 {
		step.Expected, _ = dayOf(r.Reading.Days[0], r.Now.In(r.Department.Zone))
	}
	if said.CameOf > 0 {
		line, err := r.line(ctx, number)
		if err != nil {
			return Result{}, err
		}
		if said.CameOf != line.Count {
			return Result{}, bot.SayLineCount.With(number, line.Count, r.itemName(line.Item))
		}
		// "2 of 4 came" is how many there are by now: said twice it is one delivery.
		if step.Pieces -= line.Received; step.Pieces <= 0 {
			return Result{}, bot.SayLineSo.With(number, r.stateWords(line))
		}
	}
	if step.Where == kit.WrittenOff {
		line, err := r.line(ctx, number)
		if err == nil && line.Condition != kit.Missing {
			return Result{}, bot.SayNotMissing.With(number)
		}
	}
	if step.To == kit.BackInKit {
		return r.closeSaid(ctx, number, step)
	}
	return r.stepLine(ctx, number, 0, step)
}

// lineNamed is in a message that says that its number is a line's.
var lineNamed = regexp.MustCompile(`(?i)#\s*\d|\blines?\s+\d`)

// closeSaid closes a line that is said to be in the kit. A bare number may be a
// count ("2 in the kit, 2 missing"), and another rig's line is not the speaker's
// to close by a slip of the thumb: both are asked.
func (r *Request) closeSaid(ctx context.Context, number int, step kit.Step) (Result, error) {
	line, err := r.line(ctx, number)
	if err != nil {
		return Result{}, err
	}
	fleet, err := r.fleet(ctx)
	if err != nil {
		return Result{}, err
	}
	k, _ := fleet.Kit(line.Kit)
	own := k.Place == kit.Place{Kind: kit.OnUnit, At: r.Who.Unit}
	if !line.State.Open() || r.mayStep(line, step) != nil || own && lineNamed.MatchString(r.Event.Text) {
		return r.stepLine(ctx, number, 0, step)
	}
	return Say(fmt.Sprintf("Is #%d back in the kit: %s, %s?", number, r.unitName(line.Unit), r.lineWords(line)),
		bot.Button{Label: fmt.Sprintf("#%d in the kit", number), Value: queueValue("in", number, line.Version)}), nil
}

// inHandNamed are the lines in hand for the rigs or the station that a message
// names.
func (r *Request) inHandNamed(ctx context.Context) ([]int, error) {
	if !r.Who.May(department.Quartermaster) {
		return nil, bot.SayQueueWhose.With()
	}
	open, err := r.openNow(ctx)
	if err != nil {
		return nil, err
	}
	var numbers []int
	for _, l := range open {
		u, _ := r.Department.Unit(l.Unit)
		here := r.Reading.UnitNamed && l.Unit == r.Reading.Unit || !r.Reading.UnitNamed && u.Station == r.Reading.Station
		if l.State == kit.InHand && here {
			numbers = append(numbers, l.Number)
		}
	}
	return numbers, nil
}
