package command

import (
	"context"
	"fmt"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/kit"
	"kitbell/bot/training"
)

// raisedKind is the journal's word for a line that was raised because it sat
// past its limit. Each line is raised once in each state.
const raisedKind = "raised"

// raised is the body of such an entry.
type raised struct {
	Line  int       `json:"line"`
	State kit.State `json:"state"`
	Since time.Time `json:"since"` // when the line came into the state
}

// addDigest tells the programme's channel how things stand, in counts: what
// people asked, in their own words, is for the lead's page only.
func (p page) addDigest(ctx context.Context, reply *bot.Reply, late string) ([]bot.Change, error) {
	open, err := p.Books.OpenLines(ctx, p.Department.Slug)
	if err != nil {
		return nil, fmt.Errorf("read open lines: %w", err)
	}
	since := p.Now.AddDate(0, 0, -7)
	closed, err := p.Books.ClosedLines(ctx, p.Department.Slug, since)
	if err != nil {
		return nil, fmt.Errorf("read closed lines: %w", err)
	}
	reply.Title = "Digest" + late
	reply.Text = plural(len(open), "line") + " open. The lead's page is under: handover."
	opened := 0
	for _, l := range append(append([]kit.Line(nil), open...), closed...) {
		if l.OpenedAt.After(since) {
			opened++
		}
	}
	field := func(name string, value any) {
		reply.Fields = append(reply.Fields, bot.Field{Name: name, Value: fmt.Sprint(value)})
	}
	field("Lines this week", fmt.Sprintf("%d opened, %d closed", opened, len(closed)))
	for _, part := range []struct{ kind, name string }{
		{checkKind, "Checks answered this week"}, {unansweredKind, "Questions without a card this week"}, {noteKind, "Notes this week"},
	} {
		entries, err := p.Books.Entries(ctx, p.Department.Slug, part.kind, "", since)
		if err != nil {
			return nil, fmt.Errorf("read %s entries: %w", part.kind, err)
		}
		field(part.name, len(entries))
	}
	if unknown, err := p.unknownKits(ctx, since); err != nil {
		return nil, err
	} else if len(unknown) > 0 {
		field("Kits nobody answered for this week", strings.Join(unknown, ", "))
	}
	if low, err := p.lowShelves(ctx); err != nil {
		return nil, err
	} else if len(low) > 0 {
		field("Shelves below their minimum", strings.Join(low, "; "))
	}
	if due := p.promised(open); len(due) > 0 {
		field("Expected by next week", strings.Join(due, "; "))
	}
	behind, err := p.behindOnDrills(ctx)
	if err != nil {
		return nil, err
	}
	field(fmt.Sprintf("Crews without a drill in %d days", drillDays), behind)
	if waiting, err := p.unconverted(ctx); err != nil {
		return nil, err
	} else if len(waiting) > 0 {
		field(fmt.Sprintf("Not on kit list %d yet", p.Department.InForce), strings.Join(waiting, ", "))
	}
	done, err := fold(ctx, p.Request, auditKind, bodies[audited])
	if err != nil {
		return nil, err
	}
	field("Spot audit, "+p.quarter(p.Now), p.auditWords(done, p.quarter(p.Now)))
	wishes, err := p.openWishes(ctx)
	if err != nil {
		return nil, err
	}
	field("Wishes", wishes)
	changes, lines, err := p.raise(ctx, open)
	if err != nil {
		return nil, err
	}
	if len(lines) > 0 {
		field("Past its limit", strings.Join(lines, "; "))
	}
	return changes, nil
}

// openWishes says how many wishes wait for the lead, and when they close.
func (p page) openWishes(ctx context.Context) (string, error) {
	all, err := p.allWishes(ctx)
	if err != nil {
		return "", err
	}
	closes, _ := p.wishYear(p.Now)
	waiting := 0
	for _, w := range ofYear(all, closes) {
		if w.Answer == nil {
			waiting++
		}
	}
	return fmt.Sprintf("%d not answered; they close on %s", waiting, p.dayAndYear(closes.AddDate(0, 0, -1))), nil
}

// unknownKits names the rigs whose kit nobody has answered for since a moment:
// such a kit is unknown, never complete.
func (p page) unknownKits(ctx context.Context, since time.Time) ([]string, error) {
	fleet, err := p.fleet(ctx)
	if err != nil {
		return nil, err
	}
	checks, err := fold(ctx, p.Request, checkKind, bodies[kit.Check])
	if err != nil {
		return nil, err
	}
	known := map[string]bool{}
	for _, c := range checks {
		if c.Result == kit.SealOpen {
			known[c.Kit] = false
		} else if c.Answered() && c.At.After(since) {
			known[c.Kit] = true
		}
	}
	var names []string
	for _, k := range fleet.All() {
		if k.Place.Kind == kit.OnUnit && !known[k.ID] {
			names = append(names, p.unitName(k.Place.At))
		}
	}
	return names, nil
}

// raise names the lines that sit past their limit and were not raised in that
// state before, and what notes that they are now.
func (p page) raise(ctx context.Context, open []kit.Line) (changes []bot.Change, lines []string, err error) {
	before, err := fold(ctx, p.Request, raisedKind, bodies[raised])
	if err != nil {
		return nil, nil, err
	}
	told := map[raised]bool{}
	for _, one := range before {
		one.Since = one.Since.UTC()
		told[one] = true
	}
	for _, l := range open {
		one := raised{l.Number, l.State, l.StateAt.UTC()}
		if !p.Department.Limits.Past(l, p.Now) || told[one] {
			continue
		}
		changes = append(changes, bot.Written{Entry: bot.NewEntry(raisedKind, fmt.Sprintf("line:%d", l.Number), "", p.Now, one)})
		lines = append(lines, fmt.Sprintf("#%d %s: %s (%s since %s)", l.Number, p.unitName(l.Unit), p.lineWords(l), l.State, p.day(l.StateAt)))
	}
	return changes, lines, nil
}

// lowShelves names what is to be refilled, station by station.
func (p page) lowShelves(ctx context.Context) ([]string, error) {
	shelves, err := p.shelves(ctx)
	if err != nil {
		return nil, err
	}
	var low []string
	for _, s := range p.Department.Stations {
		for _, stock := range shelves[s.ID] {
			if stock.Low() {
				low = append(low, s.Name+": "+p.stockWords(stock))
			}
		}
	}
	return low, nil
}

// unconverted names the kits that are not packed to the list in force.
func (p page) unconverted(ctx context.Context) ([]string, error) {
	fleet, err := p.fleet(ctx)
	if err != nil {
		return nil, err
	}
	var ids []string
	for _, k := range fleet.All() {
		if k.List != p.Department.InForce {
			ids = append(ids, k.ID+" "+p.whereWords(k.Place))
		}
	}
	return ids, nil
}

// promised names the lines that somebody has given a day for: ordered and
// expected, or to be fetched, within the week to come or already due.
func (p page) promised(open []kit.Line) []string {
	week := p.Now.AddDate(0, 0, 7)
	var due []string
	for _, l := range open {
		switch {
		case l.State == kit.Ordered && !l.Expected.IsZero() && l.Expected.Before(week):
			due = append(due, fmt.Sprintf("#%d %s, %s", l.Number, p.itemName(l.Item), p.dayOnly(l.Expected)))
		case l.Where == kit.OnScene && !l.FetchBy.IsZero() && l.FetchBy.Before(week):
			due = append(due, fmt.Sprintf("#%d %s, to be fetched by %s", l.Number, p.itemName(l.Item), p.dayOnly(l.FetchBy)))
		}
	}
	return due
}

// drillDays is after how many days without a drill a crew counts as behind:
// common practice, no source.
const drillDays = 31

// behindOnDrills counts the crews that have answered no drill lately. It names
// none: the digest stands in a channel, and nobody is ranked there.
func (p page) behindOnDrills(ctx context.Context) (string, error) {
	answers, err := p.drillAnswers(ctx)
	if err != nil {
		return "", err
	}
	done := map[training.Crew]bool{}
	for _, a := range answers {
		if a.At.After(p.Now.AddDate(0, 0, -drillDays)) {
			done[a.Crew] = true
		}
	}
	crews, behind := p.crews(), 0
	for _, c := range crews {
		if !done[c] {
			behind++
		}
	}
	return fmt.Sprintf("%d of %d", behind, len(crews)), nil
}
