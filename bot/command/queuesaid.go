package command

import (
	"context"
	"errors"
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
	}
	reply := bot.Reply{Text: strings.Join(words, "\n")}
	if len(out.Changes) > 0 {
		reply.Buttons = []bot.Button{r.undoButton()}
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
	return r.stepLine(ctx, number, 0, step)
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
