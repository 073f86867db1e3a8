package storetest

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/deliver"
	"kitbell/bot/kit"
	"kitbell/bot/store"
)

// oldAndNew writes one of everything that can be removed at Noon, and one of
// everything a year later.
func oldAndNew(t *testing.T, db *store.DB) (later time.Time) {
	t.Helper()
	later = Noon.AddDate(1, 0, 0)
	for i, at := range []time.Time{Noon, later} {
		id := fmt.Sprint("e", i)
		report := Report("door-strap")
		report.Note, report.At = "words of a report", at
		opened := kit.File(nil, report, 2*i+1)
		closed, _ := kit.Close([]kit.Line{opened.New}, opened.New.Kit, opened.New.Item, kit.BackInKit, "p-marsh", at)
		still := Report(fmt.Sprint("item-", i))
		still.Note, still.At = "words of an open line", at
		taken := bot.NewEntry("use", "k07", "a-crew", at, map[string]any{"note": "words of an entry", "tries": 3, "door": map[string]any{"Note": "words inside"}})
		question := entry("unanswered", "safe", at)
		turn := received(t, db, id, opened, closed, kit.File(nil, still, 2*i+2), bot.Written{Entry: taken}, bot.Written{Entry: question},
			kit.PhotoKept{Photo: kit.Photo{Name: id, Line: 2*i + 1, By: "a-crew", At: at, JPEG: []byte("x")}},
			kit.PhotoKept{Photo: kit.Photo{Name: id + "-open", Line: 2*i + 2, By: "a-crew", At: at, JPEG: []byte("x")}})
		turn.At, turn.Posts = at, []bot.Outgoing{Post(id, "a")}
		check(t, db.Apply(t.Context(), turn))
	}
	wrong, _, err := db.Latest(t.Context(), Department, "unanswered", "safe")
	check(t, err)
	check(t, db.Apply(t.Context(), Turn("", bot.Withdrawn{Entry: wrong, At: Noon})))
	check(t, db.Apply(t.Context(), Turn("", bot.Written{Entry: entry("seen", "x", later)}))) // has the highest id
	items, _, err := db.Ready(t.Context(), later, 9)
	check(t, err)
	check(t, db.MarkSending(t.Context(), items[0].ID))
	check(t, db.Settle(t.Context(), items[0].ID, deliver.Outcome{State: deliver.Sent, Ref: bot.MessageRef{ID: "m0"}}))
	return later
}

// oldThingsGo removes one kind after the other: what is old and over goes, the rest
// stays, the audit is sound and says how much went.
func oldThingsGo(t *testing.T, open Opener) {
	for _, row := range []struct {
		sweep store.Sweep
		want  int64
		rows  int64 // that Expire touches, where that is not the same
	}{
		{store.Sweep{Of: store.SweepEvents}, 1, 0},
		{store.Sweep{Of: store.SweepPosts}, 1, 0},
		{store.Sweep{Of: store.SweepLineNotes}, 1, 2},
		{store.Sweep{Of: store.SweepEntryNotes}, 2, 0}, // every body of the suite has a note
		{store.Sweep{Of: store.SweepPhotos}, 1, 0},
		{store.Sweep{Of: store.SweepAuditTexts}, 9, 0},
		{store.Sweep{Of: store.SweepEntries, Kind: "unanswered"}, 1, 0},
		{store.Sweep{Of: store.SweepEntries, Kind: "none"}, 0, 0},
		{store.Sweep{Of: store.SweepWithdrawn}, 1, 0},
	} {
		t.Run(string(row.sweep.Of)+" "+row.sweep.Kind, func(t *testing.T) {
			db := fresh(t, open)
			later := oldAndNew(t, db)
			row.sweep.Before = later
			switch row.sweep.Of {
			case store.SweepPosts: // settled by the machine's clock
				row.sweep.Before = time.Now().AddDate(1, 0, 0)
			case store.SweepAuditTexts: // what is removed is noted by it too
				row.sweep.Before = Noon.Add(1)
			}
			n, err := db.Expired(t.Context(), Department, row.sweep)
			if err != nil || n != row.want {
				t.Errorf("%d would go, want %d; %v", n, row.want, err)
			}
			before, err := db.VerifyAudit(t.Context(), Department)
			check(t, err)
			removed, err := db.Expire(t.Context(), Department, row.sweep)
			if err != nil || removed != max(row.want, row.rows) {
				t.Errorf("%d went, want %d; %v", removed, max(row.want, row.rows), err)
			}
			again, err := db.Expire(t.Context(), Department, row.sweep)
			if again != 0 || err != nil {
				t.Errorf("%d went in a second turn; %v", again, err)
			}
			after, err := db.VerifyAudit(t.Context(), Department)
			if want := before + min(1, row.want); err != nil || after != want {
				t.Errorf("audit: %d rows, want %d; %v", after, want, err)
			}
			tail, err := db.AuditTail(t.Context(), Department, 1)
			check(t, err)
			if got := tail[0]; row.want > 0 && (got.Verb != "expired" || got.Actor != "retention" || !strings.Contains(got.Subject, fmt.Sprintf(": %d from before", removed))) {
				t.Errorf("the audit says %+v", got)
			}
			staysSound(t, db, row.sweep)
		})
	}
}

// staysSound looks at what has to be there whatever was removed.
func staysSound(t *testing.T, db *store.DB, swept store.Sweep) {
	t.Helper()
	for number, note := range map[int]string{1: "words of a report", 2: "words of an open line", 3: "words of a report", 4: "words of an open line"} {
		if swept.Of == store.SweepLineNotes && number == 1 {
			note = ""
		}
		line, err := db.Line(t.Context(), Department, number)
		check(t, err)
		history, err := db.History(t.Context(), Department, number)
		check(t, err)
		if line.Note != note || history[len(history)-1].New != line || history[0].New.Note != note {
			t.Errorf("line %d: %+v, want the note %q", number, line, note)
		}
	}
	uses, err := db.Entries(t.Context(), Department, "use", "", time.Time{})
	check(t, err)
	for i, e := range uses {
		gone := swept.Of == store.SweepEntryNotes && i == 0
		if len(uses) != 2 || strings.Contains(string(e.Body), "words") == gone || !strings.Contains(string(e.Body), `"tries":3`) {
			t.Errorf("use: %s", e.Body)
		}
	}
	for name, there := range map[string]bool{"e0": swept.Of != store.SweepPhotos, "e0-open": true, "e1": true, "e1-open": true} {
		if _, err := db.Photo(t.Context(), Department, name); (err == nil) != there {
			t.Errorf("photo %s: %v, want it there: %v", name, err, there)
		}
	}
	if ref, err := db.SentAs(t.Context(), Department, "e0"); err != nil || ref.ID != "m0" {
		t.Errorf("reference of what was sent: %+v, %v", ref, err)
	}
	if isNew, err := db.Receive(t.Context(), Event("e1")); err != nil || isNew {
		t.Errorf("a young event is known: %v, %v", !isNew, err)
	}
	seen, err := db.Entries(t.Context(), Department, "seen", "", time.Time{})
	if err != nil || len(seen) != 1 {
		t.Errorf("others' entries: %v, %v", seen, err)
	}
}

// manyOldThings goes in batches, so that nobody waits long for the writer, each with
// its count in the audit.
func manyOldThings(t *testing.T, open Opener) {
	db := fresh(t, open)
	var changes []bot.Change
	for range store.SweepBatch + 5 {
		changes = append(changes, bot.Written{Entry: entry("riding", "x", Noon)})
	}
	check(t, db.Apply(t.Context(), Turn("", append(changes, bot.Written{Entry: entry("use", "x", Noon)})...)))
	sweep := store.Sweep{Of: store.SweepEntries, Kind: "riding", Before: Noon.Add(1)}
	for i, want := range []int64{store.SweepBatch, 5, 0} {
		if n, err := db.Expire(t.Context(), Department, sweep); err != nil || n != want {
			t.Errorf("batch %d: %d went, want %d; %v", i, n, want, err)
		}
	}
}
