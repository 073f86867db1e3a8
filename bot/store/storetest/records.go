package storetest

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot"
	"kitbell/schedule"
)

func journalWithdraws(t *testing.T, open Opener) {
	db := fresh(t, open)
	late, early, other, elsewhere := entry("check", "k07", Noon.Add(time.Hour)), entry("check", "k07", Noon), entry("check", "k01", Noon), entry("use", "k07", Noon)
	elsewhere.Event = "import-1"
	for _, e := range []bot.Entry{late, early, other, elsewhere} {
		check(t, db.Apply(t.Context(), Turn("", bot.Written{Entry: e})))
	}
	read := func(subject string, since time.Time) []bot.Entry {
		t.Helper()
		entries, err := db.Entries(t.Context(), Department, "check", subject, since)
		check(t, err)
		return entries
	}
	withoutID := cmp.FilterPath(func(p cmp.Path) bool { return p.Last().String() == ".ID" }, cmp.Ignore())
	if diff := cmp.Diff([]bot.Entry{early, late}, read("k07", Noon), withoutID); diff != "" {
		t.Error("of a subject:", diff)
	}
	if diff := cmp.Diff([]bot.Entry{early, other, late}, read("", time.Time{}), withoutID); diff != "" {
		t.Error("of all:", diff)
	}
	if got := read("k07", Noon.Add(time.Hour)); len(got) != 1 {
		t.Errorf("since an hour later: %v", got)
	}

	mark := func(want bot.JournalMark) {
		t.Helper()
		got, err := db.Mark(t.Context(), Department, "check")
		if err != nil || got.Entries != want.Entries || (got.Last == 0) != (want.Entries == 0) || want.Last != 0 && got.Last != want.Last {
			t.Errorf("mark %+v, %v; want %+v", got, err, want)
		}
	}
	mark(bot.JournalMark{Entries: 3})
	latest, ok, err := db.Latest(t.Context(), Department, "check", "k07")
	if err != nil || !ok || !latest.At.Equal(late.At) {
		t.Fatalf("latest: %+v, %v, %v", latest, ok, err)
	}
	back := bot.Withdrawn{Entry: latest, At: Noon.Add(2 * time.Hour)}
	check(t, db.Apply(t.Context(), Turn("", back)))
	wantError(t, db.Apply(t.Context(), Turn("", back)), bot.ErrConflict)
	mark(bot.JournalMark{Entries: 2})
	if latest, _, err := db.Latest(t.Context(), Department, "check", "k07"); err != nil || !latest.At.Equal(early.At) {
		t.Errorf("latest after a withdrawal: %+v, %v", latest, err)
	}
	kept, err := db.Entry(t.Context(), Department, latest.ID)
	if err != nil || kept.Withdrawn == nil || !kept.Withdrawn.Equal(back.At) {
		t.Errorf("the entry itself: %+v, %v", kept, err)
	}
	_, err = db.Entry(t.Context(), "other", latest.ID)
	wantError(t, err, bot.ErrNotFound)
	if _, ok, err := db.Latest(t.Context(), Department, "roll-out", "k07"); ok || err != nil {
		t.Errorf("latest of no kind: %v, %v", ok, err)
	}
}

func due(unit, wall string, at time.Time) schedule.Due {
	return schedule.Due{Entry: "weekly", Unit: unit, Wall: wall, Kind: schedule.CheckDue, Topic: "kit", At: at, Late: true, Missed: 2}
}

func dueFallsOnce(t *testing.T, open Opener) {
	db := fresh(t, open)
	waiting := func(want ...schedule.Due) []schedule.Due {
		t.Helper()
		got, err := db.WaitingDue(t.Context(), Department)
		check(t, err)
		withoutID := cmp.FilterPath(func(p cmp.Path) bool { return p.Last().String() == ".ID" }, cmp.Ignore())
		if diff := cmp.Diff(want, got, withoutID); diff != "" {
			t.Error(diff)
		}
		return got
	}
	second, first := due("engine-4", "2026-11-30T09:00", Noon.Add(168*time.Hour)), due("engine-4", "2026-11-23T09:00", Noon)
	again := first
	again.Topic = "another"
	check(t, db.Apply(t.Context(), Turn("", schedule.Fell{Due: second}, schedule.Fell{Due: first}, schedule.Fell{Due: again})))
	check(t, db.Apply(t.Context(), Turn("", schedule.Fell{Due: first})))
	if n, err := db.VerifyAudit(t.Context(), Department); n != 2 || err != nil {
		t.Errorf("%d audit rows, want one for each that fell; %v", n, err)
	}
	dues := waiting(first, second)

	carried := schedule.Carried{Dues: dues[:1], Bundle: "b1", At: Noon}
	check(t, db.Apply(t.Context(), Turn("", carried)))
	waiting(second)
	both := schedule.Carried{Dues: dues, Bundle: "b2", At: Noon}
	wantError(t, db.Apply(t.Context(), Turn("", both)), bot.ErrConflict)
	waiting(second)
	check(t, db.Apply(t.Context(), Turn("", schedule.Fell{Due: first}))) // carried is not forgotten
	waiting(second)
}

func cursorsMove(t *testing.T, open Opener) {
	db := fresh(t, open)
	at := func(hours int) schedule.Cursor {
		return schedule.Cursor{Entry: "weekly", Spec: "0 9 * * 1", Zone: "America/New_York", Next: Noon.Add(time.Duration(hours) * time.Hour)}
	}
	var none schedule.Cursor
	move := func(old, new schedule.Cursor, want error) {
		t.Helper()
		wantError(t, db.Apply(t.Context(), Turn("", schedule.Advanced{Old: old, New: new})), want)
	}
	if _, ok, err := db.NextOf(t.Context(), Department, "weekly"); ok || err != nil {
		t.Errorf("an entry that was never looked at: %v, %v", ok, err)
	}
	move(none, at(1), nil)
	move(none, at(1), bot.ErrConflict)
	move(at(1), at(2), nil)
	move(at(1), at(2), bot.ErrConflict)
	if next, ok, err := db.NextOf(t.Context(), Department, "weekly"); !ok || err != nil || !next.Equal(at(2).Next) {
		t.Errorf("next: %v, %v, %v", next, ok, err)
	}
	cursors, err := db.Cursors(t.Context(), Department)
	check(t, err)
	if diff := cmp.Diff([]schedule.Cursor{at(2)}, cursors); diff != "" {
		t.Error(diff)
	}
	move(at(1), none, bot.ErrConflict)
	move(at(2), none, nil)
	if cursors, err = db.Cursors(t.Context(), Department); err != nil || len(cursors) != 0 {
		t.Errorf("after it left: %v, %v", cursors, err)
	}
}

func auditIsWhole(t *testing.T, open Opener) {
	db := fresh(t, open)
	filed(t, db, "1", Report("door-strap"))
	filed(t, db, "2", Report("door-strap"))
	check(t, db.Apply(t.Context(), Turn("", bot.Written{Entry: entry("use", "k07", Noon)})))
	elsewhere := Turn("", bot.Written{Entry: entry("use", "k07", Noon)})
	elsewhere.Department = "other"
	check(t, db.Apply(t.Context(), elsewhere))

	check(t, db.BlankAuditText(t.Context(), Department, 2))
	wantError(t, db.BlankAuditText(t.Context(), Department, 9), bot.ErrNotFound)
	for department, want := range map[string]int64{Department: 3, "other": 1, "unknown": 0} {
		if n, err := db.VerifyAudit(t.Context(), department); n != want || err != nil {
			t.Errorf("%s: %d rows, %v, want %d", department, n, err, want)
		}
	}
}

// auditIsRead finds the audits of all departments sound, and the end of one to be
// read, without what was blanked.
func auditIsRead(t *testing.T, open Opener) {
	db := fresh(t, open)
	for range 3 {
		check(t, db.Apply(t.Context(), Turn("", bot.Written{Entry: entry("use", "k07", Noon)})))
	}
	elsewhere := Turn("", bot.Written{Entry: entry("use", "k07", Noon)})
	elsewhere.Department = "other"
	check(t, db.Apply(t.Context(), elsewhere))
	check(t, db.BlankAuditText(t.Context(), Department, 2))

	audits, err := db.Audits(t.Context())
	check(t, err)
	if len(audits) != 2 || audits[0].Department != "other" || audits[0].Rows != 1 || audits[1].Rows != 3 || audits[1].Sound != 3 || audits[1].Fault != "" {
		t.Errorf("audits: %+v", audits)
	}
	tail, err := db.AuditTail(t.Context(), Department, 2)
	check(t, err)
	if len(tail) != 2 || tail[0].Seq != 2 || tail[0].New != "" || tail[0].Blanked.IsZero() || tail[1].New == "" || !tail[1].Blanked.IsZero() || !tail[1].At.Equal(Noon) {
		t.Errorf("end of the audit: %+v", tail)
	}
}
