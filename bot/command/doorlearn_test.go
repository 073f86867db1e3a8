package command_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
)

// chances are the numbers behind the plan of one door.
func (b *bench) chances(me bot.Speaker) string {
	b.t.Helper()
	b.clock.Set(b.clock.Now().Add(time.Hour)) // a new door
	plan, err := b.say(me, "push door, latch, knob, welfare check").outcome.Request.Plan()
	if err != nil {
		b.t.Fatal(err)
	}
	out := ""
	for _, s := range plan.Steps {
		out += fmt.Sprintf("%s %v [%v %v] %d\n", s.Way(), s.Chance, s.ChanceLow, s.ChanceHigh, s.Records)
	}
	return out
}

// A record moves the numbers, practice never does, and a withdrawn record is as
// if it had never been: to the last bit.
func TestNumbersFollowTheRecords(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	assumed := b.chances(me)

	b.say(me, "practiced with the film, opened first try")
	if got := b.chances(me); got != assumed {
		t.Errorf("practice changed the numbers:\n%s\n%s", assumed, got)
	}
	b.say(me, "used the film on a welfare check, opened first try, no mark")
	one := b.chances(me)
	if one == assumed {
		t.Error("a record changed nothing")
	}
	b.say(me, "used the film on a welfare check, no luck, did not open")
	if two := b.chances(me); two == one {
		t.Error("a failure changed nothing")
	}
	b.say(me, "that record was wrong")
	if got := b.chances(me); got != one {
		t.Errorf("after a withdrawal:\n%s\nwant\n%s", got, one)
	}
	b.say(me, "that record was wrong") // the first one
	b.say(me, "that record was wrong") // the practice
	if got := b.chances(me); got != assumed {
		t.Errorf("after all withdrawals:\n%s\nwant\n%s", got, assumed)
	}
}

func TestUndoTakesTheNumbersBack(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	assumed := b.chances(me)
	noted := b.say(me, "used the film on a welfare check, opened first try, no mark")
	b.press(me, noted.button(t, "Undo"))
	if got := b.chances(me); got != assumed {
		t.Errorf("after undo:\n%s\nwant\n%s", got, assumed)
	}
}

func TestWhySaysWhoseNumbersTheyAre(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	b.chances(me)
	b.say(me, "why").has(t, "assumed")
	b.say(me, "used the film on a welfare check, opened first try, no mark")
	b.say(me, "used the film on a welfare check, opened first try, no mark")
	b.chances(me)
	b.say(me, "why").has(t, "from 2 of your doors")
}

// What failed at a door before it opened counts as failures, and goes with the
// record when that is withdrawn.
func TestFailuresOnTheWayCount(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	assumed := b.chances(me)
	b.say(me, "not yet")
	b.say(me, "we're in")
	if got := b.chances(me); got == assumed {
		t.Error("a door with a failure and an opening changed nothing")
	}
	b.say(me, "that record was wrong")
	if got := b.chances(me); got != assumed {
		t.Errorf("after a withdrawal:\n%s\nwant\n%s", got, assumed)
	}
}

// A record of a technique that the cards no longer have, or with facts that are
// none, is passed over: it must not stop the planning.
func TestStrangeRecordsArePassedOver(t *testing.T) {
	b := newDoorBench(t)
	me := b.speaker("engine-4")
	assumed := b.chances(me)
	var changes []bot.Change
	for _, record := range []map[string]any{
		{"Technique": "gone-from-the-cards", "Outcome": "opened"},
		{"Technique": "slip-inward", "Outcome": "opened", "facts": map[string]any{"swing": "up"}},
		{"Technique": "irons", "Outcome": "opened"},
		{"Outcome": "opened"},
	} {
		changes = append(changes, bot.Written{Entry: bot.NewEntry("use", "x", "somebody", b.clock.Now(), record)})
	}
	turn := bot.Turn{Department: b.desk.Department.Slug, Actor: "test", At: b.clock.Now(), Changes: changes}
	if err := b.db.Apply(t.Context(), turn); err != nil {
		t.Fatal(err)
	}
	if got := b.chances(me); got != assumed {
		t.Errorf("strange records changed the numbers:\n%s\n%s", assumed, got)
	}
}

// counted counts how often entries of a kind are read.
type counted struct {
	command.Books
	reads map[string]int
}

func (c counted) Entries(ctx context.Context, department, kind, subject string, since time.Time) ([]bot.Entry, error) {
	c.reads[kind]++
	return c.Books.Entries(ctx, department, kind, subject, since)
}

// Records of use are read again only when one came or went.
func TestUsesAreReadOnce(t *testing.T) {
	b := newDoorBench(t)
	books := counted{b.db, map[string]int{}}
	b.router.Books = books
	me := b.speaker("engine-4")
	for range 3 {
		b.chances(me)
	}
	if n := books.reads["use"]; n != 1 {
		t.Errorf("without a new record: read %d times, want 1", n)
	}
	b.say(me, "used the film on a push door, opened, first try, no mark")
	books.reads["use"] = 0
	b.chances(me)
	b.chances(me)
	if n := books.reads["use"]; n != 1 {
		t.Errorf("after one more: read %d times, want 1", n)
	}
}
