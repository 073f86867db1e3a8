package command

import (
	"context"
	"fmt"
	"regexp"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
)

// TransferCommand brings a member to another crew from a day on. What they did
// stays theirs; what the crew remembers of its drills stays the crew's.
func TransferCommand() Command {
	return Command{
		Name:    transferVerb,
		Usage:   "{member} transfers to {rig2} C from 2026-12-01",
		For:     department.Lead,
		Summary: "Bring a member to another rig or platoon from a day on.",
		Run:     transferMember,
	}
}

// The verb of the command, and the journal's word for a transfer.
const (
	transferVerb = "transfer"
	transferKind = "transfer"
)

var transferWords = regexp.MustCompile(`(?i)\btransfer(?:s|red|ring)?\b.*\b(?:to|from)\b`)

// transfer is the body of an entry. Empty Unit or Platoon stays as it was.
type transfer struct {
	Member  string    `json:"member"`
	Unit    string    `json:"unit,omitempty"`
	Platoon string    `json:"platoon,omitempty"`
	From    time.Time `json:"from"`
}

func transferMember(_ context.Context, r *Request) (Result, error) {
	if !r.Who.May(department.Officer) {
		return Result{}, bot.SayOfficerOnly.With()
	}
	member, err := r.memberNamed()
	if err != nil {
		return Result{}, err
	}
	t := transfer{Member: member.ID, From: r.Now}
	if units := r.Reading.Units; len(units) > 0 {
		t.Unit = units[len(units)-1]
	}
	if platoons := r.Reading.Platoons; len(platoons) > 0 {
		t.Platoon = platoons[len(platoons)-1]
	}
	if t.Platoon != "" && !r.Department.Rotation.Has(t.Platoon) {
		return Result{}, bot.SayNoPlatoon.With(t.Platoon)
	}
	if t.Unit == "" && t.Platoon == "" {
		return Result{}, bot.SayTransferWhere.With()
	}
	if len(r.Reading.Days) > 0 {
		day, ok := dayOf(r.Reading.Days[0], r.Now.In(r.Department.Zone))
		if !ok {
			return Result{}, bot.SayTransferWhere.With()
		}
		t.From = day
	}
	where := ""
	if t.Unit != "" {
		where += " to " + r.unitName(t.Unit)
	}
	if t.Platoon != "" {
		where += ", " + t.Platoon + " platoon"
	}
	text := fmt.Sprintf("%s goes%s, from %s. Hours, sign-offs and reports stay theirs; drill memory stays with the crews.", member.Name, where, r.dayOnly(t.From))
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: text, Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: bot.NewEntry(transferKind, member.ID, r.Who.Person, r.Now, t)}},
	}, nil
}

// crewNow is a member with the rig and platoon that they have been transferred
// to by now. Of two transfers from one day on the later told counts.
func (r *Request) crewNow(ctx context.Context, m department.Member) (department.Member, error) {
	told, err := fold(ctx, r, transferKind, bodies[transfer])
	if err != nil {
		return m, err
	}
	var last time.Time
	for _, t := range told {
		if t.Member != m.ID || t.From.After(r.Now) || t.From.Before(last) {
			continue
		}
		last = t.From
		if t.Unit != "" {
			m.Unit = t.Unit
		}
		if t.Platoon != "" {
			m.Platoon = t.Platoon
		}
	}
	return m, nil
}
