package schedule

import (
	"fmt"
	"io"
	"time"

	ical "github.com/arran4/golang-ical"
)

// Event is one thing in a calendar feed.
type Event struct {
	UID        string // the same for the same thing in every feed that is made; unique among the department's
	Title      string
	Note       string
	Start, End time.Time
}

// productID names what made a feed.
const productID = "-//kitbell//calendar//EN"

// WriteCalendar writes events as an iCalendar feed (RFC 5545) that other
// programs subscribe to. stamp is when it was made. Moments are written in UTC,
// so that a feed needs no table of zones and no reader can misread one.
func WriteCalendar(w io.Writer, name string, stamp time.Time, events []Event) error {
	feed := ical.NewCalendar()
	feed.SetProductId(productID)
	feed.SetMethod(ical.MethodPublish)
	feed.SetXWRCalName(name)
	for _, e := range events {
		if !e.End.After(e.Start) {
			return fmt.Errorf("write calendar: %s ends at %s and begins at %s", e.UID, e.End, e.Start)
		}
		entry := feed.AddEvent(e.UID)
		entry.SetDtStampTime(stamp.UTC())
		entry.SetStartAt(e.Start.UTC())
		entry.SetEndAt(e.End.UTC())
		entry.SetSummary(e.Title)
		if e.Note != "" {
			entry.SetDescription(e.Note)
		}
	}
	if err := feed.SerializeTo(w, ical.WithNewLineWindows); err != nil {
		return fmt.Errorf("write calendar: %w", err)
	}
	return nil
}

// How long a due thing takes in a calendar.
var lasts = map[Kind]time.Duration{CheckDue: 20 * time.Minute, DrillDue: 10 * time.Minute, Digest: 15 * time.Minute}

// TourEvents are the tours from a moment up to another, of one platoon or, when
// that is empty, of all. domain makes their ids the department's own.
func (r Rotation) TourEvents(platoon, domain string, from, to time.Time) []Event {
	var events []Event
	for _, t := range r.Tours(from, to) {
		if platoon != "" && t.Platoon != platoon {
			continue
		}
		events = append(events, Event{
			UID: fmt.Sprintf("tour-%s-%s@%s", t.Platoon, t.Start.UTC().Format("20060102T150405Z"), domain), Title: t.Platoon + " platoon on duty", Start: t.Start, End: t.End,
		})
	}
	return events
}

// Events are the moments of an entry after from up to and including to, as what
// is due then for a unit; an empty unit is the department. title says a kind and
// its topic in words.
func (e Entry) Events(unit, domain string, from, to time.Time, title func(Kind, string) string) []Event {
	var events []Event
	for _, m := range e.Cron.Between(from, to, e.Zone) {
		events = append(events, Event{
			UID:   fmt.Sprintf("%s-%s-%s@%s", e.ID, unit, m.Wall, domain),
			Title: title(e.Kind, e.Topic), Note: "Comes in the tour's post: " + e.Cron.Words() + ".", Start: m.At, End: m.At.Add(lasts[e.Kind]),
		})
	}
	return events
}
