package storetest

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot"
	"kitbell/bot/kit"
)

func photosAreKept(t *testing.T, open Opener) {
	db := fresh(t, open)
	one := kit.Photo{Name: kit.NamePhoto("1", "F1"), Line: 41, By: "a-crew", At: Noon, JPEG: []byte{0xFF, 0xD8, 0, 1}}
	two := one
	two.Name = kit.NamePhoto("1", "F2")
	check(t, db.Apply(t.Context(), received(t, db, "1", kit.PhotoKept{Photo: one}, kit.PhotoKept{Photo: two})))
	again := one
	again.JPEG = []byte("another")
	check(t, db.Apply(t.Context(), Turn("", kit.PhotoKept{Photo: again})))

	got, err := db.Photo(t.Context(), Department, one.Name)
	check(t, err)
	if diff := cmp.Diff(one, got); diff != "" {
		t.Error("kept:", diff)
	}
	_, err = db.Photo(t.Context(), "other", one.Name)
	wantError(t, err, bot.ErrNotFound)
	of := func(line, want int) {
		t.Helper()
		if all, err := db.Photos(t.Context(), Department, line); err != nil || len(all) != want {
			t.Errorf("photos of line %d: %+v, %v; want %d", line, all, err, want)
		}
	}
	of(41, 2)
	of(42, 0)
	before, err := db.VerifyAudit(t.Context(), Department)
	check(t, err)
	for range 2 {
		check(t, db.Apply(t.Context(), Turn("", kit.PhotoDropped{Name: one.Name, Line: 41})))
	}
	of(41, 1)
	_, err = db.Photo(t.Context(), Department, one.Name)
	wantError(t, err, bot.ErrNotFound)
	if rows, err := db.VerifyAudit(t.Context(), Department); err != nil || rows != before+1 {
		t.Errorf("%d audit rows, %v; want %d: what changes nothing leaves none", rows, err, before+1)
	}
}
