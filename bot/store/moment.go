package store

import "time"

// Moments are kept as nanoseconds since 1970 in UTC, so that they sort, compare
// and come back exactly, on every database. The zero time is kept as 0.
func nanos(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixNano()
}

func moment(ns int64) time.Time {
	if ns == 0 {
		return time.Time{}
	}
	return time.Unix(0, ns).UTC()
}
