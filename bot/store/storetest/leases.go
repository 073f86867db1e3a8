package storetest

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"kitbell/bot/store"
)

func leasesAreHeld(t *testing.T, open Opener) {
	db := fresh(t, open)
	claim := func(name, owner string, span time.Duration, wantTerm int64, wantHeld bool) {
		t.Helper()
		term, held, err := db.Claim(t.Context(), name, owner, span)
		check(t, err)
		if held != wantHeld || held && term != wantTerm {
			t.Errorf("%s claims %s: term %d, held %v; want %d, %v", owner, name, term, held, wantTerm, wantHeld)
		}
	}
	claim("gateway", "a", time.Hour, 1, true)
	claim("gateway", "b", time.Hour, 0, false)
	claim("gateway", "a", time.Hour, 1, true) // renewed
	claim("other", "b", time.Hour, 1, true)

	check(t, db.Release(t.Context(), "gateway", "b")) // not b's to release
	claim("gateway", "b", time.Hour, 0, false)
	check(t, db.Release(t.Context(), "gateway", "a"))
	claim("gateway", "b", 0, 2, true)
	claim("gateway", "a", time.Hour, 3, true) // b's has run out
	claim("gateway", "b", time.Hour, 0, false)
}

// sharedLeaseIsHeldByOne has both claim many leases in many orders: each is held by
// one, and by the same one in every answer.
func sharedLeaseIsHeldByOne(t *testing.T, one, other *store.DB) {
	owner := map[*store.DB]string{one: "one", other: "other"}
	claimed := bothOften(t, one, other, func(db *store.DB, i int) (bool, error) {
		_, held, err := db.Claim(t.Context(), fmt.Sprint("channel-", i), owner[db], time.Hour)
		return held, err
	})
	if claimed != 40 {
		t.Errorf("40 leases were held %d times", claimed)
	}
	taken := bothOften(t, one, other, func(db *store.DB, i int) (bool, error) {
		_, held, err := db.Claim(t.Context(), fmt.Sprint("channel-", i), "third", time.Hour)
		released := db.Release(t.Context(), fmt.Sprint("channel-", i), "third")
		return held, errors.Join(err, released)
	})
	if taken != 0 {
		t.Errorf("a third held %d of them", taken)
	}
}
