package command

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
	"kitbell/schedule"
)

// checkKind is the journal's word for an answered kit check.
const checkKind = "check"

// CheckCommand records what a crew found at a kit check, typed or pressed.
func CheckCommand() Command {
	return Command{
		Name:    string(understand.Check),
		Usage:   "check {rig}, or: {rig} checked, all there",
		Summary: "Go through a kit line by line, or answer its check: all there, something is off, not today.",
		Run:     answerCheck,
	}
}

// A check's button is check:WHAT:UNIT:UNTIL and sometimes one word more. UNTIL
// names the tour that it counts for; after it the button has had its day.
const (
	checkFull  = "full"  // every line was looked at
	checkTag   = "tag"   // the seal's tag is whole; the number follows
	checkWhat  = "what"  // an item that is off follows
	surePrefix = "sure-" // begins the word when somebody of another crew was asked

	checkWhy = "why" // why there is no check today follows
)

func checkValue(what, unit, until, more string) string {
	return strings.TrimSuffix(strings.Join([]string{string(understand.Check), what, unit, until, more}, ":"), ":")
}

// checkButtons are the answers to a due check of a unit's kit. crew is the rig
// and its platoon: two crews may read the same channel.
func checkButtons(crew, unit, until string) []bot.Button {
	return []bot.Button{
		{Label: crew + ": all there", Value: checkValue(string(kit.AllThere), unit, until, "")},
		{Label: "Something's off", Value: checkValue(string(kit.Off), unit, until, "")},
		{Label: "Can't today", Value: checkValue(string(kit.NotToday), unit, until, "")},
	}
}

// whyNot are the reasons for no check today, as they are kept.
var whyNot = []string{"on calls", "rig out of service", "training", "other"}

func answerCheck(ctx context.Context, r *Request) (Result, error) {
	if !r.Who.member() {
		return Result{}, bot.SayMembersOnly.With()
	}
	if r.Verb != "" {
		return r.pressCheck(ctx)
	}
	unit := r.Reading.Unit
	k, err := r.kitOn(ctx, unit)
	if err != nil {
		return Result{}, err
	}
	c, err := r.checked(ctx, k, unit)
	if err != nil {
		return Result{}, err
	}
	if r.Reading.Check == "" {
		return Answer(c.everyLine()), nil
	}
	return c.record(r.Reading.Check, kit.Check{Full: r.form.id == checkForm}) // its choice says that every line was looked at
}

func (r *Request) pressCheck(ctx context.Context) (Result, error) {
	parts := append(strings.SplitN(r.Ref, ":", 4), "", "", "", "")
	what, unit, until, more := parts[0], parts[1], parts[2], parts[3]
	if until != r.tourKey() {
		return Result{}, r.oldCheck(ctx, unit)
	}
	what, sure := strings.CutPrefix(what, surePrefix)
	if own := r.Who.Unit; !sure && own != "" && own != unit && what != checkWhat {
		return Answer(bot.Reply{
			Text:    fmt.Sprintf("That is %s's kit, and you ride %s. Was it you who looked?", r.unitName(unit), r.unitName(own)),
			Buttons: []bot.Button{{Label: "Yes, it counts for " + r.unitName(unit), Value: checkValue(surePrefix+what, unit, until, more)}},
		}), nil
	}
	k, err := r.kitOn(ctx, unit)
	if err != nil {
		return Result{}, err
	}
	c, err := r.checked(ctx, k, unit)
	if err != nil {
		return Result{}, err
	}
	switch what {
	case checkFull:
		return c.record(kit.AllThere, kit.Check{Full: true})
	case checkTag:
		return c.tag(more, understand.SealIntact)
	case checkWhat:
		return Answer(c.askWrong(more)), nil
	case checkWhy:
		if slices.Contains(whyNot, more) {
			return c.record(kit.NotToday, kit.Check{Note: more})
		}
	case string(kit.AllThere), string(kit.Off), string(kit.NotToday):
		return c.record(kit.CheckResult(what), kit.Check{})
	}
	return Result{}, bot.SayOldButton.With()
}

// oldCheck says how a kit stands to somebody who pressed the button of a tour
// that is over.
func (r *Request) oldCheck(ctx context.Context, unit string) error {
	if _, ok := r.Department.Unit(unit); !ok {
		return bot.SayOldButton.With()
	}
	k, err := r.kitOn(ctx, unit)
	if err != nil {
		return err
	}
	c, err := r.checked(ctx, k, unit)
	if err != nil {
		return err
	}
	name := r.unitName(unit)
	return bot.SayOldCheck.With(name, c.lastCheck(), name)
}

// checking is one kit's check: what came before, and what to look at now.
type checking struct {
	*Request
	kit    kit.Kit
	unit   string
	past   []kit.Check // of this kit, oldest first
	open   []kit.Line
	lent   []kit.Loan // of every kit
	lines  []string   // items to look at closely
	sealed bool       // its tag vouches for what is in it
}

// checksFor is how far back checks are read: two breakings of a seal apart.
const checksFor = 2 * 365 * 24 * time.Hour

// checked reads what is known of a kit.
func (r *Request) checked(ctx context.Context, k kit.Kit, unit string) (checking, error) {
	c := checking{Request: r, kit: k, unit: unit}
	all, err := fold(ctx, r, checkKind, bodies[kit.Check])
	if err != nil {
		return c, err
	}
	c.past = slices.DeleteFunc(slices.Clone(all), func(past kit.Check) bool { return past.Kit != k.ID || r.Now.Sub(past.At) > checksFor })
	if c.open, err = r.openOn(ctx, k.ID); err != nil {
		return c, err
	}
	if c.lent, err = r.loans(ctx); err != nil {
		return c, err
	}
	shorted, err := r.shortedBefore(ctx, k, c.open)
	if err != nil {
		return c, err
	}
	list, _ := r.Department.ListOf(k)
	c.lines = r.Department.Looks.Closely(list, c.past, shorted)
	c.sealed = k.Seal != "" && kit.SealStands(c.past)
	return c, nil
}

// What a kit was short of lately is looked at again, but no more than a few
// lines: a check that names half the kit is not read.
const (
	shortedFor  = 92 * 24 * time.Hour
	mostShorted = 3
)

// shortedBefore are the items that a kit was short of last, the open ones first.
func (r *Request) shortedBefore(ctx context.Context, k kit.Kit, open []kit.Line) ([]string, error) {
	closed, err := r.Books.ClosedLines(ctx, r.Department.Slug, r.Now.Add(-shortedFor))
	if err != nil {
		return nil, fmt.Errorf("read closed lines: %w", err)
	}
	slices.SortStableFunc(closed, func(a, b kit.Line) int { return b.ChangedAt.Compare(a.ChangedAt) })
	var items []string
	for _, l := range append(slices.Clone(open), closed...) {
		if l.Kit == k.ID && l.State != kit.NotAFault && len(items) < mostShorted && !slices.Contains(items, l.Item) {
			items = append(items, l.Item)
		}
	}
	return items, nil
}

// sealDue says whether the seal is to be broken this time.
func (c checking) sealDue() bool {
	return c.kit.Seal != "" && c.Department.Looks.SealDue(c.past, c.Now)
}

// record writes what was found, says what is still open on that kit, and asks
// what is not known yet.
func (c checking) record(result kit.CheckResult, check kit.Check) (Result, error) {
	if result == kit.AllThere && len(c.open) > 0 {
		result = kit.ButOpen
	}
	if again, ok := c.answered(result, check); ok {
		return Say(again), nil
	}
	check.Kit, check.Unit, check.Platoon, check.By, check.At = c.kit.ID, c.unit, c.Who.Platoon, c.Who.Person, c.Now
	check.Result = result
	if check.Answered() && check.Seal == "" && !check.Full {
		check.Lines = c.lines
	}
	entry := bot.NewEntry(checkKind, c.unit, c.Who.Person, c.Now, check)
	return Result{Posts: []Post{{Reply: c.reply(check)}}, Changes: []bot.Change{bot.Written{Entry: entry}}}, nil
}

// answered says whether the same was answered in this tour already: two who tap
// one button are one answer.
func (c checking) answered(result kit.CheckResult, check kit.Check) (say string, yes bool) {
	if len(c.past) == 0 {
		return "", false
	}
	last := c.past[len(c.past)-1]
	same := last.Result == result && last.Full == check.Full && last.Seal == check.Seal && last.Note == check.Note
	if !same || !c.Department.Rotation.TourAt(c.Now).Holds(last.At) || result == kit.Off {
		return "", false
	}
	return fmt.Sprintf("%s kit: noted already, %s: %s.", c.unitName(c.unit), c.day(last.At), c.resultWords(last)), true
}

func (c checking) reply(check kit.Check) bot.Reply {
	reply := bot.Reply{Text: fmt.Sprintf("%s kit: %s, %s.", c.unitName(c.unit), c.resultWords(check), c.day(c.Now))}
	tour := c.tourKey()
	switch {
	case check.Result == kit.NotToday && check.Note == "":
		reply.Text += " It counts as unknown, and the next platoon gets it. Why not today?"
		for _, why := range whyNot {
			reply.Buttons = append(reply.Buttons, bot.Button{Label: upperFirst(why), Value: checkValue(checkWhy, c.unit, tour, why)})
		}
	case check.Result == kit.NotToday:
		reply.Text += " It counts as unknown, and the next platoon gets it."
	case check.Result == kit.Off:
		reply.Text += " What is it? Tap it, or type it like this: film torn, one strap gone."
		for _, item := range c.lines {
			reply.Buttons = append(reply.Buttons, bot.Button{Label: upperFirst(c.itemName(item)), Value: checkValue(checkWhat, c.unit, tour, item)})
		}
	case check.Full && c.kit.Seal != "":
		reply.Text += fmt.Sprintf(" Put a new tag on and say its number: %s new tag 123456.", c.unitName(c.unit))
	case check.Seal != "" && c.sealDue():
		reply.Text += fmt.Sprintf(" It is time for a look inside all the same: break the tag, then type check %s.", c.unitName(c.unit))
	}
	if len(c.open) > 0 {
		reply.Text += fmt.Sprintf("\nStill open: %s. Is one back? Say: found it, and its name.", list(c.shortLines(c.open), "and"))
		for _, l := range c.open {
			if l.State == kit.Dropped {
				reply.Buttons = append(reply.Buttons, bot.Button{Label: fmt.Sprintf("#%d in the kit", l.Number), Value: queueValue("in", l.Number, l.Version)})
			}
		}
	}
	reply.Buttons = append(reply.Buttons, c.undoButton())
	return reply
}

// resultWords says what a check found.
func (r *Request) resultWords(check kit.Check) string {
	words := map[kit.CheckResult]string{
		kit.AllThere: "all there", kit.ButOpen: "all there but for what is open", kit.Off: "something is off",
		kit.NotToday: "no check this tour", kit.SealOpen: "unknown, its tag is broken or another",
	}[check.Result]
	switch {
	case check.Full:
		words = "every line looked at, " + words
	case check.Seal != "" && check.Result != kit.SealOpen:
		words += ", by tag " + check.Seal
	}
	if check.Note != "" {
		words += " (" + check.Note + ")"
	}
	return words
}

// everyLine is the whole list of a kit, to be gone through.
func (c checking) everyLine() bot.Reply {
	list, _ := c.Department.ListOf(c.kit)
	reply := bot.Reply{
		Title: fmt.Sprintf("Check of %s, kit %s", c.unitName(c.unit), c.kit.ID),
		Text:  "Go through every line. Look at edges, tips and handles, not only whether it is there.",
	}
	for _, l := range list.Lines {
		words := fmt.Sprintf("%d × %s", l.Qty, c.itemName(l.Item))
		if away := kit.LentOut(c.lent, c.kit.ID, l.Item); away > 0 {
			words += fmt.Sprintf(" (%d lent out)", away)
		}
		reply.Steps = append(reply.Steps, words)
	}
	reply.Buttons = []bot.Button{
		{Label: "Every line is there", Value: checkValue(checkFull, c.unit, c.tourKey(), "")},
		{Label: "Something's off", Value: checkValue(string(kit.Off), c.unit, c.tourKey(), "")},
		{Label: "Can't today", Value: checkValue(string(kit.NotToday), c.unit, c.tourKey(), "")},
	}
	if len(c.open) > 0 {
		reply.Fields = []bot.Field{{Name: "Open", Value: strings.Join(c.shortLines(c.open), "; ")}}
	}
	return reply
}

// askWrong asks what is wrong with an item that was tapped. The answers stand
// for typing a report, so that they are read and undone like one.
func (c checking) askWrong(item string) bot.Reply {
	name := c.itemName(item)
	reply := bot.Reply{Text: fmt.Sprintf("%s: what is wrong with the %s?", c.unitName(c.unit), name)}
	list, _ := c.Department.ListOf(c.kit)
	on, _ := list.Line(item)
	for _, wrong := range wrongs(nil) {
		if kit.Condition(wrong) == kit.Low && on.Qty < 2 {
			continue
		}
		reply.Buttons = append(reply.Buttons, typed(upperFirst(wrong), fmt.Sprintf("%s: %s %s", c.unitName(c.unit), name, wrong)))
	}
	return reply
}

// undoButton takes back what this event writes. Platforms whose event ids are
// too long for a button's value leave undo to the typed word.
func (r *Request) undoButton() bot.Button {
	value := "undo:" + r.saidBy()
	if len(value) > bot.MaxButtonValue {
		return typed("Undo", "undo")
	}
	return bot.Button{Label: "Undo", Value: value}
}

func (r *Request) openOn(ctx context.Context, kitID string) ([]kit.Line, error) {
	open, err := r.Books.OpenLines(ctx, r.Department.Slug)
	if err != nil {
		return nil, fmt.Errorf("read open lines: %w", err)
	}
	var on []kit.Line
	for _, l := range open {
		if l.Kit == kitID {
			on = append(on, l)
		}
	}
	return on, nil
}

func (r *Request) shortLines(lines []kit.Line) []string {
	out := make([]string, len(lines))
	for i, l := range lines {
		out[i] = fmt.Sprintf("#%d %s", l.Number, r.lineWords(l))
		if l.State != kit.Reported {
			out[i] += " (" + r.stateWords(l) + ")"
		}
	}
	return out
}

// tourKey names the tour that is on now.
func (r *Request) tourKey() string { return tourKey(r.Department.Rotation.TourAt(r.Now)) }

func tourKey(t schedule.Tour) string { return t.Platoon + t.Start.Format("20060102T1504") }
