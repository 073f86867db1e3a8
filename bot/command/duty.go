package command

import (
	"context"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/understand"
	"kitbell/schedule"
)

// DutyCommand says which platoon is on, now or on a day, and when one is back.
func DutyCommand() Command {
	return Command{
		Name:    string(understand.Duty),
		Usage:   "who's on Friday, when is B back, when do we work next",
		Summary: "See which platoon is on duty, and when. hours a week shows how long.",
		Run:     showDuty,
	}
}

func showDuty(_ context.Context, r *Request) (Result, error) {
	mine := mineTours.MatchString(r.Event.Text) && r.Who.Platoon != "" && r.Department.Rotation.Has(r.Who.Platoon)
	switch {
	case weekWords.MatchString(r.Event.Text):
		return r.week()
	case mine && len(r.Reading.Platoons) == 0 && len(r.Reading.Days) == 0:
		return r.nextTours(r.Who.Platoon)
	case len(r.Reading.Platoons) > 0:
		return r.whenBack(r.Reading.Platoons[0])
	case len(r.Reading.Days) > 0:
		return r.onDay(r.Reading.Days[0])
	}
	tour := r.Department.Rotation.TourAt(r.Now)
	next := r.Department.Rotation.PlatoonAt(tour.End)
	return Say(fmt.Sprintf("%s platoon is on until %s. Then %s.", tour.Platoon, r.moment(tour.End), next)), nil
}

var (
	mineTours = regexp.MustCompile(`(?i)\b(?:i|we|our|my|us)\b`)
	weekWords = regexp.MustCompile(`(?i)\b(?:average|hours)\b.*\b(?:week|period)|\bweekly hours\b`)
)

// mostTours is how many tours to come are shown.
const mostTours = 4

// nextTours are a platoon's tours to come, the one that is on included.
func (r *Request) nextTours(platoon string) (Result, error) {
	reply := bot.Reply{Title: platoon + " platoon's next tours"}
	for _, t := range r.Department.Rotation.NextTours(platoon, r.Now, mostTours) {
		words := fmt.Sprintf("%s to %s", r.moment(t.Start), r.moment(t.End))
		if t.Holds(r.Now) {
			words += " (on now)"
		}
		reply.Steps = append(reply.Steps, words)
	}
	return Answer(reply), nil
}

// workPeriod is the longest work period that the limit of hours knows, in days.
const workPeriod = 28

// week says how long the platoons are on duty in an average week, and in the
// work period to come beside the federal limit. It is information: the
// department's own rules and its labor contract decide.
func (r *Request) week() (Result, error) {
	rotation := r.Department.Rotation
	limit, err := schedule.FireLimit(workPeriod)
	if err != nil {
		return Result{}, fmt.Errorf("look up limit of hours: %w", err)
	}
	reply := bot.Reply{Title: "Hours on duty"}
	for _, p := range rotation.Platoons() {
		reply.Steps = append(reply.Steps, fmt.Sprintf("%s platoon: %.4g h in an average week, %.4g h in the next %d days", p,
			rotation.AverageWeek(p).Hours(), rotation.HoursOn(p, r.Now, r.Now.AddDate(0, 0, workPeriod)).Hours(), workPeriod))
	}
	reply.Fields = []bot.Field{{Name: "Limit", Value: fmt.Sprintf("%d h in a work period of %d days before overtime is owed in the United States (29 CFR 553.230), Kelly days not counted. Information, not advice.", limit, workPeriod)}}
	return Answer(reply), nil
}

func (r *Request) whenBack(platoon string) (Result, error) {
	rotation := r.Department.Rotation
	if !rotation.Has(platoon) {
		return Say(fmt.Sprintf("There is no %s platoon here. There are %s.", platoon, list(rotation.Platoons(), "and"))), nil
	}
	tours := rotation.NextTours(platoon, r.Now, 2)
	first := tours[0]
	if first.Holds(r.Now) {
		return Say(fmt.Sprintf("%s platoon is on now, until %s. Back after that: %s.", platoon, r.moment(first.End), r.moment(tours[1].Start))), nil
	}
	return Say(fmt.Sprintf("%s platoon is back %s, until %s.", platoon, r.moment(first.Start), r.moment(first.End))), nil
}

func (r *Request) onDay(word string) (Result, error) {
	day, ok := dayOf(word, r.Now.In(r.Department.Zone))
	if !ok {
		return Say("Which day do you mean? Say a weekday, or a date like 2026-12-24."), nil
	}
	begin := r.Department.Rotation.TourAt(day)
	end := r.Department.Rotation.TourAt(day.AddDate(0, 0, 1).Add(-time.Minute))
	name := day.Format("Mon 2 Jan")
	if begin.Platoon == end.Platoon {
		return Say(fmt.Sprintf("%s: %s platoon all day, until %s.", name, begin.Platoon, r.moment(begin.End))), nil
	}
	return Say(fmt.Sprintf("%s: %s platoon until %s, then %s.", name, begin.Platoon, begin.End.In(r.Department.Zone).Format("15:04"), end.Platoon)), nil
}

// moment says an instant with weekday and zone, as the station's clock shows it.
func (r *Request) moment(t time.Time) string {
	return t.In(r.Department.Zone).Format("Mon 2 Jan 15:04 MST")
}

// dayOf is the local midnight of a day word, seen from now: the next such
// weekday, today included; with "next " before it, today left out. "12-25" is the
// next such day of the year, and "+3d" three days ahead.
func dayOf(word string, now time.Time) (time.Time, bool) {
	today := time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, now.Location())
	switch word = strings.ToLower(word); word {
	case "today", "tonight", "now":
		return today, true
	case "tomorrow":
		return today.AddDate(0, 0, 1), true
	case "yesterday":
		return today.AddDate(0, 0, -1), true
	}
	if date, err := time.ParseInLocation(time.DateOnly, word, now.Location()); err == nil {
		return date, true
	}
	if ahead, ok := daysAhead(word); ok {
		return today.AddDate(0, 0, ahead), true
	}
	if day, ok := dayOfYear(word, today); ok {
		return day, true
	}
	first := 0
	if after, ok := strings.CutPrefix(word, "next "); ok {
		word, first = after, 1
	}
	for ahead := range 7 {
		day := today.AddDate(0, 0, first+ahead)
		if strings.ToLower(day.Weekday().String()) == word {
			return day, true
		}
	}
	return time.Time{}, false
}

// mostDaysAhead is as far as a rotation is looked up: two years.
const mostDaysAhead = 731

// daysAhead reads "+3d".
func daysAhead(word string) (int, bool) {
	digits, ok := strings.CutSuffix(word, "d")
	if !ok || !strings.HasPrefix(digits, "+") {
		return 0, false
	}
	n, err := strconv.Atoi(digits[1:])
	return n, err == nil && n >= 0 && n <= mostDaysAhead
}

// dayOfYear reads "12-25" as the next such day, today included. The 29th of
// February is looked for in the years ahead.
func dayOfYear(word string, today time.Time) (time.Time, bool) {
	for ahead := range 9 {
		date, err := time.ParseInLocation(time.DateOnly, fmt.Sprintf("%04d-%s", today.Year()+ahead, word), today.Location())
		if err == nil && !date.Before(today) {
			return date, true
		}
	}
	return time.Time{}, false
}

// RidingCommand notes the rig that a person rides until the change of tour.
func RidingCommand() Command {
	return Command{
		Name:    string(understand.Riding),
		Usage:   "riding E2 today",
		Summary: "Say which rig you ride. It lasts until the change of tour.",
		Private: true,
		Run:     noteRiding,
	}
}

func noteRiding(_ context.Context, r *Request) (Result, error) {
	unit := r.Reading.Unit
	if unit == "" || !r.Reading.UnitNamed {
		return Answer(r.question(understand.Question{About: understand.AskUnit})), nil
	}
	tour := r.Department.Rotation.TourAt(r.Now)
	entry := bot.NewEntry(ridingKind, r.Who.Person, r.Who.Person, r.Now, riding{Unit: unit, Until: tour.End})
	return Result{
		Posts:   []Post{{Reply: bot.Reply{Text: fmt.Sprintf("You ride %s until %s. Reports without a rig count for it.", r.unitName(unit), r.moment(tour.End)), Buttons: []bot.Button{r.undoButton()}}}},
		Changes: []bot.Change{bot.Written{Entry: entry}},
	}, nil
}
