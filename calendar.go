package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
	"kitbell/schedule"
)

// runCalendar writes a calendar feed: of one rig, or of the lead, who sees what
// is for the department as a whole and every rig's days.
func runCalendar(_ context.Context, args []string, s streams) error {
	flags := flag.NewFlagSet("calendar", flag.ContinueOnError)
	dir := flags.String("c", "", "folder of the department (the demo department)")
	unit := flags.String("unit", "", "id or name of a rig (the lead's feed)")
	platoon := flags.String("platoon", "", "only this platoon's tours")
	days := flags.Int("days", 90, "how many days")
	out := flags.String("out", "", "file to write (standard output)")
	if err := parse(flags, args, 0, s); err != nil {
		return err
	}
	if *days < 1 || *days > mostRehearsed {
		return usagef("--days is 1 to %d, not %d", mostRehearsed, *days)
	}
	all, err := pocketDesks(*dir, s.err)
	if err != nil {
		return err
	}
	now := time.Now().In(all[0].desk.Department.Zone)
	c, err := newCalendarFeed(all[0].desk, *unit, *platoon)
	if err != nil {
		return err
	}
	write := func(w io.Writer) error {
		return schedule.WriteCalendar(w, c.name, now, c.events(now, now.AddDate(0, 0, *days)))
	}
	if *out == "" {
		return write(s.out)
	}
	if err := writeFile(*out, write); err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.out, "Wrote %s: the calendar of %s for %d days.\n", *out, c.name, *days)
	return err
}

// calendarFeed is what one feed shows.
type calendarFeed struct {
	desk          *command.Desk
	unit, platoon string
	name          string
}

func newCalendarFeed(desk *command.Desk, unit, platoon string) (calendarFeed, error) {
	c := calendarFeed{desk: desk, platoon: strings.ToUpper(platoon), name: desk.Department.Name}
	if platoon != "" && !desk.Department.Rotation.Has(c.platoon) {
		return c, &bot.UserError{Say: fmt.Sprintf("There is no %s platoon. There are %s.", platoon, strings.Join(desk.Department.Rotation.Platoons(), ", "))}
	}
	if unit == "" {
		return c, nil
	}
	i := slices.IndexFunc(desk.Department.Units, func(u department.Unit) bool { return u.ID == unit || strings.EqualFold(u.Name, unit) })
	if i < 0 {
		return c, &bot.UserError{Say: fmt.Sprintf("There is no rig %s. Name one as the department's file does, such as %s.", unit, desk.Department.Units[0].ID)}
	}
	c.unit, c.name = desk.Department.Units[i].ID, desk.Department.Units[i].Name
	return c, nil
}

// events are the tours, and what the file's entries make due.
func (c calendarFeed) events(from, to time.Time) []schedule.Event {
	d := c.desk.Department
	domain := d.Slug + ".kitbell.invalid"
	events := d.Rotation.TourEvents(c.platoon, domain, from, to)
	for _, e := range d.Entries {
		units := e.Units
		if len(units) == 0 {
			units = []string{""}
		}
		for _, unit := range units {
			if c.unit == "" || c.unit == unit {
				events = append(events, e.Events(unit, domain, from, to, c.title(unit))...)
			}
		}
	}
	return events
}

// title says what is due in words; the lead's feed names the rig too.
func (c calendarFeed) title(unit string) func(schedule.Kind, string) string {
	return func(kind schedule.Kind, topic string) string {
		words := map[schedule.Kind]string{schedule.CheckDue: "Kit check", schedule.DrillDue: "Drill", schedule.Digest: "Digest of the kit programme"}[kind]
		if card, ok := c.desk.Cards.Card(topic); ok {
			words += ": " + card.Title
		}
		if u, ok := c.desk.Department.Unit(unit); ok && c.unit == "" {
			words = u.Name + ": " + words
		}
		return words
	}
}
