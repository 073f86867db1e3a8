package command

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"kitbell/bot"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
)

// ReportCommand puts what a crew says is wrong into the queue.
func ReportCommand() Command {
	return Command{
		Name:    string(understand.Report),
		Usage:   "{rig} is missing the small hook",
		Summary: "Report what is missing, broken or low. It joins the queue.",
		Run:     reportLines,
	}
}

// ResolvedCommand closes lines of things that turned up.
func ResolvedCommand() Command {
	return Command{
		Name:    string(understand.Resolved),
		Usage:   "found the small hook",
		Summary: "Say that something is back in the kit. Its line closes.",
		Run:     reportLines,
	}
}

// reportLines files every line of the reading. A line that cannot be filed is
// said beside those that were; what has to be asked first is asked with buttons.
func reportLines(ctx context.Context, r *Request) (Result, error) {
	if r.failedTry() {
		return r.askFailedTry(), nil
	}
	r.Memory.Pending = r.Reading.Pending
	if len(r.Reading.Lines) == 0 {
		return r.askBack()
	}
	if r.Verb == "" && negative.MatchString(r.Event.Text) {
		return Result{}, bot.SayBelowOne.With()
	}
	f := filing{Request: r}
	if err := f.read(ctx); err != nil {
		return Result{}, err
	}
	for _, line := range r.Reading.Lines {
		if err := f.file(ctx, line); err != nil {
			return Result{}, err
		}
	}
	r.Memory.Last = r.Reading.Lines
	return f.result()
}

// failedTry says whether the message may as well tell of a try at a door as of a
// broken tool: "the blade did not work", with no rig and no door at hand.
func (r *Request) failedTry() bool {
	said := r.Reading
	return r.Verb == "" && said.Intent == understand.Report && said.Outcome == understand.NotYet && !said.UnitNamed &&
		len(said.Lines) == 1 && said.Lines[0].Condition == kit.Damaged && r.Memory.Running == nil
}

// askFailedTry asks which of the two it is: a guess would either book a fault
// or lose one.
func (r *Request) askFailedTry() Result {
	name := r.itemName(r.Reading.Lines[0].Item)
	return Say("Did the "+name+" fail at a door, or is it broken?",
		bot.Button{Label: "We are at a door", Value: doorStart}, typed("It failed on a call", "used the "+name+", did not open"), typed("It is broken", name+" is broken"))
}

// filing is one message's lines on their way into the queue.
type filing struct {
	*Request
	open    []kit.Line
	changes []kit.Change
	refused []string
	others  []kit.Line // open lines of other kits that a found thing may belong to
}

func (f *filing) read(ctx context.Context) (err error) {
	if f.open, err = f.Books.OpenLines(ctx, f.Department.Slug); err != nil {
		return fmt.Errorf("read open lines: %w", err)
	}
	return nil
}

// file works one line out. A *bot.UserError refuses this line only.
func (f *filing) file(ctx context.Context, line understand.Line) error {
	change, err := f.change(ctx, line)
	var refused *bot.UserError
	if errors.As(err, &refused) {
		f.refused = append(f.refused, refused.Say)
		return nil
	}
	if err != nil {
		return err
	}
	f.changes = append(f.changes, change)
	f.open = replaceLine(f.open, change.New)
	return nil
}

func (f *filing) change(ctx context.Context, line understand.Line) (kit.Change, error) {
	k, err := f.kitOn(ctx, line.Unit)
	if err != nil {
		return kit.Change{}, err
	}
	if line.Condition == kit.Resolved {
		if !f.Who.member() {
			return kit.Change{}, bot.SayMembersOnly.With()
		}
		change, ok := kit.Close(f.open, k.ID, line.Item, kit.BackInKit, f.Who.Person, f.Now)
		if !ok {
			return kit.Change{}, f.foundElsewhere(line)
		}
		return change, nil
	}
	if err := f.listed(k, line); err != nil {
		return kit.Change{}, err
	}
	count, err := f.tally(k, line)
	if err != nil {
		return kit.Change{}, err
	}
	report := kit.Report{
		Kit: k.ID, Unit: line.Unit, Item: line.Item, Condition: line.Condition, Count: count,
		By: f.Who.Person, Platoon: f.Who.Platoon, At: f.Now,
	}
	report.Note = f.form.note
	if same, ok := kit.Find(f.open, report); ok {
		return kit.Join(same, report), nil
	}
	number, err := f.Books.NextNumber(ctx, f.Department.Slug)
	if err != nil {
		return kit.Change{}, fmt.Errorf("take a line number: %w", err)
	}
	return kit.Open(report, number), nil
}

// foundElsewhere looks for another kit that lacks what was found: a hook from a
// scene is some rig's. Whose it is is asked, never guessed.
func (f *filing) foundElsewhere(line understand.Line) error {
	others := len(f.others)
	for _, l := range f.open {
		if l.Item == line.Item && l.Condition == kit.Missing && l.State.Open() && l.Unit != line.Unit {
			f.others = append(f.others, l)
		}
	}
	if len(f.others) > others {
		return bot.SayWhoseFound.With(f.unitName(line.Unit), f.itemName(line.Item))
	}
	return bot.SayNothingOpen.With(f.itemName(line.Item), f.unitName(line.Unit))
}

// listed says why a kit cannot be short of an item, or why it is nothing to mend:
// its list does not have it. A crew may carry more than the list, so too many of
// something is theirs to tell.
func (f *filing) listed(k kit.Kit, line understand.Line) error {
	list, ok := f.Department.ListOf(k)
	if _, listed := list.Line(line.Item); !ok || listed || line.Condition == kit.Extra || line.Condition == kit.Wrong {
		return nil
	}
	for _, l := range f.Department.Lists {
		if _, later := l.Line(line.Item); later && l.Version > k.List && l.Version <= f.Department.InForce {
			return bot.SayLaterList.With(f.itemName(line.Item), f.unitName(line.Unit), l.Version)
		}
	}
	return bot.SayNotOnList.With(f.itemName(line.Item), f.unitName(line.Unit), k.List)
}

// tally checks a count against the list that the kit is packed to. Too many of
// an item is not bounded by it.
func (f *filing) tally(k kit.Kit, line understand.Line) (int, error) {
	qty := 0
	if list, ok := f.Department.List(k.List); ok && line.Condition != kit.Extra {
		if on, ok := list.Line(line.Item); ok {
			qty = on.Qty
		}
	}
	count, err := kit.Tally(line.Count, qty)
	if err != nil {
		return 0, bot.SayCount.With(line.Count, f.itemName(line.Item), max(qty, 1))
	}
	return count, nil
}

// result says what was done, one short line each, and offers undo.
func (f *filing) result() (Result, error) {
	var said []string
	var out Result
	for _, c := range f.changes {
		said = append(said, f.confirm(c))
		out.Changes = append(out.Changes, f.withNews(c)...)
	}
	said = append(said, f.refused...)
	reply := bot.Reply{Text: strings.Join(said, "\n")}
	if len(f.changes) > 0 {
		reply.Buttons = []bot.Button{f.undoButton()}
	}
	if len(f.changes) == 1 {
		question, where := f.askWhere(f.changes[0].New, len(said) == 1 && len(f.others) == 0 && len(f.Reading.AskBack) == 0)
		reply.Text += question
		reply.Buttons = append(where, reply.Buttons...)
	}
	for i, l := range f.others {
		if i < mostChoices {
			reply.Buttons = append(reply.Buttons, bot.Button{Label: fmt.Sprintf("#%d %s", l.Number, f.unitName(l.Unit)), Value: queueValue("found", l.Number, l.Version)})
		}
	}
	if rest := f.stillOpen(); rest.Text != "" {
		reply.Text += "\n" + rest.Text
		reply.Buttons = append(rest.Buttons, reply.Buttons...)
	}
	out.Posts = []Post{{Reply: reply}}
	return out, nil
}

// stillOpen asks for what the rest of the message left open, if anything.
func (f *filing) stillOpen() bot.Reply {
	if len(f.Reading.AskBack) == 0 {
		return bot.Reply{}
	}
	return f.question(f.Reading.AskBack[0])
}

// confirm is one line of at most 15 words.
func (f *filing) confirm(c kit.Change) string {
	about := fmt.Sprintf("#%d %s: %s", c.New.Number, f.unitName(c.New.Unit), f.lineWords(c.New))
	switch {
	case c.Verb == kit.Joined:
		return fmt.Sprintf("%s. Open already, reported %d times.", about, c.New.Reports)
	case c.New.State == kit.BackInKit:
		return fmt.Sprintf("#%d %s: %s is back in the kit. Closed.", c.New.Number, f.unitName(c.New.Unit), f.itemName(c.New.Item))
	}
	return about + ". In the queue."
}

func replaceLine(lines []kit.Line, with kit.Line) []kit.Line {
	for i, l := range lines {
		if l.Number == with.Number {
			lines[i] = with
			return lines
		}
	}
	return append(lines, with)
}
