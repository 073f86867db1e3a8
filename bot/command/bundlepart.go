package command

import (
	"context"
	"fmt"
	"slices"
	"time"

	"kitbell/bot"
	"kitbell/schedule"
)

// Part is one thing that a post of the schedule carries, or would carry and is
// held or left out.
type Part struct {
	Department string
	At         time.Time // in the department's zone
	To         []bot.Address
	Unit       string // empty for the department as a whole
	Platoon    string // on duty then
	Kind       string // check, nudge, drill, digest, news, loan, kit-away, kit-list, stop-use, fetch
	Topic      string
	Why        string // what made it due
	Skipped    string // why it is not in a post now; empty when it is
	Due        int64  // row of what is due: a part that is held comes again under the same one
}

// Crew names whom a part is for.
func (p Part) Crew() string {
	if p.Unit == "" {
		return "the lead"
	}
	return p.Unit + " " + p.Platoon
}

// partKinds are the kinds of due things by the word that their topic begins with.
var partKinds = map[string]string{
	againTopic: "nudge", loanTopic: "loan", kitTopic: "kit-away", listTopic: "kit-list", stopTopic: "stop-use", fetchTopic: "fetch",
}

func (p page) part(d schedule.Due) Part {
	part := Part{
		Department: p.Department.Slug, At: p.Now.In(p.Department.Zone), To: channels(p.Department, p.place()),
		Unit: p.unit, Platoon: p.tour.Platoon, Kind: string(d.Kind), Due: d.ID, Why: p.why(d),
	}
	word, rest := press(d.Topic)
	switch kind, known := partKinds[word]; {
	case known && d.Kind != schedule.DrillDue:
		part.Kind, part.Topic = kind, rest
		if kind == "nudge" {
			part.Topic = ""
		}
	case word == afterUseTopic:
	default:
		part.Topic = d.Topic
	}
	return part
}

// why says what made a thing due, and when, where that is not now.
func (p page) why(d schedule.Due) string {
	why := "entry " + d.Entry
	switch word, _ := press(d.Topic); {
	case word == againTopic:
		return fmt.Sprintf("entry %s was not answered before", d.Entry)
	case word == afterUseTopic:
		return "the kit was used " + p.day(d.At)
	case d.Kind == schedule.NewsDue:
		why = d.Entry
	}
	why += ", due " + p.moment(d.At)
	if d.Missed > 0 {
		why += fmt.Sprintf(", and %s before it", plural(d.Missed, "time"))
	}
	if d.Late {
		why += ", posted late"
	} else if d.At.Before(p.Now.Add(-schedule.LateAfter)) {
		why += ", moved to the morning hours of a tour without a post"
	}
	return why
}

// parts says what a post carries of what was asked for, and what it leaves out.
func (p page) parts(ctx context.Context, asked, still, open []schedule.Due) ([]Part, error) {
	has := func(dues []schedule.Due, d schedule.Due) bool {
		return slices.ContainsFunc(dues, func(o schedule.Due) bool { return o.ID == d.ID })
	}
	var parts []Part
	for _, d := range asked {
		part := p.part(d)
		switch {
		case !has(still, d):
			part.Skipped = "answered or settled since it fell due"
		case !has(open, d):
			part.Skipped = "put off for this tour; comes again in the next one"
		case d.Kind == schedule.CheckDue:
			if _, carries, err := p.firstKitOn(ctx, p.unit); err != nil {
				return nil, err
			} else if !carries {
				part.Skipped = "no kit rides on " + p.unitName(p.unit) + "; the post says so"
			}
		case d.Kind == schedule.DrillDue && part.Topic == "":
			given, _, err := p.nextDrill(ctx, false)
			if err != nil {
				return nil, err
			}
			part.Topic = given.Drill.Topic
		}
		parts = append(parts, part)
	}
	return parts, nil
}

// tell notes parts where somebody wants to hear of them.
func (b *Bundler) tell(told *[]Part, parts []Part) {
	if b.Told != nil {
		*told = append(*told, parts...)
	}
}

// held are the parts that wait, of what has fallen due.
func (p page) held(dues []schedule.Due, until time.Time) []Part {
	var parts []Part
	for _, d := range dues {
		if d.At.After(p.Now) {
			continue
		}
		part := p.part(d)
		part.Skipped = "held until " + p.moment(until)
		parts = append(parts, part)
	}
	return parts
}
