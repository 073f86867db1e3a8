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

// KitCommand shows one rig's kit.
func KitCommand() Command {
	return Command{
		Name:    string(understand.Kit),
		Usage:   "kit {rig}",
		Summary: "See a rig's kit: its list, its seal, its last check, what is open.",
		Run:     showKit,
	}
}

func showKit(ctx context.Context, r *Request) (Result, error) {
	unit := r.Reading.Unit
	if unit == "" {
		unit = r.Who.Unit
	}
	if !r.Reading.UnitNamed && strings.ContainsAny(r.Event.Text, "0123456789") {
		return Result{}, bot.SayNoRig.With(r.someRig())
	}
	k, err := r.kitOn(ctx, unit)
	if err != nil {
		return Result{}, err
	}
	c, err := r.checked(ctx, k, unit)
	if err != nil {
		return Result{}, err
	}
	open := c.open
	reply := bot.Reply{Title: fmt.Sprintf("%s: kit %s", r.unitName(unit), k.ID), Text: r.kitText(k, open)}
	reply.Fields = []bot.Field{{Name: "Last check", Value: c.lastCheck()}, {Name: "Kit list", Value: r.listWords(k)}}
	if k.Seal != "" {
		seal := k.Seal
		if !c.sealed {
			seal += ", but opened or swapped since: it vouches for nothing until every line is checked and a new tag is on"
		}
		reply.Fields = append(reply.Fields, bot.Field{Name: "Seal", Value: seal})
	}
	lent, back, err := r.loanFields(ctx, k.ID)
	if err != nil {
		return Result{}, err
	}
	reply.Fields, reply.Buttons = append(reply.Fields, lent...), back
	worth, err := r.kitWorth(ctx, k, open)
	if err != nil {
		return Result{}, err
	}
	reply.Fields = append(reply.Fields, worth...)
	return Answer(reply), nil
}

// kitWorth says in words what a kit cannot open today, and then what that costs
// in the model's minutes.
func (r *Request) kitWorth(ctx context.Context, k kit.Kit, open []kit.Line) ([]bot.Field, error) {
	doors, err := r.learnedDoors(ctx)
	if err != nil {
		return nil, err
	}
	tools, err := r.handy(ctx, k, open)
	if err != nil {
		return nil, err
	}
	complete := r.CompleteKit(r.Department.InForce)
	var lacking, having []string
	for id := range complete {
		switch why, carried := tools[id]; {
		case !carried || why != "":
			lacking = append(lacking, id)
		case !slices.Contains(r.Department.OnEvery, id):
			having = append(having, id)
		}
	}
	cannot := "this kit opens every door that a complete one does"
	if names := doors.CannotDo(tools, complete); len(names) > 0 {
		cannot = strings.Join(names, "; ") + " (not without a lasting mark)"
	}
	fields := []bot.Field{{Name: "Cannot open now", Value: cannot}}
	slices.Sort(lacking)
	slices.Sort(having)
	if costs := r.worthWords(doors.Worth(tools, lacking)); costs != "" {
		fields = append(fields, bot.Field{Name: "What the missing ones cost", Value: costs})
	}
	if helps := r.worthWords(doors.Worth(tools, having)); helps != "" {
		fields = append(fields, bot.Field{Name: "Would be missed most", Value: helps})
	}
	return append(fields, bot.Field{Name: "Numbers", Value: "minutes of an average entry, the mark counted in. Door mix, times and marks are assumptions."}), nil
}

// mostWorths is how many tools are shown with their worth.
const mostWorths = 3

// worthWords names the tools that mean most, those that mean nothing left out.
func (r *Request) worthWords(worths []door.ToolWorth) string {
	var words []string
	for _, w := range worths {
		if w.Minutes >= 0.05 && len(words) < mostWorths {
			words = append(words, fmt.Sprintf("%s %.1f min", r.itemName(w.Tool), w.Minutes))
		}
	}
	return strings.Join(words, "; ")
}

func (r *Request) kitText(k kit.Kit, open []kit.Line) string {
	if len(open) == 0 {
		return "Nothing open."
	}
	return "Open: " + strings.Join(r.shortLines(open), "; ") + "."
}

// lastCheck says what the last answered check found, and whether one was put off
// since. A check that nobody answered leaves the kit unknown.
func (c checking) lastCheck() string {
	words, since := "unknown: no check answered in 3 months", ""
	for i := len(c.past) - 1; i >= 0; i-- {
		past := c.past[i]
		if c.Now.Sub(past.At) > 92*24*time.Hour {
			break
		}
		if past.Answered() {
			words = c.resultWords(past) + ", " + c.day(past.At)
			break
		}
		if since == "" {
			since = "; put off " + c.day(past.At)
		}
	}
	if c.sealDue() {
		since += "; the seal is due to be broken for a full check"
	}
	return words + since
}

func (r *Request) listWords(k kit.Kit) string {
	list, ok := r.Department.List(k.List)
	if !ok {
		return "unknown"
	}
	pieces := 0
	for _, l := range list.Lines {
		pieces += l.Qty
	}
	words := fmt.Sprintf("version %d, %d lines, %d pieces", k.List, len(list.Lines), pieces)
	if k.List != r.Department.InForce {
		words += fmt.Sprintf(" (version %d is in force)", r.Department.InForce)
	}
	return words
}

// someRig is a rig's name for an example.
func (r *Request) someRig() string {
	if units := r.Department.KitUnits(); len(units) > 0 {
		return units[0].Name
	}
	return "Engine 1"
}
