package command

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/door"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
)

// Doors plans doors for one department; in memory, any goroutine.
type Doors interface {
	// Plan orders what a crew can do at a door. The error names a fact whose
	// value is none.
	Plan(request door.Request) (door.Plan, error)
	// CannotDo names the doors that the complete kit opens without lasting
	// mark and these tools do not.
	CannotDo(tools, complete door.Tools) []string
}

// DoorCommand plans the door that a crew stands at, and follows it until it is
// open.
func DoorCommand() Command {
	return Command{
		Name:    string(understand.Door),
		Usage:   "pull door, plate over the latch, lift assist",
		Summary: "Say what you see of a door. You get the next thing to try.",
		Private: true,
		Run:     planReply,
	}
}

// firstLine stands above every plan.
const firstLine = "First: right address and door? Announced? Handle, key box, keyholder, another door, a window."

// Running is the door that a conversation is working on.
type Running struct {
	Facts door.Facts `json:"facts"`
	Way   string     `json:"way,omitempty"` // the attempt that the crew was told to make
	Began time.Time  `json:"began"`
}

func planReply(ctx context.Context, r *Request) (Result, error) {
	if !r.Who.member() {
		return Result{}, bot.SayNoTechnique.With()
	}
	if r.Verb != "" {
		if r.Memory.Running == nil {
			return Result{}, bot.SayOldButton.With()
		}
		if result, done, err := r.pressDoor(ctx); done || err != nil {
			return result, err
		}
	}
	if r.Reading.Outcome == understand.Opened && r.Memory.Running != nil {
		return r.doorOpened(), nil
	}
	plan, err := r.Plan()
	if err != nil {
		return Result{}, err
	}
	r.follow(plan)
	return Answer(r.doorReply(plan)), nil
}

// pressDoor carries out a press on a plan. done is false when the plan is to be
// shown anew, with what the press said.
func (r *Request) pressDoor(ctx context.Context) (result Result, done bool, err error) {
	verb, ref := press(r.Ref)
	switch verb {
	case "opened":
		return r.doorOpened(), true, nil
	case "why":
		result, err = r.doorWhy(ctx)
		return result, true, err
	case "not-yet":
		r.Reading.Outcome = understand.NotYet
	case "down":
		r.Reading.Down = true
	case "set":
		fact, value := press(ref)
		if err := r.Reading.Door.Set(door.Fact(fact), value); err != nil {
			return Result{}, true, bot.SayOldButton.With()
		}
	default:
		return Result{}, true, bot.SayOldButton.With()
	}
	return Result{}, false, nil
}

// knownFacts is the door as it is known now: what was said before in this
// conversation, and what this message adds or corrects. A message that
// describes a whole door begins a new one.
func (r *Request) knownFacts() door.Facts {
	said := r.Reading.Door
	if r.Reading.Down {
		said.Urgency = door.UrgencyLife
	}
	running := r.Memory.Running
	if running == nil || r.Verb == "" && describesDoor(said) && r.Reading.Outcome == "" {
		return said
	}
	facts := door.Merge(running.Facts, said)
	if r.Reading.Outcome == understand.NotYet && running.Way != "" && !slices.Contains(facts.Failed, running.Way) {
		facts.Failed = append(facts.Failed, running.Way)
	}
	return facts
}

// wholeDoor is how many facts make a message a description of a door rather
// than a remark about the one at hand.
const wholeDoor = 3

func describesDoor(f door.Facts) bool {
	n := 0
	for _, fact := range door.AllFacts() {
		if f.Value(fact) != "" {
			n++
		}
	}
	return n >= wholeDoor
}

// planDoor plans the door with the tools of the speaker's kit as the queue
// knows it.
func (r *Request) planDoor(ctx context.Context) (door.Plan, error) {
	tools, err := r.tools(ctx)
	if err != nil {
		return door.Plan{}, err
	}
	request := door.Request{Facts: r.facts(), Tools: tools, Barred: make(map[string]string)}
	for _, id := range r.Department.Forbids {
		request.Barred[id] = "The department does not allow it."
	}
	if running := r.Memory.Running; running != nil {
		request.Minutes = r.Now.Sub(running.Began).Minutes()
	}
	plan, err := r.Doors.Plan(request)
	if err != nil {
		return door.Plan{}, fmt.Errorf("plan door: %w", err)
	}
	return plan, nil
}

// tools are what the speaker's rig has at hand: its kit less what the queue
// says is gone or unfit, and what every rig carries. A speaker without a rig
// gets the complete list in force.
func (r *Request) tools(ctx context.Context) (door.Tools, error) {
	k, ok := r.Department.KitOf(r.Who.Unit)
	if !ok {
		return r.complete(r.Department.InForce), nil
	}
	open, err := r.openOn(ctx, k.ID)
	if err != nil {
		return nil, err
	}
	return r.toolsOf(k, open), nil
}

// toolsOf is what a kit can be used for with its open lines.
func (r *Request) toolsOf(k kit.Kit, open []kit.Line) door.Tools {
	tools := r.complete(k.List)
	list, _ := r.Department.ListOf(k)
	for _, l := range open {
		on, listed := list.Line(l.Item)
		if !listed || !unfit(l.Condition) || l.Count < on.Qty {
			continue
		}
		tools[l.Item] = fmt.Sprintf("The %s is reported %s (#%d).", r.itemName(l.Item), l.Condition, l.Number)
	}
	return tools
}

// complete is a complete kit of a list version, with what rides on every rig.
func (r *Request) complete(version int) door.Tools {
	tools := door.NewTools(r.Department.OnEvery...)
	list, _ := r.Department.List(version)
	for _, l := range list.Lines {
		tools[l.Item] = ""
	}
	return tools
}

// unfit says whether an item in this condition is no help at a door.
func unfit(c kit.Condition) bool {
	switch c {
	case kit.Missing, kit.Damaged, kit.Expired, kit.Wrong:
		return true
	}
	return false
}

// cannotOpen says in words what a kit cannot do with what is open on it.
func (r *Request) cannotOpen(_ context.Context, k kit.Kit, open []kit.Line) string {
	return strings.Join(r.Doors.CannotDo(r.toolsOf(k, open), r.complete(k.List)), "; ")
}

// follow remembers the door and the attempt that the crew is told to make.
func (r *Request) follow(plan door.Plan) {
	running := &Running{Facts: r.facts(), Began: r.Now}
	if r.Memory.Running != nil && (r.Verb != "" || !describesDoor(r.Reading.Door)) {
		running.Began = r.Memory.Running.Began
	}
	if step, ok := firstAttempt(plan.Steps); ok {
		running.Way = step.Way()
	}
	r.Memory.Running = running
	r.Memory.Door = &running.Facts
}

func firstAttempt(steps []door.Step) (door.Step, bool) {
	for _, s := range steps {
		if s.Kind == door.Attempt {
			return s, true
		}
	}
	return door.Step{}, false
}

// doorOpened notes the time and the attempt, and what is left to do.
func (r *Request) doorOpened() Result {
	running := r.Memory.Running
	body := use{Use: understand.Use{Outcome: understand.Opened}, Unit: r.Who.Unit, Platoon: r.Who.Platoon, Facts: running.Facts}
	body.Technique, _, _ = strings.Cut(running.Way, "/")
	entry := bot.NewEntry(useKind, body.Technique, r.Who.Person, r.Now, body)
	r.Memory.Running, r.Memory.Door = nil, nil
	text := "Open. Strap or chock it, or keep somebody on the door. Leave it secure after the call.\n" +
		"Back on the rig, tell me how it went: used the film, second try, no mark."
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: entry}},
	}
}

// doorReply is the plan for a person at a door: what to do now, one caution,
// when to stop, what is next.
func (r *Request) doorReply(plan door.Plan) bot.Reply {
	reply := bot.Reply{Text: firstLine}
	if r.facts().Assumed().Urgency == door.UrgencyLife {
		reply.Text = "Life at stake: force it. Damage does not count. The officer in charge decides."
	}
	for _, c := range plan.Contradictions {
		reply.Text += "\n" + c.Say
	}
	now, next := nowAndNext(plan.Steps)
	for _, s := range now {
		reply.Steps = append(reply.Steps, r.stepWords(s))
	}
	if len(now) > 0 {
		last := now[len(now)-1]
		reply.Fields = append(reply.Fields, bot.Field{Name: "Caution", Value: last.Caution})
		if last.Tries > 0 {
			reply.Fields = append(reply.Fields, bot.Field{Name: "Stop", Value: "after " + triesWords(last.Tries)})
		}
	}
	if next != "" {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Then", Value: next})
	}
	reply.Fields = append(reply.Fields, bot.Field{Name: "I understood", Value: factsWords(r.facts())})
	if plan.ForceNow {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Officer", Value: "force now?"})
	}
	reply.Buttons = []bot.Button{{Label: "Opened", Value: "door:opened"}, {Label: "Not yet", Value: "door:not-yet"}, {Label: "Somebody's down", Value: "door:down"}}
	r.addLook(&reply, plan.Look)
	reply.Buttons = append(reply.Buttons, bot.Button{Label: "Why", Value: "door:why"})
	return reply
}

func triesWords(n int) string {
	if n == 1 {
		return "1 try"
	}
	return fmt.Sprintf("%d tries", n)
}

// nowAndNext splits a plan into what to do now, up to and with the first
// attempt, and the name of the attempt after it.
func nowAndNext(steps []door.Step) (now []door.Step, next string) {
	done := false
	for _, s := range steps {
		switch {
		case s.Kind == door.Attempt && done:
			return now, lowerFirst(s.Title)
		case s.Kind == door.Before || done:
			continue
		}
		now = append(now, s)
		done = s.Kind == door.Attempt
	}
	return now, ""
}

// stepWords is a step in one line: the tool and the move.
func (r *Request) stepWords(s door.Step) string {
	words := s.Move
	if words == "" {
		words = s.Title + "."
	}
	if len(s.Tools) == 0 {
		return words
	}
	names := make([]string, len(s.Tools))
	for i, t := range s.Tools {
		names[i] = r.itemName(t)
	}
	return upperFirst(list(names, "and")) + ": " + lowerFirst(words)
}

// addLook asks the one question whose answer saves most, with its answers as
// buttons.
func (r *Request) addLook(reply *bot.Reply, look *door.Look) {
	if look == nil {
		return
	}
	value := fmt.Sprintf("%s It saves about %.1f minutes (assumed).", lookWords(look.Fact), look.SavesMinutes)
	reply.Fields = append(reply.Fields, bot.Field{Name: "Look first", Value: value})
	for _, v := range look.Values {
		if len(reply.Buttons) < mostChoices+3 {
			reply.Buttons = append(reply.Buttons, bot.Button{Label: factWords(look.Fact, v), Value: fmt.Sprintf("door:set:%s:%s", look.Fact, v)})
		}
	}
}

// doorWhy shows the numbers behind the plan, each marked as assumed or counted.
func (r *Request) doorWhy(context.Context) (Result, error) {
	plan, err := r.Plan()
	if err != nil {
		return Result{}, err
	}
	reply := bot.Reply{Title: "Why this order", Text: "Least expected minutes, the mark's worth counted in. Minutes, chances and marks are assumptions until your own records count."}
	for _, s := range plan.Steps {
		if s.Kind == door.Attempt || s.Kind == door.Prepare {
			reply.Steps = append(reply.Steps, numbersWords(s))
		}
	}
	for _, out := range plan.RuledOut {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Not " + r.cardTitle(out.Technique), Value: out.Why})
	}
	return Answer(reply), nil
}

func numbersWords(s door.Step) string {
	if s.Kind == door.Prepare {
		return fmt.Sprintf("%s: %.1f min, mark %s.", s.Title, s.Minutes, markWords(s.Mark))
	}
	basis := "assumed"
	if s.Records > 0 {
		basis = "from " + plural(s.Records, "record") + " of yours"
	}
	return fmt.Sprintf("%s: %.1f min, opens %.0f in 100 (%.0f to %.0f, %s), mark %s.",
		s.Title, s.Minutes, 100*s.Chance, 100*s.ChanceLow, 100*s.ChanceHigh, basis, markWords(s.Mark))
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
