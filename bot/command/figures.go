package command

import (
	"context"
	"fmt"
	"regexp"
	"slices"
	"time"

	"kitbell/bot"
	"kitbell/bot/chart"
	"kitbell/bot/department"
	"kitbell/bot/kit"
)

// FiguresCommand draws how the programme stands: kits by weeks, shortages by item,
// what crews have drilled, what was asked for and bought. No picture names a person.
func FiguresCommand() Command {
	return Command{
		Name:    figuresVerb,
		Usage:   "readiness picture",
		For:     department.Officer,
		Summary: "See a picture: readiness, shortages, drill coverage or spend.",
		More: []Example{
			{"readiness picture", "See each kit, week by week: complete, short, not checked, out of service."},
			{"shortages picture", "See what is short now, by item."},
			{"drill coverage picture", "See how much of what they should each crew has drilled in a quarter."},
			{"spend picture", "See what was asked for, granted and bought, by year."},
		},
		Run: figures,
	}
}

const figuresVerb = "figures"

var figuresSaid = regexp.MustCompile(`(?i)^(?:show (?:me )?|draw |the |our |a )*(readiness|shortages?|drill(?:s| coverage)?|coverage|spend(?:ing)?|budget) (?:picture|chart|graph|grid|diagram)$|^(?:show (?:me )?|draw )?(?:a |the )?(?:picture|chart|graph|grid) of (?:the |our )?(readiness|shortages?|drill(?:s| coverage)?|coverage|spend(?:ing)?)$`)

// figuresWords gives the button that a sentence about pictures stands for.
func figuresWords(words string) (press string, ok bool) {
	said := figuresSaid.FindStringSubmatch(words)
	if said == nil {
		return "", false
	}
	switch what := said[1] + said[2]; what[:1] {
	case "r", "R":
		return figuresVerb + ":readiness", true
	case "d", "D", "c", "C":
		return figuresVerb + ":coverage", true
	case "b", "B":
		return figuresVerb + ":spend", true
	default:
		if what[1] == 'h' || what[1] == 'H' {
			return figuresVerb + ":shortages", true
		}
		return figuresVerb + ":spend", true
	}
}

func figures(ctx context.Context, r *Request) (Result, error) {
	if !r.Who.May(department.Officer) {
		return Result{}, bot.SayOfficerOnly.With()
	}
	var drawn drawer
	var err error
	switch r.Ref {
	case "readiness":
		drawn, err = r.readiness(ctx)
	case "shortages":
		drawn, err = r.shortages(ctx)
	case "coverage":
		drawn, err = r.coverage(ctx)
	case "spend":
		return r.spendFigures(ctx)
	default:
		return Result{}, bot.SayOldButton.With()
	}
	if err != nil {
		return Result{}, err
	}
	picture, err := chartPicture(r.Ref, drawn)
	return Answer(bot.Reply{Pictures: []bot.Picture{picture}}), err
}

func (r *Request) spendFigures(ctx context.Context) (Result, error) {
	if !r.Who.May(department.Quartermaster) {
		return Result{}, bot.SayBudgetWhose.With()
	}
	draft, err := r.draftRequest(ctx)
	if err != nil {
		return Result{}, err
	}
	pictures, err := r.spendPicture(ctx, draft)
	return Answer(bot.Reply{Pictures: pictures}), err
}

// mostWeeks is how many weeks the readiness grid goes back: a quarter.
const mostWeeks = 13

// readiness is how each kit stood at the end of each of the last weeks.
func (r *Request) readiness(ctx context.Context) (chart.Readiness, error) {
	steps, err := r.Books.LineSteps(ctx, r.Department.Slug)
	if err != nil {
		return chart.Readiness{}, fmt.Errorf("read steps of lines: %w", err)
	}
	checks, err := fold(ctx, r, checkKind, bodies[kit.Check])
	if err != nil {
		return chart.Readiness{}, err
	}
	moves, err := r.Books.Entries(ctx, r.Department.Slug, kitMovedKind, "", time.Time{})
	if err != nil {
		return chart.Readiness{}, fmt.Errorf("read moves of kits: %w", err)
	}
	grid := chart.Readiness{Title: "Kits by week"}
	monday := weekStart(r.Now.In(r.Department.Zone))
	for w := mostWeeks - 1; w >= 0; w-- {
		grid.Weeks = append(grid.Weeks, monday.AddDate(0, 0, -7*w))
	}
	for _, k := range r.Department.Kits {
		row := chart.KitWeeks{Kit: k.ID}
		if k.Place.Kind == kit.OnUnit {
			row.Kit += " " + r.unitName(k.Place.At)
		}
		for _, week := range grid.Weeks {
			end := week.AddDate(0, 0, 7)
			if end.After(r.Now) {
				end = r.Now
			}
			row.States = append(row.States, kitState(k, week, end, steps, checks, placesAt(r.Department.Kits, moves, end)))
		}
		grid.Kits = append(grid.Kits, row)
	}
	return grid, nil
}

func weekStart(at time.Time) time.Time {
	day := time.Date(at.Year(), at.Month(), at.Day(), 0, 0, 0, 0, at.Location())
	return day.AddDate(0, 0, -int((at.Weekday()+6)%7))
}

// placesAt is where the kits were at an instant, by the moves told of until then.
func placesAt(kits []kit.Kit, moves []bot.Entry, at time.Time) kit.Fleet {
	var until []kit.Move
	for _, e := range moves {
		if move, err := decode[kit.Move](e); err == nil && e.At.Before(at) {
			until = append(until, move)
		}
	}
	return kit.NewFleet(kits, until)
}

// kitState is how a kit stood at the end of a week. One that is no help anywhere is
// out of service; one with something gone or of no use is short; complete needs a
// check in that week, for a kit that nobody looked at is unknown.
func kitState(k kit.Kit, from, end time.Time, steps []kit.Change, checks []kit.Check, fleet kit.Fleet) chart.State {
	if now, known := fleet.Kit(k.ID); known && now.Place.Kind != kit.OnUnit && k.Place.Kind == kit.OnUnit {
		return chart.OutOfService
	}
	open := map[int]bool{}
	for _, c := range steps {
		if c.New.Kit == k.ID && c.At.Before(end) {
			open[c.New.Number] = c.New.State.Open() && unfit(c.New.Condition)
		}
	}
	for _, is := range open {
		if is {
			return chart.Short
		}
	}
	checked := slices.ContainsFunc(checks, func(c kit.Check) bool {
		return c.Kit == k.ID && c.Answered() && c.Result != kit.SealOpen && !c.At.Before(from) && c.At.Before(end)
	})
	if checked {
		return chart.Complete
	}
	return chart.NotChecked
}

// shortages are the pieces that open lines say are gone or of no use, by item.
func (r *Request) shortages(ctx context.Context) (chart.Shortages, error) {
	open, err := r.openNow(ctx)
	if err != nil {
		return chart.Shortages{}, err
	}
	short := chart.Shortages{Title: "Short now, by item"}
	unfitNow := slices.DeleteFunc(slices.Clone(open), func(l kit.Line) bool { return !unfit(l.Condition) && l.Condition != kit.Low })
	for _, lines := range groupBy(unfitNow, func(l kit.Line) string { return l.Item }) {
		count := chart.Count{Item: r.itemName(lines[0].Item)}
		for _, l := range lines {
			count.Count += l.Count
		}
		short.Items = append(short.Items, count)
	}
	return short, nil
}

// coveredDays is how recent a drill counts as: the quarter in which every crew is to
// drill what it must know.
const coveredDays = 92

// coverage is how many of the topics each crew has drilled in the last quarter.
func (r *Request) coverage(ctx context.Context) (chart.Coverage, error) {
	topics, err := r.drillTopics(ctx)
	if err != nil {
		return chart.Coverage{}, err
	}
	past, err := r.drillPast(ctx)
	if err != nil {
		return chart.Coverage{}, err
	}
	since := r.Now.AddDate(0, 0, -coveredDays)
	cover := chart.Coverage{Title: "Topics drilled in a quarter, by crew"}
	for _, c := range r.crews() {
		row := chart.CrewTopics{Crew: r.unitName(c.Unit) + " " + c.Platoon, Topics: len(topics)}
		for _, t := range topics {
			if past[c][t.ID].Memory.Last.After(since) {
				row.Drilled++
			}
		}
		cover.Crews = append(cover.Crews, row)
	}
	return cover, nil
}

// Figure is one picture of how the programme stands, by its name.
type Figure struct {
	Name string
	chart.Picture
}

// Figures draws all pictures as of an instant: readiness, shortages, drill coverage
// and spend. The error is the store's, or of figures that cannot be drawn.
func Figures(ctx context.Context, d *Desk, books Books, now time.Time) ([]Figure, error) {
	r := &Request{Desk: d, Books: books, Now: now}
	draft, err := r.draftRequest(ctx)
	if err != nil {
		return nil, err
	}
	var all []Figure
	for _, one := range []struct {
		name string
		make func() (drawer, error)
	}{
		{"readiness", func() (drawer, error) { return r.readiness(ctx) }},
		{"shortages", func() (drawer, error) { return r.shortages(ctx) }},
		{"drills", func() (drawer, error) { return r.coverage(ctx) }},
		{"spend", func() (drawer, error) { return r.spend(ctx, draft) }},
	} {
		figures, err := one.make()
		if err != nil {
			return nil, err
		}
		drawn, err := figures.Draw(chart.Options{})
		if err != nil {
			return nil, fmt.Errorf("draw %s: %w", one.name, err)
		}
		all = append(all, Figure{one.name, drawn})
	}
	return all, nil
}
