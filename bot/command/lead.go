package command

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/kit"
	"kitbell/bot/training"
	"kitbell/bot/understand"
)

// HandoverCommand is the lead's page: what is open, what was asked and not
// answered, what was noted and wished for.
func HandoverCommand() Command {
	return Command{
		Name:    string(understand.Handover),
		Usage:   "handover",
		Summary: "For the lead: open lines, unanswered questions, notes and wishes.",
		Private: true,
		Run:     handover,
	}
}

func handover(ctx context.Context, r *Request) (Result, error) {
	if !r.Who.May(department.Quartermaster) {
		return Say("That page is for the lead, the chief of training and the quartermaster."), nil
	}
	open, err := r.Books.OpenLines(ctx, r.Department.Slug)
	if err != nil {
		return Result{}, fmt.Errorf("read open lines: %w", err)
	}
	reply := bot.Reply{Title: "Handover, " + r.day(r.Now), Text: plural(len(open), "line") + " open in the queue."}
	if reply.Fields, err = r.standing(ctx, open); err != nil {
		return Result{}, err
	}
	for _, part := range []struct{ kind, name string }{
		{unansweredKind, "Nobody could answer"}, {noteKind, "Notes"},
	} {
		field, err := r.latest(ctx, part.kind, part.name)
		if err != nil {
			return Result{}, err
		}
		reply.Fields = append(reply.Fields, field)
	}
	wishes, err := r.allWishes(ctx)
	if err != nil {
		return Result{}, err
	}
	reply.Fields = append(reply.Fields, bot.Field{Name: "Wishes", Value: r.wishesInShort(wishes)})
	return Answer(reply), nil
}

// standing is how the programme stands, for somebody who takes it over: lines by
// state, what is late or promised, what is out on loan, kits that nobody answers
// for or that are not on the list in force, stop-uses, and who acts in a role.
func (r *Request) standing(ctx context.Context, open []kit.Line) ([]bot.Field, error) {
	var fields []bot.Field
	field := func(name string, values []string) {
		if len(values) > 0 {
			fields = append(fields, bot.Field{Name: name, Value: strings.Join(values, "; ")})
		}
	}
	var states, late []string
	for _, s := range kit.States() {
		n := 0
		for _, l := range open {
			if l.State == s {
				n++
			}
		}
		if n > 0 {
			states = append(states, fmt.Sprintf("%d %s", n, s))
		}
	}
	for _, l := range open {
		if r.Department.Limits.Past(l, r.Now) {
			late = append(late, fmt.Sprintf("#%d %s %s since %s", l.Number, r.unitName(l.Unit), l.State, r.day(l.StateAt)))
		}
	}
	var err error
	if r.placed, err = r.fleet(ctx); err != nil {
		return nil, err
	}
	p := page{Request: r}
	unknown, err := p.unknownKits(ctx, r.Now.AddDate(0, 0, -7))
	if err != nil {
		return nil, err
	}
	waiting, err := p.unconverted(ctx)
	if err != nil {
		return nil, err
	}
	low, err := p.lowShelves(ctx)
	if err != nil {
		return nil, err
	}
	out, err := r.lentOut(ctx)
	if err != nil {
		return nil, err
	}
	stops, err := r.stopUses(ctx)
	if err != nil {
		return nil, err
	}
	acting, err := r.actsNow(ctx)
	if err != nil {
		return nil, err
	}
	var bad []string
	for _, u := range stops {
		bad = append(bad, r.stopName(u))
	}
	field("Lines", states)
	field("Past its limit", late)
	field("Expected by next week", p.promised(open))
	field("On loan", out)
	field("Kits nobody answered for in a week", unknown)
	field(fmt.Sprintf("Not on kit list %d yet", r.Department.InForce), waiting)
	field("Shelves below their minimum", low)
	field("Stop-use", bad)
	field("Acting", acting)
	return fields, nil
}

// mostNotes is how many entries of a kind the lead's page shows.
const mostNotes = 8

// latest lists the entries of a kind of the last 90 days, equal subjects
// counted together, the most often named first.
func (r *Request) latest(ctx context.Context, kind, name string) (bot.Field, error) {
	entries, err := r.Books.Entries(ctx, r.Department.Slug, kind, "", r.Now.AddDate(0, 0, -90))
	if err != nil {
		return bot.Field{}, fmt.Errorf("read %s entries: %w", kind, err)
	}
	if len(entries) == 0 {
		return bot.Field{Name: name, Value: "none in 90 days"}, nil
	}
	var lines []string
	for i, group := range bySubject(entries) {
		if i == mostNotes {
			lines = append(lines, "and more")
			break
		}
		line, err := r.entryWords(group[len(group)-1])
		if err != nil {
			return bot.Field{}, err
		}
		if len(group) > 1 {
			line += fmt.Sprintf(" (%d times)", len(group))
		}
		lines = append(lines, line)
	}
	return bot.Field{Name: name, Value: strings.Join(lines, "; ")}, nil
}

// bySubject groups entries by subject, the largest group first.
func bySubject(entries []bot.Entry) [][]bot.Entry {
	groups := groupBy(entries, func(e bot.Entry) string { return e.Subject })
	slices.SortStableFunc(groups, func(a, b []bot.Entry) int { return len(b) - len(a) })
	return groups
}

func (r *Request) entryWords(e bot.Entry) (string, error) {
	switch e.Kind {
	case noteKind:
		n, err := decode[note](e)
		return fmt.Sprintf("%s (for %s, %s)", n.Text, n.Desk, r.day(e.At)), err
	case unansweredKind:
		q, err := decode[unanswered](e)
		if q.Nearest != "" {
			q.Question += " (nearest card: " + q.Nearest + ")"
		}
		return q.Question, err
	}
	return e.Subject, nil
}

// RecordsCommand says how much is on record.
func RecordsCommand() Command {
	return Command{
		Name:    string(understand.Records),
		Usage:   "what is on record",
		For:     department.Officer,
		Summary: "See how much is on record: checks, uses, drills, wishes.",
		Run:     records,
	}
}

func records(ctx context.Context, r *Request) (Result, error) {
	since := r.Now.AddDate(-1, 0, 0)
	reply := bot.Reply{Title: "On record in 12 months"}
	for _, part := range []struct{ kind, name string }{
		{checkKind, "Kit checks answered"}, {useKind, "Uses of the kit"}, {wishKind, "Wishes"}, {unansweredKind, "Questions without a card"},
	} {
		entries, err := r.Books.Entries(ctx, r.Department.Slug, part.kind, "", since)
		if err != nil {
			return Result{}, fmt.Errorf("read %s entries: %w", part.kind, err)
		}
		reply.Fields = append(reply.Fields, bot.Field{Name: part.name, Value: fmt.Sprint(len(entries))})
	}
	answers, err := r.drillAnswers(ctx)
	if err != nil {
		return Result{}, err
	}
	done := bot.Field{Name: "Drills done", Value: fmt.Sprint(training.DrillsDone(answers, since))}
	reply.Fields = slices.Insert(reply.Fields, 2, done)
	return Answer(reply), nil
}
