package command

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/door"
	"kitbell/bot/training"
	"kitbell/bot/understand"
	"kitbell/knowledge"
	"kitbell/schedule"
)

// SharedDoorCommand lets the lead share a real door of one platoon with the others:
// they meet it as a drill, without place, time or people.
func SharedDoorCommand() Command {
	return Command{
		Name:    sharedDoorVerb,
		Usage:   "share a door",
		For:     department.Lead,
		Summary: "Give a real door of one platoon to the others as a drill, without place, time or people.",
		Private: true,
		Run:     shareDoors,
	}
}

const (
	sharedDoorVerb = "share-door"
	sharedDoorKind = "shared-door"
	// sharedTopic begins the topic of a drill that is due because of a shared door.
	sharedTopic = "shared"
	// shareDays is how far back a door is offered for sharing.
	shareDays = 30
	mostDoors = 5
)

// sharedDoors are the real doors that the lead has shared.
func (r *Request) sharedDoors(ctx context.Context) ([]training.SharedDoor, error) {
	return fold(ctx, r, sharedDoorKind, func(entries []bot.Entry) ([]training.SharedDoor, error) {
		steps := make([]training.DoorStep, len(entries))
		for i, e := range entries {
			step, err := decode[training.DoorStep](e)
			if err != nil {
				return nil, err
			}
			steps[i] = step
		}
		return training.SharedDoors(steps), nil
	})
}

// realDoor is a door that may be shared.
type realDoor struct {
	key  string
	from string // platoon
	door training.RealDoor
	why  string // it cannot be so
}

func shareDoors(ctx context.Context, r *Request) (Result, error) {
	if !r.Who.May(department.Lead) {
		return Result{}, bot.SayLeadOnly.With()
	}
	doors, cannot, err := r.realDoors(ctx)
	if err != nil {
		return Result{}, err
	}
	what, key := press(r.Ref)
	if what == "yes" {
		i := slices.IndexFunc(doors, func(d realDoor) bool { return d.key == key })
		if i < 0 {
			return Result{}, bot.SayOldButton.With()
		}
		return r.shareWith(doors[i]), nil
	}
	reply := bot.Reply{Title: "Real doors to share", Text: "Read each: does what is left still tell which door it was? Then leave it."}
	for i, d := range doors[:min(len(doors), mostDoors)] {
		words := fmt.Sprintf("%s. Opened by %s", factsWords(d.door.Facts), lowerFirst(r.attemptTitle(d.door.Way)))
		if len(d.door.Failed) > 0 {
			words += ", after " + list(each(d.door.Failed, r.attemptTitle), "and")
		}
		reply.Fields = append(reply.Fields, bot.Field{Name: strconv.Itoa(i + 1), Value: words + "."})
		reply.Buttons = append(reply.Buttons, bot.Button{Label: fmt.Sprintf("Share %d", i+1), Value: sharedDoorVerb + ":yes:" + d.key})
	}
	if len(doors) == 0 {
		reply.Text = fmt.Sprintf("No door of the last %d days that opened on a real call is left to share.", shareDays)
	}
	if len(cannot) > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Left out", Value: r.cannotWords(cannot)})
	}
	return Answer(reply), nil
}

// cannotWords says how many records were left out because their way cannot be at
// their door, and why, each reason once.
func (r *Request) cannotWords(cannot []realDoor) string {
	words := plural(len(cannot), "door") + ". The record has the door or the way wrong:"
	if len(cannot) > 1 {
		words = plural(len(cannot), "door") + ". The records have the door or the way wrong:"
	}
	var said []string
	for _, d := range cannot {
		one := fmt.Sprintf("%s at a door that is noted as %s. %s", lowerFirst(r.attemptTitle(d.door.Way)), factsWords(d.door.Facts), d.why)
		if !slices.Contains(said, one) {
			said = append(said, one)
		}
	}
	return words + " " + strings.Join(said, " And: ")
}

func each(all []string, words func(string) string) []string {
	out := make([]string, len(all))
	for i, one := range all {
		out[i] = lowerFirst(words(one))
	}
	return out
}

// realDoors are the doors of late records that may be shared and are not yet, the
// latest first, apart from those whose way cannot be at that door.
func (r *Request) realDoors(ctx context.Context) (doors, cannot []realDoor, err error) {
	entries, err := r.Books.Entries(ctx, r.Department.Slug, useKind, "", r.Now.AddDate(0, 0, -shareDays))
	if err != nil {
		return nil, nil, fmt.Errorf("read uses: %w", err)
	}
	shared, err := r.sharedDoors(ctx)
	if err != nil {
		return nil, nil, err
	}
	for _, e := range slices.Backward(entries) {
		d, ok, err := r.realDoorOf(e)
		if err != nil {
			return nil, nil, err
		}
		if !ok || slices.ContainsFunc(shared, func(s training.SharedDoor) bool { return s.Key == d.key }) {
			continue
		}
		if d.why, err = r.cannotBe(d.door); err != nil {
			return nil, nil, err
		}
		if d.why == "" {
			doors = append(doors, d)
		} else {
			cannot = append(cannot, d)
		}
	}
	return doors, cannot, nil
}

// realDoorOf is the door of a record of use; ok is false where it makes no drill.
func (r *Request) realDoorOf(e bot.Entry) (d realDoor, ok bool, err error) {
	u, err := decode[use](e)
	if err != nil {
		return realDoor{}, false, err
	}
	stripped, err := training.Anonymous(training.AfterUse{
		Facts: u.Facts.Facts, Way: u.way(), Tries: u.Tries, Mark: u.Mark, Opened: u.Outcome == understand.Opened, Practice: u.Practice,
	}, r.everybodysWay)
	if err != nil || u.Platoon == "" {
		return realDoor{}, false, nil
	}
	return realDoor{key: "use" + strconv.FormatInt(e.ID, 10), from: u.Platoon, door: stripped}, true, nil
}

// cannotBe is the rule that speaks against a real door, "" for none: the same by
// which a decide drill says "not at this door".
func (r *Request) cannotBe(d training.RealDoor) (why string, err error) {
	plan, err := r.Doors.Plan(door.Request{Facts: d.Facts, Tools: r.CompleteKit(r.Department.InForce)})
	if err != nil {
		return "", fmt.Errorf("plan a real door: %w", err)
	}
	return d.CannotBe(plan), nil
}

// everybodysWay says whether a way stands on a technique card.
func (r *Request) everybodysWay(way string) bool {
	technique, _, _ := strings.Cut(way, "/")
	c, ok := r.Cards.Card(technique)
	return ok && c.Kind == knowledge.Technique
}

// shareWith approves a door and makes it due for the crews of the other platoons,
// in their next tours.
func (r *Request) shareWith(d realDoor) Result {
	step := training.DoorStep{Key: d.key, What: training.DoorProposed, Door: d.door, From: d.from, By: r.Who.Person, At: r.Now}
	approved := training.DoorStep{Key: d.key, What: training.DoorApproved, By: r.Who.Person, At: r.Now}
	result := Result{Posts: []Post{{Reply: bot.Reply{Text: "Shared. The other platoons meet that door as a drill in their next tours.", Buttons: []bot.Button{r.undoButton()}}}}}
	for _, s := range []training.DoorStep{step, approved} {
		result.Changes = append(result.Changes, bot.Written{Entry: bot.NewEntry(sharedDoorKind, d.key, r.Who.Person, r.Now, s)})
	}
	shared := training.SharedDoor{Key: d.key, From: d.from}
	if len(shared.For(r.Department.Rotation.Platoons())) == 0 {
		result.Posts[0].Reply.Text = "Noted. There is no other platoon here to meet that door, so nobody gets it as a drill."
	}
	for _, platoon := range shared.For(r.Department.Rotation.Platoons()) {
		for _, u := range r.Department.KitUnits() {
			result.Changes = append(result.Changes, schedule.Fell{Due: schedule.Due{
				Entry: sharedTopic + "-" + d.key, Wall: platoon, Kind: schedule.DrillDue, Unit: u.ID, Platoon: platoon, Topic: sharedTopic + ":" + d.key, At: r.Now,
			}})
		}
	}
	return result
}

// sharedDrill is the drill of a shared door; found is false when the lead took it
// back, or there is nothing to choose at it with this kit.
func (r *Request) sharedDrill(ctx context.Context, key string) (given givenDrill, found bool, err error) {
	shared, err := r.sharedDoors(ctx)
	if err != nil {
		return givenDrill{}, false, err
	}
	i := slices.IndexFunc(shared, func(s training.SharedDoor) bool { return s.Key == key })
	if i < 0 {
		return givenDrill{}, false, nil
	}
	doors, err := r.learnedDoors(ctx)
	if err != nil {
		return givenDrill{}, false, err
	}
	barred, err := r.barred(ctx)
	if err != nil {
		return givenDrill{}, false, err
	}
	technique, _, _ := strings.Cut(shared[i].Door.Way, "/")
	if _, out := barred[technique]; out {
		return givenDrill{}, false, nil // what the department does not go by is no right answer
	}
	plan, err := doors.Plan(door.Request{Facts: shared[i].Door.Facts, Tools: r.CompleteKit(r.Department.InForce), Barred: barred})
	if err != nil {
		return givenDrill{}, false, fmt.Errorf("plan a shared door: %w", err)
	}
	if shared[i].Door.CannotBe(plan) != "" {
		return givenDrill{}, false, nil // shared before the rules were asked
	}
	decide, err := shared[i].Decide(plan)
	if errors.Is(err, training.ErrNothingToDecide) {
		return givenDrill{}, false, nil
	}
	if err != nil {
		return givenDrill{}, false, err
	}
	return givenDrill{
		Key: r.drillKey(key), Crew: r.crewOf(), Drill: training.Drill{Topic: technique, Kind: training.DecideDrill, Card: technique}, Decide: &decide, Real: true,
	}, true, nil
}
