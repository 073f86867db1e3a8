package storetest

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/kit"
	"kitbell/bot/store"
)

// The person of these tests, and one whose id and name begin alike.
var (
	leaving = store.Person{Department: Department, Member: "ann-lee", Name: "Ann Lee", Accounts: map[string]string{"slack": "U77"}}
	staying = "ann-leeds"
)

// livedIn writes what two members leave behind.
func livedIn(t *testing.T, db *store.DB) {
	t.Helper()
	for i, member := range []string{leaving.Member, staying} {
		name := map[string]string{leaving.Member: "Ann Lee", staying: "Ann Leeds"}[member]
		account := fmt.Sprint("U7", 7+i)
		e := Event(member)
		e.From = bot.Speaker{ID: account, Name: name, Member: member}
		e.Where = bot.Address{Platform: "slack", Workspace: "T1", Channel: "D-" + account, Person: account}
		_, err := db.Receive(t.Context(), e)
		check(t, err)
		report := Report("strap-" + member)
		report.By, report.Note = member, "words of "+member
		opened := kit.File(nil, report, i+1)
		turn := Turn(member, opened, kit.PhotoKept{Photo: kit.Photo{Name: member, Line: i + 1, By: member, At: Noon, JPEG: []byte("x")}})
		turn.Platform, turn.Actor = "slack", member
		for _, body := range []struct {
			kind, subject, person string
			body                  any
		}{
			{"riding", member, member, map[string]string{"unit": "engine-4"}},
			{"account", "slack:" + account, "slack:" + account, map[string]string{"member": member}},
			{"drill", "slip-inward", member, map[string]any{"member": member, "result": "got it", "note": "words", "n": 12345678901234567}},
			{"check", "engine-4", "p-marsh", map[string]any{"with": []string{member, "p-marsh"}, "said": name + " was there", "note": "words of Marsh"}},
			{"session", "s1", "p-marsh", map[string]string{"member": member, "name": name}},
		} {
			turn.Changes = append(turn.Changes, bot.Written{Entry: bot.NewEntry(body.kind, body.subject, body.person, Noon, body.body)})
		}
		own, team := Post("own-"+member, ""), Post("team-"+member, "a")
		own.To.Platform, own.To.Person, team.Reply.Text = "slack", account, "Noted for "+name
		turn.Posts = []bot.Outgoing{own, team}
		turn.Talk = talk("slack/T1/D/@"+member, `{"a":1}`, Noon.Add(time.Hour))
		check(t, db.Apply(t.Context(), turn))
	}
}

func removal() store.Removal {
	return store.Removal{Person: leaving, Gone: []string{"riding", "account"}, Signed: []string{"session"}, Reason: "asked for it", Actor: "first-lead"}
}

// heldText is everything that is stored of a person, as text, by table.
func heldText(t *testing.T, db *store.DB, p store.Person) map[string]string {
	t.Helper()
	held, err := db.HeldOf(t.Context(), p)
	check(t, err)
	all := map[string]string{}
	for _, h := range held {
		raw, err := json.Marshal(h.Rows)
		check(t, err)
		all[h.Table] = string(raw)
	}
	return all
}

// aPersonIsFound gives all that is stored of one, and nothing of one with a similar
// id that does not name them.
func aPersonIsFound(t *testing.T, open Opener) {
	db := fresh(t, open)
	livedIn(t, db)
	held := heldText(t, db, leaving)
	for table, words := range map[string][]string{
		"inbox": {`"id":"U77"`}, "outbox": {"own-ann-lee", "Noted for Ann Lee"}, "talks": {"slack/T1/D/@ann-lee"},
		"lines": {"words of ann-lee", `"opened_at":"2026-11-23T17:00:00.123456789Z"`}, "line_steps": {"line-opened"},
		"journal": {`"kind":"riding"`, `"result":"got it"`, "slack:U77", "Ann Lee was there"}, "photos": {`"jpeg":"eA=="`},
		"audit": {`"actor":"ann-lee"`}, "audit_text": {"new_text"},
	} {
		for _, word := range words {
			if !strings.Contains(held[table], word) {
				t.Errorf("%s lacks %q: %s", table, word, held[table])
			}
		}
	}
	for _, table := range []string{"inbox", "talks", "lines", "line_steps", "photos", "audit"} {
		if strings.Contains(held[table], staying) {
			t.Errorf("%s has rows of somebody else: %s", table, held[table])
		}
	}
}

// aPersonIsRemoved leaves counts, signed records and the audit's rows, and nothing
// else of the one, and everything of the other.
func aPersonIsRemoved(t *testing.T, open Opener) {
	db := fresh(t, open)
	livedIn(t, db)
	other := store.Person{Department: Department, Member: staying, Accounts: map[string]string{"slack": "U78"}}
	before := heldText(t, db, other)
	rows, err := db.VerifyAudit(t.Context(), Department)
	check(t, err)
	removed, err := db.RemovePerson(t.Context(), removal())
	check(t, err)
	if len(removed) < 8 {
		t.Errorf("removed %+v", removed)
	}
	left := heldText(t, db, leaving)
	for _, table := range []string{"inbox", "talks", "lines", "line_steps", "photos"} {
		if left[table] != "[]" {
			t.Errorf("left in %s: %s", table, left[table])
		}
	}
	if !strings.Contains(left["journal"], `"kind":"session"`) || strings.Contains(left["journal"], "riding") || strings.Contains(left["journal"], "drill") {
		t.Errorf("left in the journal: %s", left["journal"])
	}
	if !strings.Contains(left["audit"], `"verb":"person-removed"`) || !strings.Contains(left["audit_text"], "asked for it") || strings.Contains(left["audit_text"], "words") {
		t.Errorf("left in the audit: %s, %s", left["audit"], left["audit_text"])
	}
	for table, was := range before {
		is := heldText(t, db, other)[table]
		if table != "outbox" && table != "audit_text" && is != was { // theirs may name both
			t.Errorf("%s of the other was\n%s and is\n%s", table, was, is)
		}
	}
	if after, err := db.VerifyAudit(t.Context(), Department); err != nil || after != rows+1 {
		t.Errorf("audit: %d rows, want %d; %v", after, rows+1, err)
	}
	countsHold(t, db)
	if again, err := db.RemovePerson(t.Context(), removal()); err != nil || len(again) != 0 {
		t.Errorf("a second time it removed %+v, %v", again, err)
	}
}

// countsHold looks at what is counted, and that one pseudonym stands everywhere.
func countsHold(t *testing.T, db *store.DB) {
	t.Helper()
	line, err := db.Line(t.Context(), Department, 1)
	check(t, err)
	if !strings.HasPrefix(line.By, "former-") || line.Note != "" || line.Item != "strap-ann-lee" {
		t.Errorf("line: %+v", line)
	}
	history, err := db.History(t.Context(), Department, 1)
	if err != nil || len(history) != 1 || history[0].New != line {
		t.Errorf("history: %+v, %v", history, err)
	}
	drills, err := db.Entries(t.Context(), Department, "drill", "", time.Time{})
	check(t, err)
	want := fmt.Sprintf(`{"member":%q,"n":12345678901234567,"result":"got it"}`, line.By)
	if len(drills) != 2 || drills[0].Person != line.By || string(drills[0].Body) != want {
		t.Errorf("drills: %+v, want %s", drills, want)
	}
	checks, err := db.Entries(t.Context(), Department, "check", "", time.Time{})
	check(t, err)
	want = fmt.Sprintf(`{"note":"words of Marsh","said":"%s was there","with":["%[1]s","p-marsh"]}`, line.By)
	if len(checks) != 2 || string(checks[0].Body) != want || !strings.Contains(string(checks[1].Body), "Ann Leeds was there") {
		t.Errorf("checks: %s, %s, want %s", checks[0].Body, checks[1].Body, want)
	}
	photo, err := db.Photo(t.Context(), Department, leaving.Member)
	if err != nil || photo.By != line.By {
		t.Errorf("photo: %+v, %v", photo, err)
	}
	e := Event(leaving.Member)
	e.Where = bot.Address{Platform: "slack"}
	if isNew, err := db.Receive(t.Context(), e); err != nil || isNew {
		t.Errorf("an event that came again: %v, %v", isNew, err)
	}
}
