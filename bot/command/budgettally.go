package command

import (
	"cmp"
	"context"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/budget"
	"kitbell/bot/understand"
)

var tallySaid = regexp.MustCompile(`(?i)^(?:show |see |the |our )*use(?:s)? and loss(?:es)?\b|^(?:losses|use|counts) (?:by|per|of each|for each) kit\b|^what happened (?:to|with) .*\bkits?\b`)

// useAndLoss shows what each kit went through in a fiscal year, counts first; for a
// rig that is named, item by item with the records.
func (r *Request) useAndLoss(ctx context.Context, ref string) (Result, error) {
	records, err := r.budgetRecords(ctx)
	if err != nil {
		return Result{}, err
	}
	kitID, yearSaid, _ := strings.Cut(ref, ":")
	year := smallNumber(yearSaid)
	if year == 0 {
		year = r.fiscalYearSaid(strings.ToLower(r.Event.Text))
	}
	if kitID == "" && len(r.Reading.Units) > 0 && r.Reading.UnitNamed {
		k, err := r.kitOfNamed(ctx)
		if err != nil {
			return Result{}, err
		}
		kitID = k
	}
	records = budget.OfYear(records, r.calendar(), year)
	about := ""
	switch items := r.Reading.Items; {
	case kitID != "":
	case r.Reading.UnknownUnit != "":
		return Result{}, r.noSuchRig()
	case r.Reading.Station != "":
		station, _ := r.Department.Station(r.Reading.Station)
		about = ", " + station.Name
		records = slices.DeleteFunc(records, func(record budget.Record) bool {
			u, _ := r.Department.Unit(record.Unit)
			return u.Station != r.Reading.Station
		})
	case len(items) > 0:
		about = ", " + r.itemName(items[0])
		records = slices.DeleteFunc(records, func(record budget.Record) bool { return record.Item != items[0] })
	}
	if kitID != "" {
		return Answer(r.kitYear(kitID, year, records)), nil
	}
	reply := bot.Reply{Title: fmt.Sprintf("Use and loss in fiscal year %d, by kit%s", year, about), Text: "By dated records. A kit without any may have none, or nobody wrote them down."}
	for _, g := range budget.Tally(records, budget.ByKit) {
		k, known := r.kitByID(g.Key)
		if !known {
			continue
		}
		reply.Fields = append(reply.Fields, bot.Field{Name: k.ID + " " + r.whereWords(k.Place), Value: r.countWords(g.Counts)})
		reply.Buttons = append(reply.Buttons, budgetButton(k.ID+": records", fmt.Sprintf("tally:%s:%d", k.ID, year)))
	}
	if len(reply.Fields) == 0 {
		reply.Text = "There are no records of that. That does not say that nothing was used or lost."
	}
	return Answer(reply), nil
}

// kitOfNamed is the kit of the rig that the message names.
func (r *Request) kitOfNamed(ctx context.Context) (string, error) {
	k, ok, err := r.firstKitOn(ctx, r.Reading.Units[0])
	if err != nil {
		return "", err
	}
	if !ok {
		return "", bot.SayNoKit.With(r.unitName(r.Reading.Units[0]))
	}
	return k.ID, nil
}

// kitYear is one kit's year: counts, then item by item with each record.
func (r *Request) kitYear(kitID string, year int, records []budget.Record) bot.Reply {
	records = slices.DeleteFunc(records, func(record budget.Record) bool { return record.Kit != kitID })
	k, _ := r.kitByID(kitID)
	reply := bot.Reply{Title: fmt.Sprintf("Kit %s in fiscal year %d, home %s", kitID, year, r.whereWords(k.Place)), Text: upperFirst(r.countWords(budget.Count(records))) + "."}
	for _, g := range budget.Tally(records, budget.ByItem) {
		var words []string
		for _, record := range g.Records {
			words = append(words, r.recordWords(record))
		}
		reply.Fields = append(reply.Fields, bot.Field{Name: upperFirst(r.itemName(g.Key)), Value: strings.Join(words, "; ")})
	}
	for _, line := range linesOfRecords(records, mostSessions) {
		reply.Buttons = append(reply.Buttons, bot.Button{Label: fmt.Sprintf("#%d", line), Value: fmt.Sprintf("%s:see:%d", understand.Queue, line)})
	}
	for _, record := range slices.Backward(records) {
		if id, ok := strings.CutPrefix(record.Entry, "use "); ok && len(reply.Buttons) < mostAsked {
			reply.Buttons = append(reply.Buttons, budgetButton("Use "+id, "use:"+id))
		}
	}
	if len(records) == 0 {
		reply.Text = "There are no records of that kit and year."
	}
	return reply
}

// showUse opens a record of use: what was used, and how it went. It names nobody.
func (r *Request) showUse(ctx context.Context, id string) (Result, error) {
	entries, err := r.Books.Entries(ctx, r.Department.Slug, useKind, "", time.Time{})
	if err != nil {
		return Result{}, fmt.Errorf("read uses: %w", err)
	}
	for _, e := range entries {
		if strconv.FormatInt(e.ID, 10) != id {
			continue
		}
		u, err := decode[use](e)
		if err != nil {
			return Result{}, err
		}
		text := strings.TrimPrefix(r.useWords(u), "Use noted: ")
		return Answer(bot.Reply{Title: fmt.Sprintf("Use %s, %s, %s", id, r.dayAndYear(e.At), r.crewName(u.Unit)), Text: upperFirst(text)}), nil
	}
	return Result{}, bot.SayOldButton.With()
}

// linesOfRecords are the queue lines behind records, each once, the latest first.
func linesOfRecords(records []budget.Record, most int) []int {
	var lines []int
	for _, record := range slices.Backward(records) {
		if record.Line > 0 && !slices.Contains(lines, record.Line) && len(lines) < most {
			lines = append(lines, record.Line)
		}
	}
	slices.SortFunc(lines, func(a, b int) int { return cmp.Compare(b, a) })
	return lines
}

// countWords are counts in words, without those that are none.
func (r *Request) countWords(c budget.Counts) string {
	var words []string
	for _, kind := range budget.Kinds() {
		if n := c.Of(kind); n > 0 {
			words = append(words, fmt.Sprintf("%s %d", kind, n))
		}
	}
	if c.Cents > 0 {
		words = append(words, r.money(c.Cents)+" paid")
	}
	if len(words) == 0 {
		return "nothing on record"
	}
	return strings.Join(words, ", ")
}
