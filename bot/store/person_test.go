package store_test

import (
	"slices"
	"testing"

	"kitbell/bot/store"
)

// Every table is one that may hold something of a person, and then it is looked
// into, or one that is known to hold nothing.
func TestPersonIsLookedForEverywhere(t *testing.T) {
	nobody := []string{"cursors", "due", "leases", "numbers", "settings"}
	for _, table := range tablesOf(t, little(t)) {
		if looked := slices.Contains(store.HeldTables(), table); looked == slices.Contains(nobody, table) {
			t.Errorf("%s: looked into %v", table, looked)
		}
	}
}
