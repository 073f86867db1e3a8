package command

import (
	"context"
	"fmt"
	"slices"
	"strconv"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
	"kitbell/bot/training"
)

// handsOn notes that a member has had the tool in hand. Who is away works with no
// crew now, so their tap is theirs alone.
func (r *Request) handsOn(ctx context.Context, o training.RollOut) (Result, error) {
	if !r.Who.member() {
		return Result{}, bot.SayNoTechnique.With()
	}
	crew, away := r.crewOf(), awayOf(r.Who.Member)
	switch {
	case slices.Contains(o.Members, r.Who.Person) && (away != "" || slices.Contains(o.Crews, crew)):
		return Say("You have had it already, and it counts."), nil
	case crew.Unit == "" || crew.Platoon == "":
		return Result{}, bot.SayWhichCrew.With()
	}
	name, of := r.itemName(o.Item), r.unitName(crew.Unit)+" "+crew.Platoon
	text := fmt.Sprintf("Noted: hands on the %s. Plans of %s may use it. An officer confirms.", name, of)
	if away != "" {
		text = fmt.Sprintf("Noted for you: hands on the %s. You are %s, so the plans of %s wait for somebody who rides with it now.", name, awayWords[away], of)
	}
	stops, err := r.stopUses(ctx)
	if err != nil {
		return Result{}, err
	}
	if slices.ContainsFunc(stops, func(u kit.StopUse) bool { return u.Called && u.Item == o.Item }) {
		text = fmt.Sprintf("Noted: hands on the %s. It is under stop-use: plans leave it out until the lead lifts that.", name)
	}
	return r.rollOutStep(training.RollOutStep{What: training.HandsOn, Item: o.Item, Crew: crew, Member: r.Who.Person, Away: away}, text), nil
}

// awayOf is why the department's file has a member away; "" for at work.
func awayOf(m department.Member) training.Away {
	switch m.Status {
	case department.OnLeave:
		return training.OnLeave
	case department.OnDetail:
		return training.OnDetail
	case department.LightDuty:
		return training.LightDuty
	}
	return ""
}

var awayWords = map[training.Away]string{training.OnLeave: "on leave", training.OnDetail: "on detail", training.LightDuty: "on light duty"}

// waitingFor are those who have tapped and wait for the speaker's word, in the
// order in which they tapped: for the lead and the chief of training everybody, for
// an officer the own crew and every other officer, who may be the only one of
// theirs. Nobody waits for their own word.
func (r *Request) waitingFor(o training.RollOut) []training.Person {
	var waiting []training.Person
	roster := r.roster()
	for _, id := range o.Members {
		i := slices.IndexFunc(roster, func(p training.Person) bool { return p.ID == id })
		if i >= 0 && !slices.Contains(o.Confirmed, id) && r.mayConfirm(roster[i]) {
			waiting = append(waiting, roster[i])
		}
	}
	return waiting
}

func (r *Request) mayConfirm(p training.Person) bool {
	switch {
	case p.ID == r.Who.Person || !r.Who.May(department.Officer):
		return false
	case r.Who.May(department.Training) || p.Crew == r.crewOf():
		return true
	}
	m, _ := r.Department.Member(p.ID)
	return m.May(department.Officer)
}

// ofMine are those of the speaker's own crew among some: they are confirmed
// together, others one by one, as nobody saw a whole department do it.
func (r *Request) ofMine(some []training.Person) (mine, others []training.Person) {
	for _, p := range some {
		if r.Who.May(department.Training) || p.Crew == r.crewOf() {
			mine = append(mine, p)
		} else {
			others = append(others, p)
		}
	}
	return mine, others
}

// tappedUntil are those who wait to be confirmed together, of the first so many
// who tapped: who taps between the page and the word on it is not vouched for. A
// button that names no number is of an older program.
func (r *Request) tappedUntil(o training.RollOut, number string) []string {
	seen := o.Members
	if n, err := strconv.Atoi(number); err == nil && n >= 0 && n < len(seen) {
		seen = seen[:n]
	}
	mine, _ := r.ofMine(r.waitingFor(o))
	var ids []string
	for _, p := range mine {
		if slices.Contains(seen, p.ID) {
			ids = append(ids, p.ID)
		}
	}
	return ids
}

// confirmHands is an officer's word for members who have tapped.
func (r *Request) confirmHands(o training.RollOut, members []string) (Result, error) {
	if !r.Who.May(department.Officer) {
		return Result{}, bot.SayOfficerOnly.With()
	}
	var out Result
	var names []string
	for _, p := range r.waitingFor(o) {
		if !slices.Contains(members, p.ID) {
			continue
		}
		step := training.RollOutStep{What: training.Confirmed, Item: o.Item, Crew: p.Crew, Member: p.ID, By: r.Who.Person}
		if err := training.CheckRollOut([]training.RollOut{o}, step); err != nil {
			return Result{}, fmt.Errorf("confirm hands on: %w", err)
		}
		out.Changes = append(out.Changes, bot.Written{Entry: bot.NewEntry(rollOutKind, o.Item, r.Who.Person, r.Now, step)})
		names = append(names, r.memberName(p.ID))
	}
	if len(names) == 0 {
		return Say(fmt.Sprintf("Nobody waits for your word on the %s there.", r.itemName(o.Item))), nil
	}
	out.Posts = []Post{{Reply: bot.Reply{Text: "Confirmed, hands on the " + r.itemName(o.Item) + ": " + list(names, "and") + ".", Buttons: []bot.Button{r.undoButton()}}}}
	return out, nil
}

// confirmButtons are what an officer taps below a roll-out. Who waits stands beside
// them by name.
func (r *Request) confirmButtons(o training.RollOut) []bot.Button {
	mine, others := r.ofMine(r.waitingFor(o))
	var buttons []bot.Button
	if len(mine) > 0 {
		label := fmt.Sprintf("Confirm %d of my crew", len(mine))
		if r.Who.May(department.Training) {
			label = fmt.Sprintf("Confirm %d who tapped", len(mine))
		}
		buttons = append(buttons, bot.Button{Label: label, Value: rollOutValue("sign", o.Item+":"+strconv.Itoa(len(o.Members)))})
	}
	for _, p := range others[:min(len(others), mostConfirmed)] {
		if value := rollOutValue("one", o.Item+":"+p.ID); len(value) <= bot.MaxButtonValue {
			buttons = append(buttons, bot.Button{Label: "Confirm " + r.memberName(p.ID), Value: value})
		}
	}
	return buttons
}

// mostConfirmed is how many officers of other crews a page offers to confirm.
const mostConfirmed = 6
