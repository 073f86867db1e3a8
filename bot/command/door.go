package command

import (
	"context"
	"strings"

	"kitbell/bot"
	"kitbell/bot/door"
	"kitbell/bot/understand"
)

// DoorCommand plans the door that a crew stands at, and follows it until it is
// open.
func DoorCommand() Command {
	return Command{
		Name:    string(understand.Door),
		Usage:   "pull door, plate over the latch, lift assist",
		Summary: "Say what you see of a door. You get the next thing to try.",
		Thread:  true,
		Private: true,
		Run:     planReply,
	}
}

// StandingButton begins a door without a word typed. It is for a place where a
// thumb finds it: a pinned message, a menu.
func StandingButton() bot.Button { return bot.Button{Label: "DOOR", Value: doorStart} }

const (
	doorStart = string(understand.Door) + ":start"
	doorNone  = string(understand.Door) + ":none" // words of a door, and none is being worked on
)

func planReply(ctx context.Context, r *Request) (Result, error) {
	if !r.Who.member() {
		if r.Reading.Down || len(r.Reading.Hazards) > 0 {
			return Result{}, bot.SayGuestDown.With()
		}
		return Result{}, bot.SayNoTechnique.With()
	}
	if err := r.joinCrew(); err != nil {
		return Result{}, err
	}
	switch {
	case r.Verb != "":
		return r.pressDoor(ctx)
	case r.Reading.Outcome == understand.Opened && r.Memory.Running != nil:
		return r.doorOpened(), nil
	}
	return r.showPlan()
}

// showPlan plans the door as it is known now and says what to do next.
func (r *Request) showPlan() (Result, error) {
	before := r.Memory.Running
	r.takenBack = r.lifeTakenBack()
	plan, err := r.Plan()
	if err != nil {
		return Result{}, err
	}
	r.follow(plan)
	r.Memory.Card, r.Memory.Others = "", nil // a follow-up is about the plan now
	post := Post{Reply: r.doorReply(plan, before)}
	if r.Reading.Outcome == understand.NotYet || r.Verb != "" {
		post.Edit = r.Memory.Running.Shown
	}
	r.Memory.Running.Shown = r.outboxKey(0)
	return Result{Posts: []Post{post}}, nil
}

// pressDoor carries out a press about a door.
func (r *Request) pressDoor(ctx context.Context) (Result, error) {
	ref, tag, _ := strings.Cut(r.Ref, "@")
	verb, rest := press(ref)
	switch verb {
	case "start":
		return r.startDoor()
	case "at":
		return r.askDoor(rest)
	case "with":
		return r.planWith(rest)
	case "none":
		return Say("No door is being worked on here. Are you at one?", StandingButton()), nil
	case "down":
		r.Reading.Down = true
		return r.showPlan()
	}
	if r.Memory.Running == nil {
		return Result{}, bot.SayDoorOver.With()
	}
	other, older := r.stale(tag)
	if other {
		return Result{}, bot.SayDoorOther.With(r.Memory.Running.Began.In(r.Department.Zone).Format("15:04"))
	}
	switch verb {
	case "opened":
		return r.doorOpened(), nil
	case "why":
		return r.doorWhy(ctx)
	case "draw":
		return r.doorPicture()
	case "fix":
		return r.fixDoor(rest)
	case "not-yet":
		if !older { // else somebody counted this failure already: show where the crew is
			r.Reading.Outcome = understand.NotYet
		}
	case "force":
		r.Memory.Running.Forced = true
	case "unsure":
		if rest == "" { // typed: it is about what was asked last
			rest = string(r.Memory.Running.Asked)
		}
		r.unsure = append(r.unsure, door.Fact(rest))
	case "set":
		if err := r.setFacts(rest); err != nil {
			return Result{}, err
		}
	case "another":
		r.Memory.Running = nil
		return r.startDoor()
	default:
		return Result{}, bot.SayOldButton.With()
	}
	return r.showPlan()
}

// planWith begins a door with the facts that a button carries.
func (r *Request) planWith(facts string) (Result, error) {
	r.Memory.Running, r.joined = nil, false
	if facts != "" {
		if err := r.setFacts(facts); err != nil {
			return Result{}, err
		}
	}
	return r.showPlan()
}

// setFacts reads what a button says of the door: swing=in,guard= sets one fact
// and takes another back.
func (r *Request) setFacts(said string) error {
	for part := range strings.SplitSeq(said, ",") {
		name, value, _ := strings.Cut(part, "=")
		fact := door.Fact(name)
		if err := r.Reading.Door.Set(fact, value); err != nil {
			return bot.SayOldButton.With()
		}
		if value == "" {
			r.cleared = append(r.cleared, fact)
		}
	}
	return nil
}

// doorOpened notes the time and the attempt, and what is left to do.
func (r *Request) doorOpened() Result {
	running := r.Memory.Running
	u := use{Use: understand.Use{Outcome: understand.Opened, Call: running.Call}, Way: running.Way, Absent: running.Absent,
		Unit: r.Who.Unit, Platoon: r.Who.Platoon, Facts: running.Facts, OnScene: true}
	u.Technique, _, _ = strings.Cut(running.Way, "/")
	u.Tools = running.Tools
	r.forget()
	text := "Open. Strap or chock it, or keep somebody on the door. Leave it secure after the call.\n" +
		"Back on the rig, tell me the rest: tap below, or type: back on the rig."
	reply := bot.Reply{Text: text, Buttons: []bot.Button{{Label: "Back on the rig", Value: tellValue(r.Event.ID, "")}, r.undoButton()}}
	return Result{
		Posts:   []Post{{Reply: reply}},
		Changes: []bot.Change{bot.Written{Entry: bot.NewEntry(useKind, u.subject(), r.Who.Person, r.Now, u)}},
	}
}
