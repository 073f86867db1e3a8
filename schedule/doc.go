// Package schedule knows when: which platoon is on duty (Rotation), when a
// cron entry comes round (Cron, Entry), what fell due and waits for a crew
// (Due, Advance), the loop that wakes for the next of these moments (Loop), and
// when a memory has faded (MemoryModel).
//
// The smallest use:
//
//	rotation, err := schedule.NewRotation(schedule.Plan{Names: []string{"A", "B", "C"},
//		Pattern: "48/96", Changes: []time.Duration{7*time.Hour + 30*time.Minute}, Start: day, Zone: zone})
//	tour := rotation.TourAt(clock.Now()) // platoon, start, end
//
// It does not know kits, members or chat; whoever calls it says what is due for
// whom. It stores nothing: Fell, Carried and Advanced are changes for the store.
package schedule
