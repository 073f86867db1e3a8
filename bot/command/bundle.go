package command

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"sync"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
	"kitbell/schedule"
)

// bundleKind is the journal's word for a bundle that went out.
const bundleKind = "bundle"

// Bundler turns what the schedule makes due into posts: at most one for each
// crew and tour, in the department's morning hours, to the station of the
// crew's rig. What falls due outside them waits; what was missed while the
// program was down is posted once, in the next morning hours, and says so.
type Bundler struct {
	Desks  func() []*Desk // every department as last loaded
	Books  Books
	Ledger Ledger
	Log    *slog.Logger
	Split  func(o bot.Outgoing) []bot.Outgoing // as the router's

	// Told, where not nil, hears of each part of each post as it is written, and
	// of what is held or left out. It is called from Step's goroutine.
	Told func(Part)

	folds folds
}

// departmentsAtOnce is how many departments are worked on side by side: most of
// the time is spent waiting for the disk, which commits many turns together.
const departmentsAtOnce = 32

// Step works through everything that is due at now and says when to come
// again. It is a schedule.Step. Departments are independent: one that fails is
// logged and comes again with the others; the error says that some failed.
func (b *Bundler) Step(ctx context.Context, now time.Time) (next time.Time, err error) {
	desks := b.Desks()
	results := make([]stepped, len(desks))
	slots := make(chan struct{}, departmentsAtOnce)
	var working sync.WaitGroup
	for i, desk := range desks {
		slots <- struct{}{}
		working.Go(func() {
			defer func() { <-slots }()
			one := &results[i]
			one.next, one.err = b.department(ctx, desk, now, &one.parts)
			if one.err != nil {
				one.err = fmt.Errorf("department %s: %w", desk.Department.Slug, one.err)
			}
		})
	}
	working.Wait()
	var failed []error
	for _, one := range results {
		for _, part := range one.parts {
			b.Told(part)
		}
		failed = append(failed, one.err)
		next = sooner(next, one.next)
	}
	return next, errors.Join(failed...)
}

// stepped is what came of one department's step.
type stepped struct {
	next  time.Time
	err   error
	parts []Part
}

func (b *Bundler) department(ctx context.Context, desk *Desk, now time.Time, told *[]Part) (next time.Time, err error) {
	slug := desk.Department.Slug
	cursors, err := b.Books.Cursors(ctx, slug)
	if err != nil {
		return next, fmt.Errorf("read schedule cursors: %w", err)
	}
	changes, next := schedule.Advance(desk.Department.Entries, byEntry(cursors), now)
	if changes, err = b.followKits(ctx, desk, changes, now); err != nil {
		return next, err
	}
	news, err := b.announceList(ctx, desk, now)
	if err != nil {
		return next, err
	}
	changes = append(changes, news...)
	if len(changes) > 0 {
		if err := b.Ledger.Apply(ctx, bot.Turn{Department: slug, Actor: "schedule", At: now, Changes: changes}); err != nil {
			return next, fmt.Errorf("write what fell due: %w", err)
		}
	}
	waiting, err := b.Books.WaitingDue(ctx, slug)
	if err != nil {
		return next, fmt.Errorf("read what waits: %w", err)
	}
	for _, crew := range groupBy(waiting, func(d schedule.Due) string { return d.Unit }) {
		comes, err := b.crew(ctx, desk, crew, now, told)
		if err != nil {
			return next, err
		}
		next = sooner(next, comes)
	}
	return sooner(next, nextMorning(desk.Department, now)), nil
}

// nextMorning is when the next morning hours begin: what became due meanwhile by
// somebody's word, and by no entry of the file, is looked for then.
func nextMorning(d *department.Department, now time.Time) time.Time {
	window := d.Hours.Morning.Next(now, d.Zone)
	if window.From.After(now) {
		return window.From
	}
	return d.Hours.Morning.Next(window.To.Add(time.Minute), d.Zone).From
}

func byEntry(cursors []schedule.Cursor) map[string]schedule.Cursor {
	out := make(map[string]schedule.Cursor, len(cursors))
	for _, c := range cursors {
		out[c.Entry] = c
	}
	return out
}

// crew posts a unit's bundle if it may go out now, or says when it may.
func (b *Bundler) crew(ctx context.Context, desk *Desk, dues []schedule.Due, now time.Time, told *[]Part) (next time.Time, err error) {
	d := desk.Department
	unit := dues[0].Unit
	sent, err := b.Books.Entries(ctx, d.Slug, bundleKind, unit, now.AddDate(0, 0, -14))
	if err != nil {
		return next, fmt.Errorf("read bundles of %s: %w", unit, err)
	}
	page := b.page(desk, unit, now)
	if opens := opening(d, sent, now); opens.After(now) {
		b.tell(told, page.held(dues, opens))
		return opens, nil
	}
	if last := lastThisMorning(d, unit, now); last.After(now) {
		return last, nil // more falls due in these hours, and a tour has one post
	}
	dues, comes := page.ready(dues)
	if len(dues) == 0 {
		return comes, nil
	}
	turn, parts, err := b.bundle(ctx, page, dues)
	if err != nil {
		return next, fmt.Errorf("bundle for %s: %w", unit, err)
	}
	next = sooner(next, comes)
	if err := b.Ledger.Apply(ctx, turn); err != nil {
		return next, fmt.Errorf("write bundle for %s: %w", unit, err)
	}
	b.tell(told, parts)
	return next, nil
}

// opening is when a crew may next be written to: now or later, in morning hours
// and outside quiet hours, in a tour that has had no bundle yet.
func opening(d *department.Department, sent []bot.Entry, now time.Time) time.Time {
	at := now
	for range 4 * 366 {
		window := d.Hours.Morning.Next(at, d.Zone)
		if at.Before(window.From) {
			at = window.From
		}
		tour := d.Rotation.TourAt(at)
		switch {
		case d.Hours.Quiet.Holds(at, d.Zone):
			at = at.Add(time.Minute)
		case d.Holidays.On(at, d.Zone):
			at = window.To
		case slices.ContainsFunc(sent, func(e bot.Entry) bool { return tour.Holds(e.At) }):
			at = tour.End
		default:
			return at
		}
	}
	return at
}

// lastThisMorning is the last moment in the morning hours that are on at which an
// entry makes something due for a rig; zero when there is none. What is ready
// before it waits for it, so that word of a line does not use up the tour's post
// an hour before its check.
func lastThisMorning(d *department.Department, unit string, now time.Time) (last time.Time) {
	until := d.Hours.Morning.Next(now, d.Zone).To.Add(-time.Minute)
	for _, e := range d.Entries {
		if !slices.Contains(e.Units, unit) && (unit != "" || len(e.Units) > 0) {
			continue
		}
		for _, m := range e.Cron.Between(now, until, e.Zone) {
			if m.At.After(last) {
				last = m.At
			}
		}
	}
	return last
}

// bundle makes the one post for a crew and everything that it carries. What was
// answered since it fell due is carried without a word.
func (b *Bundler) bundle(ctx context.Context, p page, dues []schedule.Due) (bot.Turn, []Part, error) {
	d := p.Department
	key := strings.Join([]string{"bundle", d.Slug, p.unit, tourKey(p.tour)}, "/")
	turn := bot.Turn{Department: d.Slug, Actor: "schedule", At: p.Now}
	carried := schedule.Carried{Dues: dues, Bundle: key, At: p.Now}
	asked := schedule.Collapse(dues)
	still, err := p.stillDue(ctx, slices.Clone(asked))
	if err != nil {
		return turn, nil, err
	}
	open, later, err := p.putOff(ctx, still)
	if err != nil {
		return turn, nil, err
	}
	parts, err := p.parts(ctx, asked, still, open)
	if err != nil {
		return turn, nil, err
	}
	if len(open) == 0 {
		carried.Bundle = "answered/" + key
		turn.Changes = append([]bot.Change{carried}, p.askAgain(later)...)
		return turn, parts, nil
	}
	reply, changes, err := p.reply(ctx, open)
	if err != nil {
		return turn, nil, err
	}
	turn.Changes = append([]bot.Change{carried, bot.Written{Entry: bot.NewEntry(bundleKind, p.unit, "", p.Now, key)}}, changes...)
	turn.Changes = append(turn.Changes, p.askAgain(append(later, open...))...)
	for i, to := range channels(d, p.place()) {
		post := bot.Outgoing{Key: fmt.Sprintf("%s/%d", key, i), To: to, Reply: reply}
		if b.Split == nil {
			turn.Posts = append(turn.Posts, post)
			continue
		}
		turn.Posts = append(turn.Posts, b.Split(post)...)
	}
	return turn, parts, nil
}

// page writes one crew's bundle.
type page struct {
	*Request
	tour schedule.Tour
	unit string
}

func (b *Bundler) page(desk *Desk, unit string, now time.Time) page {
	tour := desk.Department.Rotation.TourAt(now)
	r := &Request{Desk: desk, Now: now, Books: b.Books, Who: Who{Unit: unit, Platoon: tour.Platoon}, folds: &b.folds}
	return page{Request: r, tour: tour, unit: unit}
}

// place is the station of the crew's rig, or the programme's channel for what
// is for no crew.
func (p page) place() Place {
	if u, ok := p.Department.Unit(p.unit); ok {
		return Place{Use: department.StationChannel, Station: u.Station}
	}
	return Place{Use: department.ProgrammeChannel}
}

// reply is the post, with what it writes besides.
func (p page) reply(ctx context.Context, dues []schedule.Due) (reply bot.Reply, changes []bot.Change, err error) {
	if p.unit != "" {
		reply.Title = fmt.Sprintf("%s, %s platoon: this tour", p.unitName(p.unit), p.tour.Platoon)
	}
	checks := slices.DeleteFunc(slices.Clone(dues), func(d schedule.Due) bool { return d.Kind != schedule.CheckDue })
	if len(checks) > 0 { // one check answers them all
		if err := p.addCheck(ctx, &reply, p.whyCheck(checks)); err != nil {
			return reply, nil, err
		}
	}
	for _, d := range dues {
		more, err := p.add(ctx, &reply, d)
		if err != nil {
			return reply, nil, err
		}
		changes = append(changes, more...)
	}
	if err := p.addOpen(ctx, &reply); err != nil {
		return reply, nil, err
	}
	if err := p.addUsed(ctx, &reply); err != nil {
		return reply, nil, err
	}
	return reply, changes, p.addUntold(ctx, &reply)
}

// add writes one due thing into the bundle, and says what else is to be written
// for it. Checks are written together, before the rest.
func (p page) add(ctx context.Context, reply *bot.Reply, d schedule.Due) ([]bot.Change, error) {
	switch d.Kind {
	case schedule.DrillDue:
		return p.addDrill(ctx, reply, d.Topic, p.late(d))
	case schedule.Digest:
		return p.addDigest(ctx, reply, p.late(d))
	case schedule.NewsDue:
		return nil, p.addNews(ctx, reply, d)
	}
	return nil, nil
}

func (p page) late(d schedule.Due) string {
	if !d.Late {
		return ""
	}
	return fmt.Sprintf(" (due %s, posted late)", p.day(d.At))
}

// addCheck asks for the check of the kit that the rig carries. A rig whose kit
// is elsewhere has nothing to check. why says what makes it due besides its day.
func (p page) addCheck(ctx context.Context, reply *bot.Reply, why string) error {
	k, ok, err := p.firstKitOn(ctx, p.unit)
	if err != nil {
		return err
	}
	if !ok {
		reply.Steps = append(reply.Steps, "No entry kit rides on "+p.unitName(p.unit)+" now, so there is none to check.")
		return nil
	}
	c, err := p.checked(ctx, k, p.unit)
	if err != nil {
		return err
	}
	name, tour := p.unitName(p.unit), tourKey(p.tour)
	text := "Check the kit" + why + "."
	switch {
	case c.sealed && c.sealDue():
		text += fmt.Sprintf(" It is time to break seal %s and look at every line: type check %s.", k.Seal, name)
	case c.sealed:
		text += fmt.Sprintf(" Seal %s whole? Then it is one tap.", k.Seal)
		reply.Buttons = append(reply.Buttons, bot.Button{Label: name + " " + p.tour.Platoon + ": tag " + k.Seal + " intact", Value: checkValue(checkTag, p.unit, tour, k.Seal)})
	case k.Seal != "":
		text += fmt.Sprintf(" Its old tag vouches for nothing, so every line counts: type check %s.", name)
	}
	if names := c.closely(); len(names) > 0 && !c.sealed {
		text += " Look closely at: " + strings.Join(names, ", ") + "."
	}
	reply.Steps = append(reply.Steps, text)
	buttons := checkButtons(name+" "+p.tour.Platoon, p.unit, tour)
	if k.Seal != "" {
		buttons = buttons[1:] // its tag or a full check says that all is there
	}
	reply.Buttons = append(reply.Buttons, buttons...)
	return nil
}

// closely names the lines to look at closely, with how many there should be.
func (c checking) closely() []string {
	list, _ := c.Department.ListOf(c.kit)
	var names []string
	for _, item := range c.lines {
		line, _ := list.Line(item)
		names = append(names, fmt.Sprintf("%d × %s", line.Qty, c.itemName(item)))
	}
	return names
}

// addDrill gives the crew its drill: the one that the entry names, or the next by
// what forgetting would cost.
func (p page) addDrill(ctx context.Context, reply *bot.Reply, topic, late string) ([]bot.Change, error) {
	given, found, err := p.drillDue(ctx, topic)
	if err != nil || !found {
		return nil, err
	}
	step, button := p.drillPart(given, late)
	reply.Steps = append(reply.Steps, step)
	reply.Buttons = append(reply.Buttons, button)
	return []bot.Change{p.give(given)}, nil
}

// addOpen lists the crew's open lines, so that nobody is asked what is known.
func (p page) addOpen(ctx context.Context, reply *bot.Reply) error {
	k, ok, err := p.firstKitOn(ctx, p.unit)
	if err != nil || !ok {
		return err
	}
	open, err := p.openOn(ctx, k.ID)
	if err != nil {
		return err
	}
	if len(open) > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Open", Value: strings.Join(p.shortLines(open), "; ")})
	}
	for _, l := range open {
		if l.State == kit.Dropped {
			reply.Buttons = append(reply.Buttons, bot.Button{Label: fmt.Sprintf("#%d in the kit", l.Number), Value: queueValue("in", l.Number, l.Version)})
		}
	}
	return nil
}

// addUsed says what the tour before used of the kit, so that this one looks there.
func (p page) addUsed(ctx context.Context, reply *bot.Reply) error {
	if p.unit == "" {
		return nil
	}
	before := p.Department.Rotation.TourAt(p.tour.Start.Add(-time.Minute))
	entries, err := p.Books.Entries(ctx, p.Department.Slug, useKind, "", before.Start)
	if err != nil {
		return fmt.Errorf("read uses: %w", err)
	}
	var names []string
	for _, e := range entries {
		u, err := decode[use](e)
		if err != nil {
			return err
		}
		if u.Unit != p.unit || u.Practice || !before.Holds(e.At) {
			continue
		}
		items := u.Items
		if card, ok := p.Cards.Card(u.Technique); ok && len(items) == 0 {
			items = card.Tools
		}
		for _, item := range items {
			if name := p.itemName(item); !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	if len(names) > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Used last tour", Value: strings.Join(names, ", ")})
	}
	return nil
}

// addUntold reminds of doors that the rig opened and nobody told the rest of: a
// line and a button each, until it is told or too old.
func (p page) addUntold(ctx context.Context, reply *bot.Reply) error {
	entries, err := p.Books.Entries(ctx, p.Department.Slug, useKind, "", p.Now.Add(-tellFor))
	if err != nil {
		return fmt.Errorf("read uses: %w", err)
	}
	var days []string
	for _, e := range entries {
		u, err := decode[use](e)
		if err != nil {
			return err
		}
		if u.OnScene && u.Unit == p.unit && p.unit != "" {
			days = append(days, p.day(e.At))
			reply.Buttons = append(reply.Buttons, bot.Button{Label: "Tell of " + p.day(e.At), Value: tellValue(e.Event, "")})
		}
	}
	if len(days) > 0 {
		reply.Fields = append(reply.Fields, bot.Field{Name: "Opened, and the rest not told", Value: strings.Join(days, "; ")})
	}
	return nil
}

func sooner(a, b time.Time) time.Time {
	if a.IsZero() || !b.IsZero() && b.Before(a) {
		return b
	}
	return a
}
