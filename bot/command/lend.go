package command

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
	"kitbell/schedule"
)

// LendCommand notes a tool that another rig or department has for a while. It is
// a movement: plans follow it, the queue does not have it.
func LendCommand() Command {
	return Command{
		Name:    string(understand.Lend),
		Usage:   "{rig2} lent a film to {rig}",
		For:     department.Officer,
		Summary: "Say who lent what to whom. You are reminded until it is back.",
		Run:     lend,
	}
}

// loanKind is the journal's word for a step of a loan.
const loanKind = "loan"

// remindAfter is how many days after a loan without a day of return somebody is
// reminded of it: common practice, no source.
const remindAfter = 7

// loans are the loans that are out.
func (r *Request) loans(ctx context.Context) ([]kit.Loan, error) {
	return fold(ctx, r, loanKind, func(entries []bot.Entry) ([]kit.Loan, error) {
		steps, err := bodies[kit.LoanStep](entries)
		return kit.Loans(steps, func(i int) (string, time.Time) { return entries[i].Person, entries[i].At }), err
	})
}

var (
	outsideWords  = regexp.MustCompile(`(?i)\b(?:neighbou?ring|neighbou?rs?|mutual aid|(?:other|another|next|their) (?:department|town|company|county|village|crew)|county)\b`)
	borrowedWords = regexp.MustCompile(`(?i)\b(?:borrow\w*|came home with us|went home with us|(?:we|us) (?:have|got|took) their|their \w+(?: \w+)? (?:is|came|ended))\b`)
	fromWords     = regexp.MustCompile(`(?i)\b(?:from|off)\b`)
	countWords    = regexp.MustCompile(`(?i)\b(\d{1,3}|two|three|four|five|both)\b`)
)

// lend notes a loan in words, or that one is back by a button.
func lend(ctx context.Context, r *Request) (Result, error) {
	if !r.Who.member() {
		return Result{}, bot.SayMembersOnly.With()
	}
	out, err := r.loans(ctx)
	if err != nil {
		return Result{}, err
	}
	if r.Verb != "" {
		what, key := press(r.Ref)
		i := slices.IndexFunc(out, func(l kit.Loan) bool { return l.Key == key })
		if what != "back" || i < 0 {
			return Result{}, bot.SayLoanOver.With()
		}
		return r.loanBack(ctx, out[i])
	}
	if len(r.Reading.Items) == 0 {
		return Result{}, bot.SayLendWhat.With()
	}
	fleet, err := r.fleet(ctx)
	if err != nil {
		return Result{}, err
	}
	from, to, err := r.holders(ctx)
	if err != nil {
		return Result{}, err
	}
	var result Result
	var said []string
	for n, item := range r.Reading.Items {
		l := kit.Loan{LoanStep: kit.LoanStep{Key: r.stopKey(n), Item: item, Count: r.countSaid(len(r.Reading.Items)), From: from, To: to}, At: r.Now}
		if i := slices.IndexFunc(out, func(o kit.Loan) bool { return o.Item == item && o.From == from && o.To == to }); i >= 0 {
			return Result{}, bot.SayLentAlready.With(r.loanWords(fleet, out[i]), r.day(out[i].At))
		}
		if err := r.mayLend(fleet, l); err != nil {
			return Result{}, err
		}
		l.Due = r.Now.AddDate(0, 0, remindAfter)
		if len(r.Reading.Days) > 0 {
			if day, ok := dayOf(r.Reading.Days[0], r.Now.In(r.Department.Zone)); ok && day.After(r.Now) {
				l.Due = day
			}
		}
		result.Changes = append(result.Changes,
			bot.Written{Entry: bot.NewEntry(loanKind, l.Key, r.Who.Person, r.Now, l.LoanStep)},
			schedule.Fell{Due: schedule.Due{Entry: "loan-" + l.Key, Wall: l.Due.Format(time.DateOnly), Unit: r.reminded(fleet, l), Kind: schedule.NewsDue, Topic: loanTopic + ":" + l.Key, At: l.Due}})
		said = append(said, upperFirst(r.loanWords(fleet, l))+".")
	}
	said = append(said, fmt.Sprintf("Plans follow it. I ask on %s whether it is back.", r.dayOnly(r.dueOf(result))))
	result.Posts = []Post{{Reply: bot.Reply{Text: strings.Join(said, " "), Buttons: []bot.Button{r.undoButton()}}}}
	return result, nil
}

// loanTopic begins the topic of a reminder of a loan; its key follows.
const loanTopic = "loan"

func (r *Request) dueOf(result Result) time.Time {
	for _, c := range result.Changes {
		if fell, ok := c.(schedule.Fell); ok {
			return fell.Due.At
		}
	}
	return r.Now
}

// holders reads who has lent to whom. The one who is not named is the speaker's
// own rig.
func (r *Request) holders(ctx context.Context) (from, to string, err error) {
	said := r.Event.Text
	borrowed, outside := borrowedWords.MatchString(said), outsideWords.MatchString(said)
	units := r.Reading.Units
	first, second := r.Who.Unit, ""
	switch {
	case len(units) >= 2:
		first, second = units[0], units[1]
	case len(units) == 1 && units[0] == r.Who.Unit:
		outside = outside || borrowed
	case len(units) == 1 && outside:
		first = units[0]
	case len(units) == 1 && !outside:
		second = units[0]
	case borrowed:
		outside = true
	}
	if second == "" && !outside {
		return "", "", bot.SayWhoLent.With()
	}
	mine, err := r.kitOn(ctx, first)
	if err != nil {
		return "", "", err
	}
	other := kit.Outside
	if second != "" {
		k, err := r.kitOn(ctx, second)
		if err != nil {
			return "", "", err
		}
		other = k.ID
	}
	if borrowed || len(units) < 2 && fromWords.MatchString(said) && !strings.Contains(strings.ToLower(said), " to ") {
		return other, mine.ID, nil
	}
	return mine.ID, other, nil
}

// countSaid is how many pieces a message about one item speaks of.
func (r *Request) countSaid(items int) int {
	if items > 1 {
		return 1
	}
	return r.countIn(r.Event.Text)
}

// countIn is the first count in a text, 1 without one.
func (r *Request) countIn(text string) int {
	said := countWords.FindString(unitNumbers.ReplaceAllString(text, " "))
	if said == "" {
		return 1
	}
	words := map[string]int{"two": 2, "both": 2, "three": 3, "four": 4, "five": 5}
	if n, ok := words[strings.ToLower(said)]; ok {
		return n
	}
	n, _ := strconv.Atoi(said)
	return max(n, 1)
}

// unitNumbers are the numbers of rigs, stations and dates, which count nothing.
var unitNumbers = regexp.MustCompile(`(?i)\b(?:[a-z]{1,2}|engine|eng|ladder|truck|tower|rescue|boat|station|stn|kit|lot|shelf|shelf at)\s*-?#?\d{1,4}\b|\d+[-/]\d+(?:[-/]\d+)?`)

// mayLend says why a loan cannot be: a kit lends no more than its list has, and
// to somebody else.
func (r *Request) mayLend(fleet kit.Fleet, l kit.Loan) error {
	if l.From == l.To {
		return bot.SayWhoLent.With()
	}
	if k, ok := fleet.Kit(l.From); ok {
		list, _ := r.Department.ListOf(k)
		if on, _ := list.Line(l.Item); l.Count > on.Qty {
			return bot.SayCount.With(l.Count, r.itemName(l.Item), on.Qty)
		}
	}
	return nil
}

// reminded is the rig that is asked whether a loan is back: the lender's, or the
// borrower's when the lender is another department.
func (r *Request) reminded(fleet kit.Fleet, l kit.Loan) string {
	for _, id := range []string{l.From, l.To} {
		if k, ok := fleet.Kit(id); ok && k.Place.Kind == kit.OnUnit {
			return k.Place.At
		}
	}
	return r.Who.Unit
}

// loanWords is a loan in a few words.
func (r *Request) loanWords(fleet kit.Fleet, l kit.Loan) string {
	name := r.itemName(l.Item)
	if l.Count > 1 {
		name = fmt.Sprintf("%d × %s", l.Count, name)
	}
	holder := func(id string) string {
		if k, ok := fleet.Kit(id); ok && k.Place.Kind == kit.OnUnit {
			return r.unitName(k.Place.At)
		}
		if id == kit.Outside {
			return "another department"
		}
		return "kit " + id
	}
	return fmt.Sprintf("%s lent %s to %s", holder(l.From), name, holder(l.To))
}

// loanBack notes that a loan has come back.
func (r *Request) loanBack(ctx context.Context, l kit.Loan) (Result, error) {
	fleet, err := r.fleet(ctx)
	if err != nil {
		return Result{}, err
	}
	entry := bot.NewEntry(loanKind, l.Key, r.Who.Person, r.Now, kit.LoanStep{Key: l.Key, Back: true})
	text := fmt.Sprintf("Back: %s, since %s. Both kits are as they were.", r.loanWords(fleet, l), r.day(l.At))
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: entry}},
	}, nil
}

// lentOut lists every loan that is out.
func (r *Request) lentOut(ctx context.Context) ([]string, error) {
	out, err := r.loans(ctx)
	if err != nil {
		return nil, err
	}
	fleet, err := r.fleet(ctx)
	if err != nil {
		return nil, err
	}
	words := make([]string, len(out))
	for i, l := range out {
		words[i] = r.loanWords(fleet, l) + ", " + r.day(l.At)
	}
	return words, nil
}

// loanFields say what a kit has lent and borrowed.
func (r *Request) loanFields(ctx context.Context, kitID string) ([]bot.Field, []bot.Button, error) {
	out, err := r.loans(ctx)
	if err != nil {
		return nil, nil, err
	}
	fleet, err := r.fleet(ctx)
	if err != nil {
		return nil, nil, err
	}
	var words []string
	var buttons []bot.Button
	for _, l := range out {
		if l.From == kitID || l.To == kitID {
			words = append(words, r.loanWords(fleet, l)+", "+r.day(l.At))
			buttons = append(buttons, bot.Button{Label: "Back: " + r.itemName(l.Item), Value: string(understand.Lend) + ":back:" + l.Key})
		}
	}
	if len(words) == 0 {
		return nil, nil, nil
	}
	return []bot.Field{{Name: "On loan", Value: strings.Join(words, "; ")}}, buttons, nil
}
