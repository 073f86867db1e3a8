package storetest

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot"
	"kitbell/bot/deliver"
	"kitbell/bot/store"
)

// posted adds posts to the outbox.
func posted(t *testing.T, db *store.DB, posts ...bot.Outgoing) {
	t.Helper()
	turn := Turn("")
	turn.Posts = posts
	check(t, db.Apply(t.Context(), turn))
}

// wantReady checks which posts may go at a moment, and when to look again.
func wantReady(t *testing.T, db *store.DB, at time.Time, next time.Time, keys ...string) []deliver.Item {
	t.Helper()
	items, got, err := db.Ready(t.Context(), at, 10)
	check(t, err)
	if !got.Equal(next) {
		t.Errorf("look again at %v, want %v", got, next)
	}
	var ready []string
	for _, item := range items {
		ready = append(ready, item.Message.Key)
	}
	if !cmp.Equal(ready, keys) {
		t.Errorf("ready: %v, want %v", ready, keys)
	}
	return items
}

// wantMoving checks whether the outbox has something to do at a moment.
func wantMoving(t *testing.T, db *store.DB, at time.Time, want bool) {
	t.Helper()
	if got, err := db.Moving(t.Context(), at); err != nil || got != want {
		t.Errorf("moving: %v, %v, want %v", got, err, want)
	}
}

// send takes a ready post through one try.
func send(t *testing.T, db *store.DB, item deliver.Item, o deliver.Outcome) {
	t.Helper()
	check(t, db.MarkSending(t.Context(), item.ID))
	check(t, db.Settle(t.Context(), item.ID, o))
}

func postsByLane(t *testing.T, open Opener) {
	db := fresh(t, open)
	select {
	case <-db.Posted():
		t.Error("rang before anything was posted")
	default:
	}
	private := Post("p1", "a")
	private.To.Person, private.Edit = "u1", &bot.MessageRef{Address: private.To, ID: "m"}
	posted(t, db, Post("a1", "a"), Post("a2", "a"), Post("b1", "b"), private, Post("a1", "a"))
	<-db.Posted()
	var none time.Time
	items := wantReady(t, db, Noon, none, "a1", "b1", "p1")
	if diff := cmp.Diff(private, items[2].Message); diff != "" {
		t.Error(diff)
	}
	if few, _, err := db.Ready(t.Context(), Noon, 2); err != nil || len(few) != 2 {
		t.Errorf("at most 2: %v, %v", few, err)
	}

	check(t, db.MarkSending(t.Context(), items[0].ID))
	wantError(t, db.MarkSending(t.Context(), items[0].ID), bot.ErrConflict)
	wantReady(t, db, Noon, none, "b1", "p1") // a's first is on its way
	_, err := db.SentAs(t.Context(), Department, "a1")
	wantError(t, err, bot.ErrNotFound)
	ref := bot.MessageRef{Address: items[0].Message.To, ID: "m7"}
	check(t, db.Settle(t.Context(), items[0].ID, deliver.Outcome{State: deliver.Sent, Ref: ref}))
	wantError(t, db.Settle(t.Context(), items[0].ID, deliver.Outcome{State: deliver.Failed}), bot.ErrConflict)
	if got, err := db.SentAs(t.Context(), Department, "a1"); err != nil || !cmp.Equal(got, ref) {
		t.Errorf("sent as %v, %v", got, err)
	}
	posted(t, db, Post("a1", "a")) // a key that was sent is not sent again
	wantReady(t, db, Noon, none, "a2", "b1", "p1")
	send(t, db, items[1], deliver.Outcome{State: deliver.Failed, Tries: 3, Reason: "gone"})
	send(t, db, items[2], deliver.Outcome{State: deliver.PossiblySent, Reason: "cut"})
	wantReady(t, db, Noon, none, "a2")
}

func postsWait(t *testing.T, open Opener) {
	db := fresh(t, open)
	wantMoving(t, db, Noon, false)
	posted(t, db, Post("a1", "a"), Post("a2", "a"), Post("b1", "b"))
	wantMoving(t, db, Noon, true)
	var none time.Time
	items := wantReady(t, db, Noon, none, "a1", "b1")
	later := Noon.Add(40 * time.Second)
	send(t, db, items[0], deliver.Outcome{State: deliver.Waiting, Tries: 4, NotBefore: later, Reason: "busy"})
	send(t, db, items[1], deliver.Outcome{State: deliver.Sent})
	wantMoving(t, db, Noon, false) // a2 waits behind a1
	wantMoving(t, db, later, true)
	posted(t, db, Post("b2", "b"))
	wantReady(t, db, Noon, later, "b2") // a2 keeps its place behind a1
	if again := wantReady(t, db, later, none, "b2", "a1"); len(again) == 2 && again[1].Tries != 4 {
		t.Errorf("tries: %+v", again[1])
	}
	wantReady(t, db, Noon.Add(-24*time.Hour), none, "b2", "a1") // the clock was set back a day: nobody waits for that
}

func interruptedPosts(t *testing.T, open Opener) {
	place := t.TempDir()
	db := open(t, place)
	posted(t, db, Post("a1", "a"), Post("b1", "b"), Post("a2", "a"))
	var none time.Time
	items := wantReady(t, db, Noon, none, "a1", "b1")
	check(t, db.MarkSending(t.Context(), items[0].ID))
	check(t, db.Close())

	db = open(t, place)
	defer db.Close()
	send(t, db, wantReady(t, db, Noon, none, "b1")[0], deliver.Outcome{State: deliver.Failed})
	wantMoving(t, db, Noon, true) // a1 is on its way
	left, err := db.Interrupted(t.Context())
	check(t, err)
	if len(left) != 1 || left[0].Message.Key != "a1" || left[0].Department != Department {
		t.Fatalf("interrupted: %+v", left)
	}
	check(t, db.Settle(t.Context(), left[0].ID, deliver.Outcome{State: deliver.PossiblySent, Reason: "interrupted"}))
	wantReady(t, db, Noon, none, "a2")
}
