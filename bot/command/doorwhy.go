package command

import (
	"context"
	"fmt"
	"strings"

	"kitbell/bot"
	"kitbell/bot/door"
)

// doorWhy shows the numbers behind the plan, each marked as assumed or counted,
// and what is not in it and why.
func (r *Request) doorWhy(ctx context.Context) (Result, error) {
	plan, err := r.Plan()
	if err != nil {
		return Result{}, err
	}
	reply := bot.Reply{Title: "Why this order", Text: "Least expected minutes, the mark's worth counted in. Each chance is for when all before it failed. Minutes, marks and chances are assumptions until your own doors count."}
	for _, s := range plan.Steps {
		if s.Kind == door.Attempt || s.Kind == door.Prepare {
			reply.Steps = append(reply.Steps, r.numbersWords(s))
		}
	}
	if plan.Look != nil {
		value := fmt.Sprintf("%s An answer saves about %.1f minutes, the mark's worth counted in (assumed).", lookWords(plan.Look.Fact), plan.Look.SavesMinutes)
		reply.Fields = append(reply.Fields, bot.Field{Name: "Look", Value: value})
	}
	if taken := r.assumedWords(plan); taken != "" {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Taken for granted", Value: taken})
	}
	if left := r.leftOut(plan); len(left) > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Left out", Value: bullets(left)})
	}
	return Answer(reply), nil
}

// assumedWords says what nobody stated and the plan still goes by.
func (r *Request) assumedWords(plan door.Plan) string {
	facts := r.facts().Assumed()
	var words []string
	for _, fact := range plan.Assumed {
		if v := facts.Value(fact); v != "" {
			words = append(words, factWords(fact, v))
		}
	}
	return strings.Join(words, ", ")
}

// leftOut says what is not in the plan, each reason once.
func (r *Request) leftOut(plan door.Plan) []string {
	var reasons []string
	techniques := make(map[string][]string)
	for _, out := range plan.RuledOut {
		why := r.ruledOutWords(out)
		if techniques[why] == nil {
			reasons = append(reasons, why)
		}
		techniques[why] = append(techniques[why], r.cardTitle(out.Technique))
	}
	for i, why := range reasons {
		reasons[i] = upperFirst(strings.Join(techniques[why], ", ")) + ": " + why
	}
	return reasons
}

// ruledOutWords is why a technique is not in the plan, and who has the tool.
func (r *Request) ruledOutWords(out door.RuledOut) string {
	if len(out.Missing) == 0 {
		return out.Why
	}
	names := make([]string, len(out.Missing))
	var near []string
	for i, tool := range out.Missing {
		names[i] = r.itemName(tool)
		if unit := r.elsewhere[tool]; unit != "" {
			near = append(near, unit+" has the "+names[i]+".")
		}
	}
	why := out.Why
	if strings.HasPrefix(why, "This kit has no ") {
		why = "This kit has no " + list(names, "or") + "."
	}
	if len(near) == 0 && why != out.Why {
		return why + " No other kit has one."
	}
	return strings.TrimSpace(why + " " + strings.Join(near, " "))
}

// numbersWords is a step with its figures, and what it rests on.
func (r *Request) numbersWords(s door.Step) string {
	title := s.Title
	if s.With != "" {
		title += ", after: " + r.cardTitle(s.With)
	}
	if s.Kind == door.Prepare {
		return fmt.Sprintf("%s: %.1f min, mark %s.", title, s.Minutes, markWords(s.Mark))
	}
	if s.Chance == 1 {
		return fmt.Sprintf("%s: %.1f min, opens it (assumed), mark %s.", title, s.Minutes, markWords(s.Mark))
	}
	basis := "assumed"
	if s.Records > 0 {
		basis = "from " + plural(s.Records, "of your door")
	}
	return fmt.Sprintf("%s: %.1f min, opens %.0f in 100 (%.0f to %.0f, %s), mark %s.",
		title, s.Minutes, 100*s.Chance, 100*s.ChanceLow, 100*s.ChanceHigh, basis, markWords(s.Mark))
}

func markWords(mark int) string {
	return [...]string{"none", "scuff", "scar", "hardware lost", "door or frame lost"}[min(max(mark, 0), 4)]
}

func (d *Desk) cardTitle(id string) string {
	if c, ok := d.Cards.Card(id); ok {
		return lowerFirst(c.Title)
	}
	return id
}
