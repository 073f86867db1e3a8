package schedule

import (
	"time"

	"kitbell/bot"
)

// LateAfter is how long after its moment a thing still counts as in time.
const LateAfter = 10 * time.Minute

// Occurrences lists what an entry makes due after from, up to and including
// to: every moment, for every unit, in the order of time.
func (e Entry) Occurrences(from, to time.Time) []Due {
	var dues []Due
	for _, m := range e.Cron.Between(from, to, e.Zone) {
		dues = append(dues, e.at(m)...)
	}
	return dues
}

// CatchUp lists what an entry made due after from, up to and including now,
// when nobody looked in between: several moments become one, the latest, which
// says how many it stands for and whether it is late.
func (e Entry) CatchUp(from, now time.Time) []Due {
	var last Moment
	moments := 0
	for m, ok := e.Cron.Next(from, e.Zone); ok && !m.At.After(now); m, ok = e.Cron.Next(m.At, e.Zone) {
		last = m
		moments++
	}
	if moments == 0 {
		return nil
	}
	dues := e.at(last)
	for i := range dues {
		dues[i].Missed = moments - 1
		dues[i].Late = moments > 1 || now.Sub(last.At) > LateAfter
	}
	return dues
}

// at is what one moment makes due, a thing for each unit.
func (e Entry) at(m Moment) []Due {
	units := e.Units
	if len(units) == 0 {
		units = []string{""}
	}
	dues := make([]Due, len(units))
	for i, u := range units {
		dues[i] = Due{Entry: e.ID, Unit: u, Wall: m.Wall, Kind: e.Kind, Topic: e.Topic, At: m.At}
	}
	return dues
}

// Collapse leaves of the things that wait the latest of each entry and unit,
// which then stands for the older ones too. The order stays.
func Collapse(waiting []Due) []Due {
	type matter struct{ entry, unit string }
	at := map[matter]int{}
	var kept []Due
	for _, d := range waiting {
		key := matter{d.Entry, d.Unit}
		i, seen := at[key]
		switch {
		case !seen:
			at[key] = len(kept)
			kept = append(kept, d)
		case d.At.After(kept[i].At):
			d.Missed += kept[i].Missed + 1
			kept[i] = d
		default:
			kept[i].Missed += d.Missed + 1
		}
	}
	return kept
}

// Advance decides what the loop writes at now: what fell due, and how far each
// entry has come. cursors are the stored ones by entry id. next is the instant
// of the next moment; zero when there are no entries.
//
// An entry that is new, or whose spec or zone was changed, begins now: what it
// would have meant before does not fall due. A cursor further ahead than the
// entry's next moment was written by a clock that has been set back; it is
// brought back, and the unique wall time keeps a moment from falling twice.
func Advance(entries []Entry, cursors map[string]Cursor, now time.Time) (changes []bot.Change, next time.Time) {
	known := map[string]bool{}
	for _, e := range entries {
		known[e.ID] = true
		wrote, comes := e.advance(cursors[e.ID], now)
		changes = append(changes, wrote...)
		if !comes.IsZero() && (next.IsZero() || comes.Before(next)) {
			next = comes
		}
	}
	for _, id := range sortedKeys(cursors) {
		if !known[id] {
			changes = append(changes, Advanced{Old: cursors[id]})
		}
	}
	return changes, next
}

func (e Entry) advance(old Cursor, now time.Time) (changes []bot.Change, next time.Time) {
	moment, ok := e.Cron.Next(now, e.Zone)
	if !ok {
		return nil, time.Time{}
	}
	want := Cursor{Entry: e.ID, Spec: e.Cron.String(), Zone: e.Zone.String(), Next: moment.At.UTC()}
	same := old.Spec == want.Spec && old.Zone == want.Zone
	if same && old.Next.Equal(want.Next) {
		return nil, want.Next
	}
	if same && !old.Next.After(now) {
		for _, d := range e.CatchUp(old.Next.Add(-1), now) {
			changes = append(changes, Fell{Due: d})
		}
	}
	return append(changes, Advanced{Old: old, New: want}), want.Next
}
