package command

import (
	"context"
	"fmt"
	"slices"
	"time"

	"kitbell/bot/sheet"
	"kitbell/bot/training"
)

// TrainingTables are a department's training of a year: the records of its
// confirmed sessions, and the hours.
type TrainingTables struct {
	Records, Hours sheet.Table
}

// Training gives the tables of a year. Records name those who did something by
// hand and no others; hours are by unit, and by member only where names is true:
// whoever asks for those answers for where they go. The error is the store's.
func Training(ctx context.Context, d *Desk, books Books, year int, now time.Time, names bool) (TrainingTables, error) {
	r := &Request{Desk: d, Now: now, Books: books}
	entries, err := books.Entries(ctx, d.Department.Slug, sessionKind, "", time.Time{})
	if err != nil {
		return TrainingTables{}, fmt.Errorf("read sessions: %w", err)
	}
	sessions, err := sessionsOf(entries)
	if err != nil {
		return TrainingTables{}, err
	}
	zone := d.Department.Zone
	sessions = slices.DeleteFunc(sessions, func(s training.Session) bool { return heldIn(s, zone) != year })
	tally, err := training.TallyHours(training.Records(sessions), r.roster(), year, zone, d.Department.HoursTarget)
	if err != nil {
		return TrainingTables{}, fmt.Errorf("tally hours: %w", err)
	}
	if !names {
		tally.People = nil
	}
	return TrainingTables{Records: training.RecordTable(sessions, zone, r.nameThen, r.itemName), Hours: training.TallyTable(tally, r.memberName)}, nil
}

// heldIn is the year that a session counts for: as it was confirmed, for what was
// entered since counts for nothing yet.
func heldIn(s training.Session, zone *time.Location) int {
	if record, ok := s.Record(); ok {
		return record.Start.In(zone).Year()
	}
	return s.Details().Start.In(zone).Year()
}
