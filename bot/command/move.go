package command

import (
	"context"
	"fmt"
	"regexp"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
	"kitbell/bot/understand"
	"kitbell/schedule"
)

// MoveCommand brings a kit to another rig, a shelf, the shop or away. What is
// asked of a rig's kit follows it from then on.
func MoveCommand() Command {
	return Command{
		Name:    string(understand.Move),
		Usage:   "{rig} to the shop, kit on {rig2}",
		For:     department.Officer,
		Summary: "Say where a kit goes: another rig, a shelf, the shop, away until Friday.",
		Run:     moveKit,
	}
}

func moveKit(ctx context.Context, r *Request) (Result, error) {
	if r.Verb == "" && len(r.Reading.Units) == 1 && outOfService.MatchString(r.Event.Text) {
		return r.rigOut(ctx, r.Reading.Units[0])
	}
	fleet, err := r.fleet(ctx)
	if err != nil {
		return Result{}, err
	}
	var move kit.Move
	if r.Verb != "" {
		move, err = r.moveOfPress(fleet)
	} else {
		move, err = r.moveOfWords(ctx, fleet)
	}
	if err != nil {
		return Result{}, err
	}
	k, _ := fleet.Kit(move.Kit)
	if k.Place == move.To {
		return Result{}, bot.SayKitThere.With(k.ID, r.whereWords(move.To))
	}
	if !r.Who.May(department.Officer) && !r.Who.May(department.Quartermaster) {
		return Answer(bot.Reply{
			Text:    fmt.Sprintf("An officer or the quartermaster moves a kit. One tap of theirs notes it: kit %s %s.", k.ID, r.whereWords(move.To)),
			Buttons: []bot.Button{{Label: "Move it (officer)", Value: moveValue(k.Place, move)}},
		}), nil
	}
	return r.moved(fleet, k, move), nil
}

var outOfService = regexp.MustCompile(`(?i)\bout of service\b|\boos\b`)

// rigOut takes a rig out of service for the tour: nobody asks it for its check.
// Its kit goes nowhere by that word alone.
func (r *Request) rigOut(ctx context.Context, unit string) (Result, error) {
	k, err := r.kitOn(ctx, unit)
	if err != nil {
		return Result{}, err
	}
	c, err := r.checked(ctx, k, unit)
	if err != nil {
		return Result{}, err
	}
	out, err := c.record(kit.NotToday, kit.Check{Note: "rig out of service"})
	if err != nil {
		return Result{}, err
	}
	out.Posts[0].Reply.Text += fmt.Sprintf(" Does the kit ride elsewhere? Say where: kit %s to another rig, on the shelf, to the shop.", k.ID)
	return out, nil
}

// moved writes the move and says what it means for both rigs.
func (r *Request) moved(fleet kit.Fleet, k kit.Kit, move kit.Move) Result {
	text := fmt.Sprintf("Kit %s is now %s.", k.ID, r.whereWords(move.To))
	if !move.Due.IsZero() {
		text = fmt.Sprintf("Kit %s is now %s, to be back by %s. Say so when it is.", k.ID, r.whereWords(move.To), move.Due.Format("Mon 2 Jan"))
	}
	if k.Place.Kind == kit.OnUnit && len(fleet.On(k.Place.At)) == 1 {
		text += fmt.Sprintf(" %s has no kit now.", r.unitName(k.Place.At))
	}
	if move.To.Kind == kit.OnUnit {
		if also := fleet.On(move.To.At); len(also) > 0 {
			text += fmt.Sprintf(" %s carries %s too: name the kit's number in a report.", r.unitName(move.To.At), list(kitIDs(also), "and"))
		}
	}
	entry := bot.NewEntry(kitMovedKind, k.ID, r.Who.Person, r.Now, move)
	changes := []bot.Change{bot.Written{Entry: entry}}
	if !move.Due.IsZero() && k.Place.Kind == kit.OnUnit {
		changes = append(changes, schedule.Fell{Due: schedule.Due{
			Entry: "kit-" + k.ID, Wall: move.Due.Format(time.DateOnly) + "/" + r.Event.ID, Unit: k.Place.At, Kind: schedule.NewsDue, Topic: kitTopic + ":" + k.ID, At: move.Due,
		}})
	}
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: changes,
	}
}

// moveValue is the button that makes a move: kit, from, to, day it is due. A
// kit that went elsewhere meanwhile makes it an old one.
func moveValue(from kit.Place, m kit.Move) string {
	due := ""
	if !m.Due.IsZero() {
		due = m.Due.Format(time.DateOnly)
	}
	return strings.Join([]string{string(understand.Move), m.Kit, string(from.Kind), from.At, string(m.To.Kind), m.To.At, due}, ":")
}

func (r *Request) moveOfPress(fleet kit.Fleet) (kit.Move, error) {
	parts := strings.Split(r.Ref, ":")
	if len(parts) != 6 {
		return kit.Move{}, bot.SayOldButton.With()
	}
	k, ok := fleet.Kit(parts[0])
	move := kit.Move{Kit: k.ID, To: kit.Place{Kind: kit.PlaceKind(parts[3]), At: parts[4]}}
	if ok && k.Place == move.To {
		return move, nil
	}
	if !ok || k.Place != (kit.Place{Kind: kit.PlaceKind(parts[1]), At: parts[2]}) || !r.knowsPlace(move.To) {
		return kit.Move{}, bot.SayOldButton.With()
	}
	if day, err := time.ParseInLocation(time.DateOnly, parts[5], r.Department.Zone); err == nil {
		move.Due = day
	}
	return move, nil
}

// knowsPlace says whether the department's file still has the place.
func (r *Request) knowsPlace(p kit.Place) bool {
	switch p.Kind {
	case kit.OnUnit:
		_, ok := r.Department.Unit(p.At)
		return ok
	case kit.OnShelf:
		_, ok := r.Department.Station(p.At)
		return ok
	}
	return p.Kind == kit.InShop || p.Kind == kit.Away
}

// moveOfWords reads which kit goes where. What is not said plainly is asked.
func (r *Request) moveOfWords(ctx context.Context, fleet kit.Fleet) (kit.Move, error) {
	if r.Reading.UnknownUnit != "" {
		return kit.Move{}, bot.SayNoRig.With(r.someRig())
	}
	to, ok := r.placeSaid()
	if !ok {
		return kit.Move{}, bot.SayWhichMove.With()
	}
	id, err := r.kitToMove(ctx, fleet, to)
	if err != nil {
		return kit.Move{}, err
	}
	move := kit.Move{Kit: id, To: to}
	if len(r.Reading.Days) > 0 && to.Kind != kit.OnUnit {
		move.Due, _ = dayOf(r.Reading.Days[0], r.Now.In(r.Department.Zone))
	}
	return move, nil
}

// placeSaid is where a message wants a kit: the rig named last, unless it is
// the one that the kit leaves for a shelf, the shop or away.
func (r *Request) placeSaid() (kit.Place, bool) {
	said := strings.ToLower(r.Event.Text)
	units := r.Reading.Units
	switch {
	case strings.Contains(said, "shelf") && r.Reading.Station != "":
		return kit.Place{Kind: kit.OnShelf, At: r.Reading.Station}, true
	case strings.Contains(said, "shelf"):
		return kit.Place{Kind: kit.OnShelf, At: r.station()}, r.station() != ""
	case strings.Contains(said, "kit away"), strings.Contains(said, "deploy"):
		return kit.Place{Kind: kit.Away}, true
	case len(units) > 0 && (len(units) > 1 || !strings.Contains(said, "shop")):
		return kit.Place{Kind: kit.OnUnit, At: units[len(units)-1]}, true
	}
	return kit.Place{Kind: kit.InShop}, strings.Contains(said, "shop") && strings.Contains(said, "kit")
}

// kitToMove is the kit that a message is about: the one named by number, else
// that of the rig named first, else the speaker's. A rig that gets its own kit
// back names itself only.
func (r *Request) kitToMove(ctx context.Context, fleet kit.Fleet, to kit.Place) (string, error) {
	if said := kitWords.FindStringSubmatch(r.Event.Text); said != nil {
		if id := r.kitNamed(); id != "" {
			return id, nil
		}
		return "", bot.SayNoSuchKit.With(said[1])
	}
	from := r.Who.Unit
	if units := r.Reading.Units; len(units) > 0 && units[0] != to.At {
		from = units[0]
	}
	if own, ok := r.Department.KitOf(to.At); ok && (from == to.At || strings.Contains(strings.ToLower(r.Event.Text), "back")) {
		return own.ID, nil
	}
	k, err := r.kitOn(ctx, from)
	return k.ID, err
}

// whereWords is a place as the end of "is now": in the shop, on Engine 11.
func (r *Request) whereWords(p kit.Place) string {
	switch p.Kind {
	case kit.OnUnit:
		return "on " + r.unitName(p.At)
	case kit.OnShelf:
		s, _ := r.Department.Station(p.At)
		return "on the shelf at " + s.Name
	case kit.InShop:
		return "in the shop"
	}
	return "away"
}
