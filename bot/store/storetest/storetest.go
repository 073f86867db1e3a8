// Package storetest is the contract that every database under the store has to
// pass.
//
// The smallest use, from the test of a database:
//
//	storetest.Run(t, func(t testing.TB, place string) *store.DB { ... })
//
// It checks what callers can see. What only one database has, such as files,
// pragmas and query plans, is tested beside that database.
package storetest

import (
	"encoding/json"
	"errors"
	"fmt"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/kit"
	"kitbell/bot/store"
)

// Opener opens the store at a place: a folder of the test's own, or whatever the
// database makes of its name. Opening the same place again, after Close, finds
// what was stored. The suite closes what it opens.
type Opener func(t testing.TB, place string) *store.DB

// Run checks the contract.
func Run(t *testing.T, open Opener) {
	for _, part := range []struct {
		name string
		test func(t *testing.T, open Opener)
	}{
		{"events are received once", receivesOnce},
		{"events survive a restart", unhandledSurvive},
		{"a turn is all or nothing", turnIsWhole},
		{"a handled event stays handled", handledOnce},
		{"a failed event waits for a better program", failedCanBeHandled},
		{"the last event received is known", lastReceivedIsTheLast},
		{"what nothing came of leaves no row", forgottenEventsLeaveNothing},
		{"conversations expire", talksExpire},
		{"the latest conversation is the person's own", latestTalkIsThePersons},
		{"lines keep every version", linesKeepVersions},
		{"lines refuse what is stale", staleLinesConflict},
		{"one open line a matter", oneOpenLine},
		{"lines are found", linesAreFound},
		{"numbers are never given again", numbersRise},
		{"what an event did can be found", doneIsFound},
		{"the last event that stands", lastEventStands},
		{"the journal takes back", journalWithdraws},
		{"photos are kept and dropped", photosAreKept},
		{"what is due falls once", dueFallsOnce},
		{"cursors move from where they stand", cursorsMove},
		{"posts go out lane by lane", postsByLane},
		{"posts wait for their moment", postsWait},
		{"interrupted posts are found", interruptedPosts},
		{"the audit is whole", auditIsWhole},
		{"the audit is read", auditIsRead},
		{"old things go", oldThingsGo},
		{"many old things go in batches", manyOldThings},
		{"a person is found", aPersonIsFound},
		{"a person is removed", aPersonIsRemoved},
		{"settings", settingsAreKept},
		{"leases are held", leasesAreHeld},
		{"crews report at once", crewsReportAtOnce},
	} {
		t.Run(part.name, func(t *testing.T) { part.test(t, open) })
	}
}

// Department is the department that the suite writes for.
const Department = "tarn-harbor"

// Noon is the suite's moment.
var Noon = time.Date(2026, 11, 23, 17, 0, 0, 123456789, time.UTC)

// fresh opens an empty store for one test.
func fresh(t *testing.T, open Opener) *store.DB {
	t.Helper()
	db := open(t, t.TempDir())
	t.Cleanup(func() { check(t, db.Close()) })
	return db
}

func check(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func wantError(t testing.TB, err, want error) {
	t.Helper()
	if !errors.Is(err, want) {
		t.Errorf("got error %v, want %v", err, want)
	}
}

// Event is something that a crew member said.
func Event(id string) bot.Event {
	return bot.Event{ID: id, Department: Department, Kind: bot.Said, At: Noon, Text: "E4 is missing the small hook",
		From:  bot.Speaker{ID: "u1", Name: "A. Crew", Member: "a-crew", Unit: "engine-4", Platoon: "B"},
		Where: bot.Address{Platform: "console", Workspace: "w", Channel: "station-4", Thread: "th"}}
}

// Turn is a turn that handles the event with this id; an empty id is the
// schedule's.
func Turn(event string, changes ...bot.Change) bot.Turn {
	return bot.Turn{Department: Department, EventID: event, Platform: "console", Actor: "a-crew", At: Noon, Changes: changes}
}

// received stores an event and gives the turn that handles it.
func received(t testing.TB, db *store.DB, event string, changes ...bot.Change) bot.Turn {
	t.Helper()
	isNew, err := db.Receive(t.Context(), Event(event))
	check(t, err)
	if !isNew {
		t.Fatalf("event %s was there already", event)
	}
	return Turn(event, changes...)
}

// Report is a report of a missing item of Engine 4's kit.
func Report(item string) kit.Report {
	return kit.Report{Kit: "k07", Unit: "engine-4", Item: item, Condition: kit.Missing, Count: 1, By: "a-crew", Platoon: "B", At: Noon}
}

// Post is a message to a channel.
func Post(key, channel string) bot.Outgoing {
	return bot.Outgoing{Key: key, To: bot.Address{Platform: "console", Channel: channel},
		Reply: bot.Reply{Text: "Noted " + key, Steps: []string{"one"}, Buttons: []bot.Button{{Label: "Undo", Value: "undo:" + key}}}}
}

func talk(key, state string, expires time.Time) *bot.Talk {
	return &bot.Talk{Department: Department, Key: key, State: json.RawMessage(state), Expires: expires}
}

func entry(kind, subject string, at time.Time) bot.Entry {
	return bot.NewEntry(kind, subject, "a-crew", at, map[string]string{"note": fmt.Sprint("about ", subject)})
}
