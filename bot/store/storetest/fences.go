package storetest

import (
	"errors"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/deliver"
	"kitbell/bot/store"
)

// taken claims a lease for an owner that nobody else has.
func taken(t *testing.T, db *store.DB, name, owner string) store.Fence {
	t.Helper()
	term, held, err := db.Claim(t.Context(), name, owner, time.Hour)
	check(t, err)
	if !held {
		t.Fatalf("%s does not get %s", owner, name)
	}
	return store.Fence{Name: name, Owner: owner, Term: term}
}

// lapsed ends a lease as time does: its owner does not hear of it.
func lapsed(t *testing.T, db *store.DB, f store.Fence) {
	t.Helper()
	check(t, db.Release(t.Context(), f.Name, f.Owner))
}

// sharedFencesHold has one process stand still while another takes over: what it
// writes then is refused, and nothing of it is stored.
func sharedFencesHold(t *testing.T, one, other *store.DB) {
	ctx := t.Context()
	first, second := received(t, one, "1", written()), received(t, one, "2", written())
	mine := taken(t, one, "talk:a", "one")
	check(t, one.ApplyUnder(ctx, first, mine))
	lapsed(t, one, mine)
	wantError(t, one.ApplyUnder(ctx, second, mine), bot.ErrNotHeld)
	theirs := taken(t, other, "talk:a", "other")
	wantError(t, one.ApplyUnder(ctx, second, mine), bot.ErrNotHeld)
	wantError(t, one.FailUnder(ctx, Event("2"), "ref", mine), bot.ErrNotHeld)
	for id, want := range map[string]bool{"1": false, "2": true, "never": false} {
		if waits, err := one.Waits(ctx, Event(id)); err != nil || waits != want {
			t.Errorf("event %s waits: %v, %v", id, waits, err)
		}
	}
	check(t, other.ApplyUnder(ctx, second, theirs))
	if mark, err := one.Mark(ctx, Department, "use"); err != nil || mark.Entries != 2 {
		t.Errorf("2 events wrote %d entries, %v", mark.Entries, err)
	}
	lapsed(t, other, theirs)
	again := taken(t, one, "talk:a", "one")
	if again.Term != 3 {
		t.Errorf("the third owner has term %d", again.Term)
	}
	wantError(t, one.ApplyUnder(ctx, received(t, one, "3"), mine), bot.ErrNotHeld)
	check(t, one.FailUnder(ctx, Event("3"), "ref", again))
}

func written() bot.Change { return bot.Written{Entry: entry("use", "k07", Noon)} }

// readyFor reads what an owner may send and expects so many messages.
func readyFor(t *testing.T, db *store.DB, owner string, want int) []deliver.Item {
	t.Helper()
	items, _, err := db.ReadyFor(t.Context(), owner, Noon, 10)
	check(t, err)
	if len(items) != want {
		t.Fatalf("%s may send %d messages, want %d", owner, len(items), want)
	}
	return items
}

// sharedLanesAreHeld sends the messages of one lane by turns: whoever sends has the
// lane, the other sees nothing of it; what a lost lease leaves is found, and its
// sender may not settle it any more.
func sharedLanesAreHeld(t *testing.T, one, other *store.DB) {
	ctx := t.Context()
	turn := received(t, one, "1")
	turn.Posts = []bot.Outgoing{Post("a", "station-4"), Post("b", "station-4"), Post("c", "station-9")}
	check(t, one.Apply(ctx, turn))
	stale := readyFor(t, other, "other", 2)
	mine, err := one.MarkSendingAs(ctx, readyFor(t, one, "one", 2)[0], "one", time.Hour)
	check(t, err)
	readyFor(t, other, "other", 1) // station-9's
	if _, err := other.MarkSendingAs(ctx, stale[0], "other", time.Hour); !errors.Is(err, bot.ErrNotHeld) {
		t.Errorf("a lane is held by two: %v", err)
	}
	abandoned := func(want int) []deliver.Item {
		t.Helper()
		items, err := other.Abandoned(ctx)
		check(t, err)
		if len(items) != want {
			t.Fatalf("%d messages were abandoned, want %d", len(items), want)
		}
		return items
	}
	abandoned(0)
	lapsed(t, one, mine)
	left := abandoned(1)[0]
	theirs := taken(t, other, mine.Name, "other")
	wantError(t, one.SettleUnder(ctx, left.ID, deliver.Outcome{State: deliver.Sent}, mine, 0), bot.ErrNotHeld)
	check(t, other.SettleUnder(ctx, left.ID, deliver.Outcome{State: deliver.PossiblySent}, theirs, time.Hour))
	abandoned(0)
	readyFor(t, one, "one", 1) // the lane rests, but for its owner
	next := readyFor(t, other, "other", 2)
	if _, err := other.MarkSendingAs(ctx, stale[0], "other", time.Hour); !errors.Is(err, bot.ErrConflict) {
		t.Errorf("a settled message is sent again: %v", err)
	}
	for _, item := range next {
		f, err := other.MarkSendingAs(ctx, item, "other", time.Hour)
		check(t, err)
		check(t, other.SettleUnder(ctx, item.ID, deliver.Outcome{State: deliver.Sent}, f, 0))
		wantError(t, other.SettleUnder(ctx, item.ID, deliver.Outcome{State: deliver.Sent}, f, 0), bot.ErrConflict)
	}
	if moving, err := one.Moving(ctx, Noon); err != nil || moving {
		t.Errorf("something is left: %v", err)
	}
}

// sharedRetriesAreNotEarly has one process read a message before another tries it
// in vain: it may not send it before its time.
func sharedRetriesAreNotEarly(t *testing.T, one, other *store.DB) {
	ctx := t.Context()
	turn := received(t, one, "1")
	turn.Posts = []bot.Outgoing{Post("a", "station-4")}
	check(t, one.Apply(ctx, turn))
	stale := readyFor(t, other, "other", 1)[0]
	f, err := one.MarkSendingAs(ctx, readyFor(t, one, "one", 1)[0], "one", time.Hour)
	check(t, err)
	check(t, one.SettleUnder(ctx, stale.ID, deliver.Outcome{State: deliver.Waiting, Tries: 1, NotBefore: Noon.Add(time.Minute)}, f, 0))
	if _, err := other.MarkSendingAs(ctx, stale, "other", time.Hour); !errors.Is(err, bot.ErrConflict) {
		t.Errorf("sent before its time: %v", err)
	}
	readyFor(t, other, "other", 0)
}

// sharedLeasesAreForgotten removes leases that ended long ago and no others.
func sharedLeasesAreForgotten(t *testing.T, one, other *store.DB) {
	ended, held := taken(t, one, "talk:ended", "one"), taken(t, one, "talk:held", "one")
	lapsed(t, one, ended)
	check(t, other.ForgetLeases(t.Context(), time.Hour))
	if f := taken(t, other, "talk:ended", "other"); f.Term != 1 {
		t.Errorf("a forgotten lease has term %d", f.Term)
	}
	if _, got, err := other.Claim(t.Context(), held.Name, "other", time.Hour); got || err != nil {
		t.Errorf("a lease that is held was forgotten: %v", err)
	}
}
