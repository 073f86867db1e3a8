package command

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
	"kitbell/schedule"
)

// queueValue is a button of the queue: what to do, then to what.
func queueValue(what string, refs ...int) string {
	value := string(understand.Queue) + ":" + what
	for _, ref := range refs {
		value += ":" + strconv.Itoa(ref)
	}
	return value
}

// numberedLine finds a line that is asked for by its number alone.
var numberedLine = regexp.MustCompile(`^(?:queue|line|show line|show|status of|status)\s+(?:line\s+)?#?(\d{1,9})$`)

// A lineButton is a step of a line that a button stands for.
type lineButton struct {
	label string
	to    kit.State
}

// lineSteps are the steps by the word in their button.
var lineSteps = map[string]lineButton{
	"take":     {"Take it", kit.Taken},
	"order":    {"Ordered", kit.Ordered},
	"hand":     {"In hand", kit.InHand},
	"drop":     {"Dropped off", kit.Dropped},
	"in":       {"In the kit", kit.BackInKit},
	"no-fault": {"Not a fault", kit.NotAFault},
}

// ownPrefix begins the word of a button on a message that is about its line
// alone: a press on it changes that message, and no new one is posted.
const ownPrefix = "own-"

// pressQueue carries out a press about a line: queue:STEP:NUMBER:VERSION.
func (r *Request) pressQueue(ctx context.Context) (Result, error) {
	what, ref := press(r.Ref)
	what, own := strings.CutPrefix(what, ownPrefix)
	result, err := r.pressLine(ctx, what, ref)
	if !own {
		return result, err
	}
	if _, stands := asUserError(err); stands {
		return r.refreshed(ctx, ref, err)
	}
	for i := range result.Posts {
		result.Posts[i].OnPressed = i == 0
	}
	return result, err
}

// refreshed says why a press came to nothing, to whoever pressed. When the line
// has moved on since its message was written, the message that all see is
// brought up to date with it.
func (r *Request) refreshed(ctx context.Context, ref string, why error) (Result, error) {
	number, version := press(ref)
	version, _, _ = strings.Cut(version, ":")
	n, err := strconv.Atoi(number)
	if err != nil {
		return Result{}, why
	}
	line, err := r.line(ctx, n)
	if err != nil || version == strconv.Itoa(line.Version) {
		return Result{}, why
	}
	sentence, _ := asUserError(why)
	anybody := func(kit.Step) bool { return true } // the message is there for others too; who may is checked at the press
	now := bot.Reply{
		Text:    fmt.Sprintf("#%d %s: %s. %s.", line.Number, r.unitName(line.Unit), r.lineWords(line), upperFirst(r.stateWords(line))),
		Buttons: nextSteps(line, anybody),
	}
	return Result{Posts: []Post{{Reply: now, OnPressed: true}, {Reply: bot.Reply{Text: sentence, Private: true}}}}, nil
}

func (r *Request) pressLine(ctx context.Context, what, ref string) (Result, error) {
	parts := strings.Split(ref, ":")
	number, err := strconv.Atoi(parts[0])
	switch {
	case what == "bags":
		return r.bagList(ctx)
	case what == "dropped-at":
		return r.droppedAt(ctx, ref)
	case err != nil:
		return Result{}, bot.SayOldButton.With()
	case what == "see":
		return r.showLine(ctx, number)
	}
	version := 0
	if len(parts) > 1 {
		if version, err = strconv.Atoi(parts[1]); err != nil {
			return Result{}, bot.SayOldButton.With()
		}
	}
	switch step, ok := lineSteps[what]; {
	case ok:
		return r.stepLine(ctx, number, version, kit.Step{To: step.to})
	case what == "reopen":
		return r.reopenLine(ctx, number)
	case what == "found":
		return r.foundLine(ctx, number, version)
	case what == "where" && len(parts) > 2:
		return r.pressWhere(ctx, number, version, parts[2:])
	}
	return Result{}, bot.SayOldButton.With()
}

// stepLine makes one step of one line. version is the one that a button saw; 0
// when the step was typed.
func (r *Request) stepLine(ctx context.Context, number, version int, step kit.Step) (Result, error) {
	line, err := r.line(ctx, number)
	if err != nil {
		return Result{}, err
	}
	if step.To == "" && step.Where != "" && step.Where != kit.WrittenOff && line.Where == "" && line.State.Open() {
		version = 0 // where a thing is stays worth knowing, whatever became of its line
	}
	if version > 0 && line.Version != version && (line.State == step.To || step.To == "") {
		return Result{}, bot.SayLineSo.With(number, r.stateWords(line))
	}
	if version > 0 && line.Version != version {
		return Result{}, bot.SayLineMoved.With(number, r.stateWords(line), number)
	}
	if err := r.mayStep(line, step); err != nil {
		return Result{}, err
	}
	step.By, step.At = r.Who.Person, r.Now
	change, err := kit.Advance(line, step)
	if err != nil {
		return Result{}, r.stepRefused(line, err)
	}
	return r.stepped(change), nil
}

func (r *Request) line(ctx context.Context, number int) (kit.Line, error) {
	line, err := r.Books.Line(ctx, r.Department.Slug, number)
	if notFound(err) {
		return kit.Line{}, bot.SayNoLine.With(number)
	}
	if err != nil {
		return kit.Line{}, fmt.Errorf("read line %d: %w", number, err)
	}
	return line, nil
}

// mayStep says why the speaker cannot make a step. The quartermaster works the
// queue up to the station's door, and the crew closes the line there: two people
// have seen the thing.
func (r *Request) mayStep(line kit.Line, step kit.Step) error {
	member := r.Who
	switch {
	case !member.member():
		return bot.SayMembersOnly.With()
	case step.Where == kit.WrittenOff && !member.May(department.Officer):
		return bot.SayOfficerOnly.With()
	case step.To == kit.NotAFault && !member.May(department.Officer):
		return bot.SayOfficerOnly.With()
	case step.To == kit.BackInKit && member.May(department.Quartermaster) && member.Unit == "":
		return bot.SayCrewCloses.With(line.Number, line.Number)
	case step.To == kit.Taken, step.To == kit.Ordered, step.To == kit.InHand, step.To == kit.Dropped, step.Pieces > 0:
		if !member.May(department.Quartermaster) {
			return bot.SayQueueWhose.With()
		}
	}
	return nil
}

// stepRefused is the sentence for a step that a line does not take.
func (r *Request) stepRefused(line kit.Line, err error) error {
	switch {
	case errors.Is(err, kit.ErrClosed):
		return bot.SayLineClosed.With(line.Number, string(line.State), line.Number)
	case errors.Is(err, kit.ErrNothing):
		return bot.SayLineSo.With(line.Number, r.stateWords(line))
	case errors.Is(err, kit.ErrPieces):
		return bot.SayPieces.With(line.Number, line.Count-line.Received)
	}
	return fmt.Errorf("step line %d: %w", line.Number, err)
}

// stepped is what a step writes and says.
func (r *Request) stepped(c kit.Change) Result {
	reply := bot.Reply{Text: fmt.Sprintf("#%d %s: %s. %s.", c.New.Number, r.unitName(c.New.Unit), r.lineWords(c.New), upperFirst(r.lineStepWords(c)))}
	reply.Buttons = append(r.lineButtons(c.New), r.undoButton())
	if c.New.State == kit.Ordered && c.New.Expected.IsZero() {
		reply.Text += fmt.Sprintf(" Say the rest when you know it: %d ordered, PO 1234, here Friday, $31.", c.New.Number)
	}
	return Result{Posts: []Post{{Reply: reply}}, Changes: r.withNews(c)}
}

// fetchTopic begins the topic of a reminder of a thing that somebody was to
// fetch; its line's number follows.
const fetchTopic = "fetch"

// withNews is a step, and the word of it for the one who reported the line: that
// it is expected, that it waits at the station, that it is back.
func (r *Request) withNews(c kit.Change) []bot.Change {
	changes := []bot.Change{c}
	due := schedule.Due{
		Entry: fmt.Sprintf("line-%d", c.New.Number), Wall: fmt.Sprintf("v%d", c.New.Version), Kind: schedule.NewsDue,
		Unit: c.New.Unit, Topic: strconv.Itoa(c.New.Number), At: r.Now,
	}
	if fetch := c.New.FetchBy; !fetch.IsZero() && !fetch.Equal(c.Old.FetchBy) {
		reminder := due
		reminder.Entry, reminder.Topic, reminder.At = fmt.Sprintf("fetch-%d", c.New.Number), fmt.Sprintf("%s:%d", fetchTopic, c.New.Number), fetch
		changes = append(changes, schedule.Fell{Due: reminder})
	}
	switch {
	case c.New.State == kit.Dropped && c.Old.State != kit.Dropped: // whichever platoon is on puts it in the kit
	case c.New.By == r.Who.Person:
		return changes
	case c.New.State == kit.BackInKit && c.Old.State != kit.BackInKit, !c.New.Expected.Equal(c.Old.Expected) && c.New.State.Open():
		due.Platoon = c.New.Platoon
	default:
		return changes
	}
	return append(changes, schedule.Fell{Due: due})
}

// foundLine notes that another rig's missing thing was found: it is in hand with
// the finder, and its own crew closes the line once they have it.
func (r *Request) foundLine(ctx context.Context, number, version int) (Result, error) {
	if !r.Who.member() {
		return Result{}, bot.SayMembersOnly.With()
	}
	line, err := r.line(ctx, number)
	switch {
	case err != nil:
		return Result{}, err
	case line.Version != version:
		return Result{}, bot.SayLineMoved.With(number, r.stateWords(line), number)
	}
	finder := r.Who.Member.Name
	if r.Who.Unit != "" {
		finder = r.unitName(r.Who.Unit)
	}
	change, err := kit.Advance(line, kit.Step{To: kit.InHand, Note: "found, with " + finder, By: r.Who.Person, At: r.Now})
	if err != nil {
		return Result{}, r.stepRefused(line, err)
	}
	out := r.stepped(change)
	out.Posts[0].Reply.Text += fmt.Sprintf(" Bring it to %s: that crew closes the line when it is in the kit.", r.unitName(line.Unit))
	return out, nil
}

// reopenLine opens a closed line again.
func (r *Request) reopenLine(ctx context.Context, number int) (Result, error) {
	if !r.Who.member() {
		return Result{}, bot.SayMembersOnly.With()
	}
	line, err := r.line(ctx, number)
	if err != nil {
		return Result{}, err
	}
	change, err := kit.Reopen(line, r.Who.Person, r.Now)
	if err != nil {
		return Result{}, bot.SayLineOpen.With(number)
	}
	open, err := r.openOn(ctx, line.Kit)
	if err != nil {
		return Result{}, err
	}
	if other, ok := kit.Find(open, kit.Report{Kit: line.Kit, Item: line.Item, Condition: line.Condition}); ok {
		return Result{}, bot.SayReopenAgain.With(other.Number)
	}
	return r.stepped(change), nil
}

// lineButtons are the steps that the speaker may take next with a line.
func (r *Request) lineButtons(l kit.Line) []bot.Button {
	return nextSteps(l, func(step kit.Step) bool { return r.mayStep(l, step) == nil })
}

// nextSteps are the buttons of the steps that a line can take next.
func nextSteps(l kit.Line, may func(kit.Step) bool) []bot.Button {
	if !l.State.Open() {
		return []bot.Button{{Label: "Reopen", Value: queueValue(ownPrefix+"reopen", l.Number)}}
	}
	next := map[kit.State][]string{
		kit.Reported: {"take", "order", "hand"},
		kit.Taken:    {"order", "hand"},
		kit.Ordered:  {"hand"},
		kit.InHand:   {"drop"},
		kit.Dropped:  {"in"},
	}[l.State]
	var buttons []bot.Button
	for _, what := range append(next, "in", "no-fault") {
		step := lineSteps[what]
		value := queueValue(ownPrefix+what, l.Number, l.Version)
		if may(kit.Step{To: step.to}) && !hasButton(buttons, value) {
			buttons = append(buttons, bot.Button{Label: step.label, Value: value})
		}
	}
	return buttons
}

func hasButton(buttons []bot.Button, value string) bool {
	for _, b := range buttons {
		if b.Value == value {
			return true
		}
	}
	return false
}

// showLine tells one line's history, who did what and when, and what it costs.
func (r *Request) showLine(ctx context.Context, number int) (Result, error) {
	history, err := r.Books.History(ctx, r.Department.Slug, number)
	if notFound(err) || err == nil && len(history) == 0 {
		return Result{}, bot.SayNoLine.With(number)
	}
	if err != nil {
		return Result{}, fmt.Errorf("read line %d: %w", number, err)
	}
	last := history[len(history)-1].New
	ranked, err := r.ranked(ctx, []kit.Line{last})
	if err != nil {
		return Result{}, err
	}
	reply := bot.Reply{Title: fmt.Sprintf("#%d %s: %s", number, r.unitName(last.Unit), r.lineWords(last)), Buttons: r.lineButtons(last)}
	for _, c := range history {
		by, err := r.signed(ctx, c.By, c.At)
		if err != nil {
			return Result{}, err
		}
		reply.Steps = append(reply.Steps, fmt.Sprintf("%s: %s, %s", c.At.In(r.Department.Zone).Format("Mon 2 Jan 15:04"), r.lineStepWords(c), by))
	}
	if cost := ranked[0].cost; cost != "" && last.State.Open() {
		reply.Fields = append(reply.Fields, bot.Field{Name: "While it is open", Value: cost + ". By the door model, on assumed figures."})
	}
	if err := r.showPhotos(ctx, number, &reply); err != nil {
		return Result{}, err
	}
	return Answer(reply), nil
}

// lineStepWords says what a step did: the state, and what else it added.
func (r *Request) lineStepWords(c kit.Change) string {
	var words []string
	switch {
	case c.Verb == kit.Joined:
		words = append(words, fmt.Sprintf("reported again (%d reports)", c.New.Reports))
	case c.Verb == kit.Undone:
		words = append(words, "undone: "+string(c.New.State))
	case c.Verb == kit.Moved && !c.Old.State.Open():
		words = append(words, "opened again")
	case c.Verb != kit.Noted:
		words = append(words, string(c.New.State))
	}
	words = append(words, r.addedWords(c)...)
	if len(words) == 0 {
		return "noted"
	}
	return strings.Join(words, ", ")
}

// addedWords say what a step added to what is known of a line.
func (r *Request) addedWords(c kit.Change) []string {
	var words []string
	say := func(changed bool, format string, args ...any) {
		if changed {
			words = append(words, fmt.Sprintf(format, args...))
		}
	}
	was, is := c.Old, c.New
	say(is.Order != was.Order, "order %s", is.Order)
	say(!is.Expected.IsZero() && !is.Expected.Equal(was.Expected), "expected %s", r.dayOnly(is.Expected))
	say(is.Received > was.Received, "%d of %d came", is.Received, is.Count)
	say(is.Paid != was.Paid, "price %s", r.money(is.Paid-was.Paid))
	say(is.Where != was.Where, "%s", is.Where)
	say(is.Fetch != was.Fetch, "%s fetches it", is.Fetch)
	say(!is.FetchBy.IsZero() && !is.FetchBy.Equal(was.FetchBy), "by %s", r.dayOnly(is.FetchBy))
	say(is.Note != was.Note && is.Note != "", "%q", is.Note)
	return words
}

func (r *Request) dayOnly(t time.Time) string { return t.In(r.Department.Zone).Format("Mon 2 Jan") }

// money is an amount of the department's currency.
func (r *Request) money(cents int64) string {
	return money(cents, r.Department.Currency)
}
