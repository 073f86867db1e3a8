// Package schedule knows when: which platoon is on duty (Rotation), when a
// cron entry is due (Entry), what has become due and waits for a crew (Due),
// and the loop that wakes for the next of these moments (Run).
//
// The smallest use:
//
//	tour, err := rotation.TourAt(time.Now())   // platoon, start, end
//
// It does not know kits, members or chat; whoever calls it says what is due for
// whom.
package schedule
