package command

import (
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/door"
	"kitbell/bot/understand"
)

// Running is the door that a conversation, or a crew, is working on.
type Running struct {
	Event  string              `json:"event"` // that began it; names the door
	By     string              `json:"by"`    // who began it
	Unit   string              `json:"unit,omitempty"`
	Facts  saidFacts           `json:"facts"`
	Way    string              `json:"way,omitempty"`    // the attempt that the crew was told to make
	Tools  []string            `json:"tools,omitempty"`  // that it takes
	Absent []string            `json:"absent,omitempty"` // what a complete kit would have tried first, and this one lacked
	Call   string              `json:"call,omitempty"`   // kind of call, where it was said
	Asked  door.Fact           `json:"asked,omitempty"`  // what the crew was asked to look at
	Unsure []door.Fact         `json:"unsure,omitempty"` // looked at, and could not be told
	Forced bool                `json:"forced,omitempty"` // the officer said: force it
	Hazard []understand.Hazard `json:"hazard,omitempty"` // said at this door
	Began  time.Time           `json:"began"`
	Shown  string              `json:"shown,omitempty"`  // outbox key of the message with the plan
	Closed bool                `json:"closed,omitempty"` // it is open; nobody joins it any more
}

// saidFacts are facts as they were said. door.Facts writes its assumed values
// too, and a door that was read back would have them stated.
type saidFacts struct{ door.Facts }

// MarshalJSON writes what is known and nothing else.
func (s saidFacts) MarshalJSON() ([]byte, error) {
	whole, err := json.Marshal(s.Facts)
	if err != nil {
		return nil, err
	}
	var said map[string]any
	if err := json.Unmarshal(whole, &said); err != nil {
		return nil, fmt.Errorf("read facts back: %w", err)
	}
	for _, fact := range door.AllFacts() {
		if s.Value(fact) == "" {
			delete(said, string(fact))
		}
	}
	return json.Marshal(said)
}

// wholeDoor is how many facts make a message a description of a door rather
// than a remark about the one at hand; anotherDoor how many do when one of them
// cannot be true of that one.
const (
	wholeDoor   = 3
	anotherDoor = 2
)

// correction begins a message that puts right what was said before.
var correction = regexp.MustCompile(`(?i)^\W*(?:no|nope|not|actually|wait|sorry|correction|scratch that|my mistake)\b|\b(?:actually|i meant|i mean)\b`)

// describesDoor says whether the message is about a door from the start: it
// tells much of it, or something that the running one is not, and it neither
// corrects nor tells of an attempt.
func (r *Request) describesDoor() bool {
	if r.Verb != "" || r.joined || r.Reading.Outcome != "" || correction.MatchString(r.Event.Text) {
		return false
	}
	n := 0
	for _, fact := range door.AllFacts() {
		if r.Reading.Door.Value(fact) != "" {
			n++
		}
	}
	running := r.Memory.Running
	return n >= wholeDoor || n >= anotherDoor && running != nil && len(door.Changed(running.Facts.Facts, r.Reading.Door)) > 0
}

// said is what the message says of a door.
func (r *Request) said() door.Facts {
	said := r.Reading.Door
	if r.Reading.Down {
		said.Urgency = door.UrgencyLife
	}
	return said
}

// knownFacts is the door as it is known now: what was said before, and what this
// message adds or corrects. A message that describes a whole door begins a new
// one.
func (r *Request) knownFacts() door.Facts {
	running := r.Memory.Running
	if running == nil || r.describesDoor() {
		return r.said()
	}
	facts := door.Merge(running.Facts.Facts, r.said())
	if r.lifeTakenBack() {
		facts.Urgency = door.UrgencyUrgent
	}
	for _, fact := range r.cleared {
		_ = facts.Set(fact, "") // a fact of the table: "" always fits
	}
	if r.Reading.Outcome == understand.NotYet && r.countsAgainst(running.Way) && !slices.Contains(facts.Failed, running.Way) {
		facts.Failed = append(facts.Failed, running.Way)
	}
	return facts
}

// consents is in a message by which somebody is fine with what the crew does.
var consents = regexp.MustCompile(`(?i)\b(?:fine|ok|okay|good|alright) (?:with|to|for|if|by)\b`)

// lifeTakenBack says whether the message tells that nobody is in danger any more
// at a door where somebody was. It does not make the door routine: a crew that
// wants to take its time says so.
func (r *Request) lifeTakenBack() bool {
	running := r.Memory.Running
	return r.Verb == "" && r.Reading.Fine && !consents.MatchString(r.Event.Text) && !question.MatchString(r.Event.Text) && running != nil && running.Facts.Urgency == door.UrgencyLife && running.Facts.Fire != door.Yes
}

// countsAgainst says whether "not yet" is about the attempt that the crew was
// told to make. A message that names another technique is about that one.
func (r *Request) countsAgainst(way string) bool {
	technique, _, _ := strings.Cut(way, "/")
	named := r.Reading.Door.Failed
	return way != "" && (len(named) == 0 || slices.Contains(named, technique))
}

// follow remembers the door and the attempt that the crew is told to make.
func (r *Request) follow(plan door.Plan) {
	running := Running{Event: r.Event.ID, By: r.Who.Person, Unit: r.Who.Unit, Began: r.Now}
	if old := r.Memory.Running; old != nil && !r.describesDoor() {
		running = *old
	}
	running.Facts = saidFacts{r.facts()}
	for _, h := range r.Reading.Hazards {
		if !slices.Contains(running.Hazard, h) {
			running.Hazard = append(slices.Clone(running.Hazard), h)
		}
	}
	running.Unsure = append(running.Unsure, r.unsure...)
	if r.Reading.Use.Call != "" {
		running.Call = r.Reading.Use.Call
	}
	running.Way, running.Asked = "", ""
	if plan.Look != nil {
		running.Asked = plan.Look.Fact
	}
	if step, ok := firstAttempt(plan.Steps); ok {
		running.Way, running.Tools = step.Way(), step.Tools
	}
	for _, tool := range r.absent {
		if !slices.Contains(running.Absent, tool) {
			running.Absent = append(slices.Clone(running.Absent), tool)
		}
	}
	r.remember(&running)
}

// recallDoor gives the reader of words the running door as it was said. Whoever
// rides another rig by now has left that door.
func (r *Request) recallDoor() {
	running := r.Memory.Running
	switch {
	case running == nil:
	case running.Unit != r.Who.Unit:
		r.Memory.Running, r.Memory.Door = nil, nil
	default:
		r.Memory.Door = &running.Facts.Facts
	}
}

// remember keeps the door for this conversation and its crew.
func (r *Request) remember(running *Running) {
	r.Memory.Running, r.Memory.Door = running, &running.Facts.Facts
	r.share = running
}

// forget ends the running door for this conversation and its crew.
func (r *Request) forget() {
	closed := *r.Memory.Running
	closed.Closed = true
	r.Memory.Running, r.Memory.Door = nil, nil
	r.share = &closed
}

func firstAttempt(steps []door.Step) (door.Step, bool) {
	for _, s := range steps {
		if s.Kind == door.Attempt {
			return s, true
		}
	}
	return door.Step{}, false
}

// tag names the running door and how often it has changed plan, so that a button
// of an older plan is known for what it is.
func (running *Running) tag() string {
	return strconv.FormatInt(running.Began.Unix(), 36) + "." + strconv.Itoa(len(running.Facts.Failed))
}

// doorButton is a button about the running door.
func (r *Request) doorButton(label, ref string) bot.Button {
	return bot.Button{Label: label, Value: string(understand.Door) + ":" + ref + "@" + r.Memory.Running.tag()}
}

// stale says whether a tag is of another door, or of a plan that has failed
// since. A button without a tag is about whatever is running.
func (r *Request) stale(tag string) (otherDoor, olderPlan bool) {
	if tag == "" {
		return false, false
	}
	now := r.Memory.Running.tag()
	thisDoor, _, _ := strings.Cut(now, ".")
	thatDoor, _, _ := strings.Cut(tag, ".")
	return thisDoor != thatDoor, tag != now
}
