package storetest

import (
	"reflect"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot"
	"kitbell/bot/kit"
)

func receivesOnce(t *testing.T, open Opener) {
	db := fresh(t, open)
	elsewhere, platform := Event("1"), Event("1")
	elsewhere.Department = "other"
	platform.Where.Platform = "slack"
	for _, row := range []struct {
		name  string
		event bot.Event
		fresh bool
	}{
		{"first", Event("1"), true}, {"again", Event("1"), false}, {"another", Event("2"), true},
		{"the same id in another department", elsewhere, true}, {"the same id on another platform", platform, true},
	} {
		got, err := db.Receive(t.Context(), row.event)
		if err != nil || got != row.fresh {
			t.Errorf("%s: fresh %v, %v", row.name, got, err)
		}
	}
}

// everyField is an event of which no field is zero, so that one that the store
// forgets is missed.
func everyField(t *testing.T) bot.Event {
	t.Helper()
	e := Event("every field")
	e.Direct, e.Press, e.Form, e.Values = true, "undo:1", "wish", map[string]string{"why": "because"}
	e.From = bot.Speaker{ID: "U1", Name: "Ines Okafor", Member: "ines-okafor", Unit: "engine-4", Platoon: "B"}
	e.Where = bot.Address{Platform: e.Where.Platform, Workspace: "W1", Channel: "C1", Thread: "T1", Person: "U1"}
	e.About, e.On, e.Outside, e.Files = "said", "m1", true, []bot.File{{ID: "F1", Kind: bot.PictureFile, Size: 3}}
	for i, v := range []reflect.Value{reflect.ValueOf(e), reflect.ValueOf(e.From), reflect.ValueOf(e.Where)} {
		for f := range v.NumField() {
			if v.Field(f).IsZero() {
				t.Fatalf("struct %d: field %s is zero: fill it here", i, v.Type().Field(f).Name)
			}
		}
	}
	return e
}

func unhandledSurvive(t *testing.T, open Opener) {
	place := t.TempDir()
	db := open(t, place)
	form := Event("form")
	form.Kind, form.Text, form.Form, form.Values = bot.Submitted, "", "wish", map[string]string{"why": "größer \x00 ü"}
	press := Event("press")
	press.Kind, press.Text, press.Press, press.At = bot.Pressed, "", "line:41:3", time.Time{}
	want := []bot.Event{Event("said"), form, press, everyField(t)}
	for _, e := range append(want, Event("handled")) {
		_, err := db.Receive(t.Context(), e)
		check(t, err)
	}
	check(t, db.Apply(t.Context(), Turn("handled")))
	check(t, db.Close())

	db = open(t, place)
	defer db.Close()
	got, err := db.Unhandled(t.Context())
	check(t, err)
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func handledOnce(t *testing.T, open Opener) {
	db := fresh(t, open)
	turn := received(t, db, "1", kit.File(nil, Report("door-strap"), 1))
	check(t, db.Apply(t.Context(), turn))
	turn.Changes = []bot.Change{kit.File(nil, Report("latch-film"), 2)}
	check(t, db.Apply(t.Context(), turn)) // a second run of the same event
	lines, err := db.OpenLines(t.Context(), Department)
	check(t, err)
	if len(lines) != 1 {
		t.Errorf("%d lines, want the first run's only", len(lines))
	}
	wantError(t, db.Apply(t.Context(), Turn("never-received")), bot.ErrNotFound)
}

func failedCanBeHandled(t *testing.T, open Opener) {
	db := fresh(t, open)
	turn := received(t, db, "1", bot.Written{Entry: entry("check", "k07", Noon)})
	check(t, db.Fail(t.Context(), Event("1"), "ref-7"))
	if left, err := db.Unhandled(t.Context()); err != nil || len(left) != 0 {
		t.Errorf("unhandled: %v, %v", left, err)
	}
	check(t, db.Apply(t.Context(), turn))
	check(t, db.Fail(t.Context(), Event("1"), "ref-8")) // too late: it stays handled
	if _, ok, err := db.Latest(t.Context(), Department, "check", "k07"); err != nil || !ok {
		t.Errorf("entry: %v, %v", ok, err)
	}
}

// unheardOf is a change that the store does not know.
type unheardOf struct{}

func (unheardOf) Record() bot.Record { return bot.Record{Verb: "unheard-of"} }

func turnIsWhole(t *testing.T, open Opener) {
	db := fresh(t, open)
	for _, row := range []struct {
		name string
		last bot.Change // fails, after everything else was written
	}{
		{"an unknown change", unheardOf{}},
		{"a conflict", bot.Withdrawn{Entry: bot.Entry{ID: 99}, At: Noon}},
		{"a version that cannot follow", kit.Change{New: kit.Line{Number: 9, Version: 7}}},
	} {
		turn := received(t, db, row.name, kit.File(nil, Report("door-strap"), 1), bot.Written{Entry: entry("check", "k07", Noon)}, row.last)
		turn.Posts = []bot.Outgoing{Post(row.name, "station-4")}
		turn.Talk = talk("key", `{}`, Noon.Add(time.Hour))
		if err := db.Apply(t.Context(), turn); err == nil {
			t.Errorf("%s: no error", row.name)
		}
	}
	lines, err := db.OpenLines(t.Context(), Department)
	check(t, err)
	entries, err := db.Entries(t.Context(), Department, "check", "", time.Time{})
	check(t, err)
	posts, _, err := db.Ready(t.Context(), Noon, 10)
	check(t, err)
	_, talking, err := db.Talk(t.Context(), Department, "key", Noon)
	check(t, err)
	audited, err := db.VerifyAudit(t.Context(), Department)
	check(t, err)
	left, err := db.Unhandled(t.Context())
	check(t, err)
	if len(lines)+len(entries)+len(posts) > 0 || talking || audited > 0 {
		t.Errorf("left behind: %d lines, %d entries, %d posts, talk %v, %d audit rows", len(lines), len(entries), len(posts), talking, audited)
	}
	if len(left) != 3 {
		t.Errorf("%d events are unhandled, want all 3", len(left))
	}
}

func lastReceivedIsTheLast(t *testing.T, open Opener) {
	db := fresh(t, open)
	if at, err := db.LastReceived(t.Context()); err != nil || !at.IsZero() {
		t.Errorf("of an empty inbox: %v, %v", at, err)
	}
	first := received(t, db, "1")
	check(t, db.Apply(t.Context(), first))
	at, err := db.LastReceived(t.Context())
	if err != nil || at.IsZero() {
		t.Errorf("of a handled event: %v, %v", at, err)
	}
}

func forgottenEventsLeaveNothing(t *testing.T, open Opener) {
	db := fresh(t, open)
	turn := received(t, db, "1")
	turn.Forget = true
	check(t, db.Apply(t.Context(), turn))
	if at, err := db.LastReceived(t.Context()); err != nil || !at.IsZero() {
		t.Errorf("a row is left: %v, %v", at, err)
	}
	left, err := db.Unhandled(t.Context())
	if err != nil || len(left) != 0 {
		t.Errorf("unhandled: %v, %v", left, err)
	}
}

func talksExpire(t *testing.T, open Opener) {
	db := fresh(t, open)
	keep := func(talk *bot.Talk, at time.Time) {
		turn := Turn("")
		turn.Talk, turn.At = talk, at
		check(t, db.Apply(t.Context(), turn))
	}
	want := func(at time.Time, key, state string) {
		t.Helper()
		got, ok, err := db.Talk(t.Context(), Department, key, at)
		check(t, err)
		if ok != (state != "") || string(got.State) != state {
			t.Errorf("%s at %v: %v %s, want %q", key, at, ok, got.State, state)
		}
		if ok && (got.Key != key || got.Department != Department || !got.Expires.After(at)) {
			t.Errorf("got %+v", got)
		}
	}
	end := Noon.Add(30 * time.Minute)
	keep(talk("a", `{"ask":"unit"}`, end), Noon)
	want(end.Add(-1), "a", `{"ask":"unit"}`)
	want(end, "a", "")
	want(Noon, "b", "")
	keep(talk("a", `{"ask":"item"}`, end), Noon)
	want(Noon, "a", `{"ask":"item"}`)
	keep(talk("a", "", end), Noon)
	want(Noon, "a", "")
	keep(talk("a", `1`, end), Noon)
	keep(talk("b", `2`, end.Add(time.Hour)), end) // the expired one goes for good
	want(Noon, "a", "")
	want(end, "b", `2`)
}

func latestTalkIsThePersons(t *testing.T, open Opener) {
	db := fresh(t, open)
	for i, key := range []string{"chat/t/c1/@ann", "chat/t/c2/@ann", "chat/t/c2/@bo", "chat/t/c2/@an_", "chat/t/c3/123.4", "other/t/c1/@ann"} {
		turn := Turn("")
		turn.Talk = talk(key, `{}`, Noon.Add(time.Duration(i+1)*time.Minute))
		check(t, db.Apply(t.Context(), turn))
	}
	for _, row := range []struct {
		platform, speaker string
		at                time.Time
		want              string
	}{
		{"chat", "ann", Noon, "chat/t/c2/@ann"}, {"other", "ann", Noon, "other/t/c1/@ann"}, {"chat", "an_", Noon, "chat/t/c2/@an_"},
		{"chat", "nn", Noon, ""}, {"cha", "ann", Noon, ""}, {"chat", "ann", Noon.Add(2 * time.Minute), ""}, {"chat", "", Noon, ""},
	} {
		got, ok, err := db.LastTalk(t.Context(), Department, row.platform, row.speaker, row.at)
		check(t, err)
		if ok != (row.want != "") || got.Key != row.want {
			t.Errorf("%s on %s: %v %q, want %q", row.speaker, row.platform, ok, got.Key, row.want)
		}
	}
}

func settingsAreKept(t *testing.T, open Opener) {
	db := fresh(t, open)
	for _, value := range []string{"1", "2"} {
		check(t, db.SetSetting(t.Context(), Department, "seen", value))
		got, ok, err := db.Setting(t.Context(), Department, "seen")
		if err != nil || !ok || got != value {
			t.Errorf("got %q, %v, %v", got, ok, err)
		}
	}
	if _, ok, err := db.Setting(t.Context(), "other", "seen"); ok || err != nil {
		t.Errorf("another department's: %v, %v", ok, err)
	}
}
