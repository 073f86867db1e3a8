package door

import "slices"

// Merge lays newer facts over older ones: what the newer ones know wins, what
// they do not know stays, and failed techniques add up.
func Merge(older, newer Facts) Facts {
	merged := older
	for _, fact := range AllFacts() {
		if value := newer.Value(fact); value != "" {
			merged.assign(fact, value)
		}
	}
	merged.Failed = slices.Clone(older.Failed)
	for _, id := range newer.Failed {
		if !slices.Contains(merged.Failed, id) {
			merged.Failed = append(merged.Failed, id)
		}
	}
	return merged
}

// Changed lists the facts both know but with different values: what a
// correction ("no, it swings in") takes back.
func Changed(older, newer Facts) []Fact {
	var changed []Fact
	for _, fact := range AllFacts() {
		before, after := older.Value(fact), newer.Value(fact)
		if before != "" && after != "" && before != after {
			changed = append(changed, fact)
		}
	}
	return changed
}
