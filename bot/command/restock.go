package command

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/door"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
	"kitbell/schedule"
)

// RestockCommand keeps the stations' shelves and puts what a call used up back
// into the kit before the rig is in service again.
func RestockCommand() Command {
	return Command{
		Name:    string(understand.Restock),
		Usage:   "took 2 films off the shelf, shelf, shelf at 4 has 6 wood wedges, minimum 4",
		For:     department.Quartermaster,
		Summary: "Restock a kit from the station's shelf, see or count the shelf.",
		Run:     restock,
	}
}

// shelfKind is the journal's word for what happened to a shelf.
const shelfKind = "shelf"

func (r *Request) shelves(ctx context.Context) (map[string][]kit.Stock, error) {
	return fold(ctx, r, shelfKind, func(entries []bot.Entry) (map[string][]kit.Stock, error) {
		steps, err := bodies[kit.ShelfStep](entries)
		return kit.Shelves(steps), err
	})
}

var (
	shelfCounted = regexp.MustCompile(`(?i)\b(?:has|have|counted|holds|now|there (?:are|is))\b`)
	shelfMinimum = regexp.MustCompile(`(?i)\b(?:min|minimum|at least)\b\D{0,6}(\d{1,3})`)
)

func restock(ctx context.Context, r *Request) (Result, error) {
	if !r.Who.member() {
		return Result{}, bot.SayMembersOnly.With()
	}
	shelves, err := r.shelves(ctx)
	if err != nil {
		return Result{}, err
	}
	if r.Verb != "" {
		return r.pressRestock(ctx, shelves)
	}
	station := r.Reading.Station
	if station == "" {
		station = r.station()
	}
	said := r.Event.Text
	switch {
	case len(r.Reading.Items) == 0:
		return r.showShelf(shelves, station)
	case station == "":
		return Result{}, bot.SayShelfWhich.With()
	case negative.MatchString(said):
		return Result{}, bot.SayShelfCount.With()
	case shelfMinimum.MatchString(said), strings.Contains(strings.ToLower(said), "shelf") && shelfCounted.MatchString(said):
		return r.countShelf(station), nil
	}
	return r.fromShelf(ctx, shelves, station)
}

// showShelf lists what a station's shelf holds, or which shelves are low.
func (r *Request) showShelf(shelves map[string][]kit.Stock, station string) (Result, error) {
	if station == "" {
		return Result{}, bot.SayShelfWhich.With()
	}
	s, _ := r.Department.Station(station)
	reply := bot.Reply{Title: "Shelf at " + s.Name}
	for _, stock := range shelves[station] {
		reply.Steps = append(reply.Steps, r.stockWords(stock))
	}
	if len(reply.Steps) == 0 {
		reply.Text = "Nobody has counted it yet. Say what is there: shelf has 6 wood wedges, minimum 4."
	}
	return Answer(reply), nil
}

func (r *Request) stockWords(s kit.Stock) string {
	words := fmt.Sprintf("%d × %s", s.Count, r.itemName(s.Item))
	switch {
	case !s.Known:
		words = r.itemName(s.Item) + ": not counted"
	case s.Low():
		words += fmt.Sprintf(", below its minimum of %d", s.Minimum)
	case s.Minimum > 0:
		words += fmt.Sprintf(", minimum %d", s.Minimum)
	}
	return words
}

// countShelf notes what somebody counted on a shelf, and the least that should
// be there.
func (r *Request) countShelf(station string) Result {
	item := r.Reading.Items[0]
	step := kit.ShelfStep{Station: station, Item: item}
	if m := shelfMinimum.FindStringSubmatch(r.Event.Text); m != nil {
		n, _ := strconv.Atoi(m[1])
		step.Minimum = &n
	}
	rest := shelfMinimum.ReplaceAllString(r.Event.Text, " ")
	if shelfCounted.MatchString(rest) {
		n := 0
		if !noneWords.MatchString(rest) {
			n = r.countIn(rest)
		}
		step.Counted = &n
	}
	s, _ := r.Department.Station(station)
	text := "Shelf at " + s.Name + ", " + r.itemName(item)
	if step.Counted != nil {
		text += fmt.Sprintf(": %d there", *step.Counted)
	}
	if step.Minimum != nil {
		text += fmt.Sprintf(", minimum %d", *step.Minimum)
	}
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text + ".", Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{r.shelfStep(step)},
	}
}

var negative = regexp.MustCompile(`(?:^|\s)[-−]\d`)

var noneWords = regexp.MustCompile(`(?i)\b(?:no|none|zero|0)\b`)

func (r *Request) shelfStep(step kit.ShelfStep) bot.Change {
	return bot.Written{Entry: bot.NewEntry(shelfKind, step.Station, r.Who.Person, r.Now, step)}
}

// fromShelf puts what is named from the shelf into the speaker's kit.
func (r *Request) fromShelf(ctx context.Context, shelves map[string][]kit.Stock, station string) (Result, error) {
	unit := r.Reading.Unit
	if unit == "" {
		unit = r.Who.Unit
	}
	k, err := r.kitOn(ctx, unit)
	if err != nil {
		return Result{}, err
	}
	var out Result
	var said []string
	for _, item := range r.Reading.Items {
		n, err := r.piecesSaid(ctx, k, item)
		if err != nil {
			return Result{}, err
		}
		list, _ := r.Department.ListOf(k)
		if on, listed := list.Line(item); listed && n > on.Qty {
			return Result{}, bot.SayCount.With(n, r.itemName(item), on.Qty)
		}
		words, changes, err := r.refill(ctx, shelves, station, k, unit, item, n)
		if err != nil {
			return Result{}, err
		}
		said, out.Changes = append(said, words), append(out.Changes, changes...)
	}
	out.Posts = []Post{{Reply: bot.Reply{Text: strings.Join(said, "\n"), Buttons: []bot.Button{r.undoButton()}}}}
	return out, nil
}

// piecesSaid is how many pieces of an item a message speaks of; without a number
// as many as the kit is known to lack.
func (r *Request) piecesSaid(ctx context.Context, k kit.Kit, item string) (int, error) {
	if len(r.Reading.Items) == 1 && countWords.MatchString(unitNumbers.ReplaceAllString(r.Event.Text, " ")) {
		return r.countIn(r.Event.Text), nil
	}
	open, err := r.openOn(ctx, k.ID)
	if err != nil {
		return 0, err
	}
	if short, ok := kit.Find(open, kit.Report{Kit: k.ID, Item: item, Condition: kit.Missing}); ok {
		return short.Count, nil
	}
	return 1, nil
}

// refill takes pieces from a shelf into a kit. The kit's open line about them is
// closed when they are as many as it lacks.
func (r *Request) refill(ctx context.Context, shelves map[string][]kit.Stock, station string, k kit.Kit, unit, item string, n int) (string, []bot.Change, error) {
	s, _ := r.Department.Station(station)
	stock := kit.On(shelves[station], item)
	changes := []bot.Change{r.shelfStep(kit.ShelfStep{Station: station, Item: item, Change: -n, Kit: k.ID})}
	words := fmt.Sprintf("%d × %s from the shelf at %s into %s.", n, r.itemName(item), s.Name, r.unitName(unit))
	left := stock.Count - n
	switch {
	case !stock.Known:
		words += " The shelf was never counted: say what is left there."
	case left < 0:
		words += fmt.Sprintf(" By the count there were %d: count again, please.", stock.Count)
	case left < stock.Minimum:
		words += fmt.Sprintf(" %d left, below the minimum of %d. The quartermaster sees it in the digest.", left, stock.Minimum)
	default:
		words += fmt.Sprintf(" %d left.", left)
	}
	open, err := r.openOn(ctx, k.ID)
	if err != nil {
		return "", nil, err
	}
	short, ok := kit.Find(open, kit.Report{Kit: k.ID, Item: item, Condition: kit.Missing})
	switch {
	case ok && n >= short.Count:
		change, err := kit.Advance(short, kit.Step{To: kit.BackInKit, Note: "from the shelf", By: r.Who.Person, At: r.Now})
		if err != nil {
			return "", nil, r.stepRefused(short, err)
		}
		changes = append(changes, r.withNews(change)...)
		words += fmt.Sprintf(" #%d is closed.", short.Number)
	case ok:
		words += fmt.Sprintf(" #%d stays open: it lacks %d.", short.Number, short.Count)
	}
	return words, changes, nil
}

// A restock's button is restock:WHAT:UNIT:ITEM. One tap is one piece.
const (
	usedUpWhat = "used"  // one piece was used up
	tookWhat   = "took"  // one from the shelf took its place
	shortWhat  = "short" // none took its place: the rig rides short
	doneWhat   = "done"  // nothing else was used up
)

func restockValue(what, unit, item string) string {
	return strings.Join([]string{string(understand.Restock), what, unit, item}, ":")
}

// pressRestock takes the officer through what a call used up.
func (r *Request) pressRestock(ctx context.Context, shelves map[string][]kit.Stock) (Result, error) {
	parts := append(strings.SplitN(r.Ref, ":", 3), "", "")
	what, unit, item := parts[0], parts[1], parts[2]
	if what == "shelf" {
		return r.showShelf(shelves, r.station())
	}
	k, err := r.kitOn(ctx, unit)
	if err != nil {
		return Result{}, err
	}
	list, _ := r.Department.ListOf(k)
	if _, listed := list.Line(item); !listed && what != doneWhat {
		return Result{}, bot.SayOldButton.With()
	}
	u, _ := r.Department.Unit(unit)
	switch what {
	case usedUpWhat:
		return Answer(r.askShelf(kit.On(shelves[u.Station], item), unit, item)), nil
	case tookWhat:
		words, changes, err := r.refill(ctx, shelves, u.Station, k, unit, item, 1)
		if err != nil {
			return Result{}, err
		}
		reply := bot.Reply{Text: words, Buttons: append(r.usedUpButtons(k, unit), r.undoButton())}
		return Result{Posts: []Post{{Reply: reply}}, Changes: changes}, nil
	case shortWhat:
		return r.rideShort(ctx, k, unit, item)
	case doneWhat:
		return Answer(bot.Reply{Text: fmt.Sprintf("Then look through %s once before you are back in service.", r.unitName(unit)), Buttons: checkButtons(strings.TrimSpace(r.unitName(unit)+" "+r.Who.Platoon), unit, r.tourKey())}), nil
	}
	return Result{}, bot.SayOldButton.With()
}

// askShelf asks where the piece comes from that takes a used one's place. An
// empty shelf is not asked about.
func (r *Request) askShelf(stock kit.Stock, unit, item string) bot.Reply {
	name := r.itemName(item)
	reply := bot.Reply{Text: fmt.Sprintf("1 × %s used up. Take one from the shelf.", name)}
	took := bot.Button{Label: "Took one", Value: restockValue(tookWhat, unit, item)}
	short := bot.Button{Label: "We ride short", Value: restockValue(shortWhat, unit, item)}
	switch {
	case stock.Known && stock.Count == 0:
		reply.Text = fmt.Sprintf("1 × %s used up. By the count the shelf has none.", name)
		reply.Buttons = []bot.Button{short, took}
	case stock.Known:
		reply.Text = fmt.Sprintf("1 × %s used up. The shelf has %d: take one.", name, stock.Count)
		fallthrough
	default:
		reply.Buttons = []bot.Button{took, short}
	}
	return reply
}

// rideShort opens a line for a piece that nothing took the place of, one more
// where there is one, and says what the crew then cannot open.
func (r *Request) rideShort(ctx context.Context, k kit.Kit, unit, item string) (Result, error) {
	f := filing{Request: r}
	if err := f.read(ctx); err != nil {
		return Result{}, err
	}
	count := 1
	if same, ok := kit.Find(f.open, kit.Report{Kit: k.ID, Item: item, Condition: kit.Low}); ok {
		count = same.Count + 1
	}
	change, err := f.change(ctx, understand.Line{Unit: unit, Item: item, Condition: kit.Low, Count: count})
	var refused *bot.UserError
	if errors.As(err, &refused) {
		return Result{}, bot.SayShortAlready.With(r.itemName(item))
	}
	if err != nil {
		return Result{}, err
	}
	list, _ := r.Department.ListOf(k)
	if on, _ := list.Line(item); change.New.Count >= on.Qty {
		change.New.Condition = kit.Missing // low, down to none, is gone
	}
	cannot, err := r.cannotNow(ctx, k, replaceLine(f.open, change.New))
	if err != nil {
		return Result{}, err
	}
	reply := bot.Reply{Text: fmt.Sprintf("%s rides short: %s (#%d). %s", r.unitName(unit), r.lineWords(change.New), change.New.Number, cannot)}
	reply.Buttons = append(r.usedUpButtons(k, unit), r.undoButton())
	return Result{Posts: []Post{{Reply: reply}}, Changes: r.withNews(change)}, nil
}

// cannotNow says what a kit with these lines cannot open.
func (r *Request) cannotNow(ctx context.Context, k kit.Kit, open []kit.Line) (string, error) {
	doors, err := r.learnedDoors(ctx)
	if err != nil {
		return "", err
	}
	var on []kit.Line
	for _, l := range open {
		if l.Kit == k.ID {
			on = append(on, l)
		}
	}
	tools, err := r.handy(ctx, k, on)
	if err != nil {
		return "", err
	}
	names := doors.CannotDo(tools, r.CompleteKit(k.List))
	if len(names) == 0 {
		return "It still opens what a full kit does.", nil
	}
	return "Cannot do now: " + strings.Join(names, "; ") + " (not without a lasting mark, by the door model's assumed figures).", nil
}

// handy is what can be used of a kit now.
func (r *Request) handy(ctx context.Context, k kit.Kit, open []kit.Line) (door.Tools, error) {
	stops, err := r.stopUses(ctx)
	if err != nil {
		return nil, err
	}
	loans, err := r.loans(ctx)
	if err != nil {
		return nil, err
	}
	return r.toolsOf(k, open, stops, loans), nil
}

// usedUpButtons ask what else of a kit was used up.
func (r *Request) usedUpButtons(k kit.Kit, unit string) []bot.Button {
	list, _ := r.Department.ListOf(k)
	var buttons []bot.Button
	for _, l := range list.Lines {
		if l.Consumable {
			buttons = append(buttons, bot.Button{Label: "Used: " + r.itemName(l.Item), Value: restockValue(usedUpWhat, unit, l.Item)})
		}
	}
	return append(buttons, bot.Button{Label: "Nothing more", Value: restockValue(doneWhat, unit, "")})
}

// afterUse asks, once a use is told, what it used up, and makes a look through
// the kit due: within a day of a use is a rule in places and common practice
// elsewhere.
func (r *Request) afterUse(ctx context.Context, result Result, u use) (Result, error) {
	if u.Practice || u.Unit == "" || u.OnScene {
		return result, nil
	}
	k, ok, err := r.firstKitOn(ctx, u.Unit)
	if err != nil || !ok {
		return result, err
	}
	reply := &result.Posts[0].Reply
	reply.Text += " Before you are back in service: what did it use up?"
	reply.Buttons = append(r.usedUpButtons(k, u.Unit), reply.Buttons...)
	due := schedule.Due{Entry: "use", Wall: r.Now.UTC().Format("2006-01-02T15:04:05.000"), Unit: u.Unit, Kind: schedule.CheckDue, Topic: afterUseTopic, At: r.Now}
	result.Changes = append(result.Changes, schedule.Fell{Due: due})
	return result, nil
}
