package main

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/department"
	"kitbell/bot/store"
)

// aging is a department with old and young records, and the retention that its file
// asks for.
type aging struct {
	*watched
	clock *bot.ManualClock
	keep  *retainer
}

func newAging(t *testing.T, section string) *aging {
	t.Helper()
	a := &aging{watched: newWatched(t)}
	a.clock = a.office.clock.(*bot.ManualClock)
	daily, err := (&upkeep{hour: "03:30"}).daily()
	if err != nil {
		t.Fatal(err)
	}
	a.keep = &retainer{office: a.office, daily: daily}
	a.file(section)
	for _, days := range []int{500, 40, 1} {
		at := a.clock.Now().AddDate(0, 0, -days)
		a.apply(at, bot.NewEntry("unanswered", "safe", "first-member", at, map[string]string{"question": "how do we open a safe"}))
		a.apply(at, bot.NewEntry("use", "slip-inward", "first-member", at, map[string]any{"Note": "a door at the corner", "Tries": 2}))
	}
	return a
}

// file makes this the department file's section, and takes it up.
func (a *aging) file(section string) {
	a.Helper()
	a.write(department.FileName, string(department.Start("."))+section)
	a.settle()
}

func (a *aging) apply(at time.Time, e bot.Entry) {
	a.Helper()
	if err := a.office.db.Apply(a.Context(), bot.Turn{Department: a.slug(), Actor: e.Person, At: at, Changes: []bot.Change{bot.Written{Entry: e}}}); err != nil {
		a.Fatal(err)
	}
}

func (a *aging) slug() string { return a.office.desks.all()[0].Department.Slug }

// left counts entries of a kind, and those with a word in them.
func (a *aging) left(kind, word string) (entries, withWord int) {
	a.Helper()
	all, err := a.office.db.Entries(a.Context(), a.slug(), kind, "", time.Time{})
	if err != nil {
		a.Fatal(err)
	}
	for _, e := range all {
		if strings.Contains(string(e.Body), word) {
			withWord++
		}
	}
	return len(all), withWord
}

// audited are the subjects of a verb in the audit, with who did it.
func (a *aging) audited(verb string) (all []string) {
	a.Helper()
	tail, err := a.office.db.AuditTail(a.Context(), a.slug(), 99)
	if err != nil {
		a.Fatal(err)
	}
	for _, row := range tail {
		if row.Verb == verb {
			all = append(all, row.Actor+" "+row.Subject+" "+row.New)
		}
	}
	if _, err := a.office.db.VerifyAudit(a.Context(), a.slug()); err != nil {
		a.Error(err)
	}
	return all
}

// What is over its time goes, what is evidence stays without its words, and the
// audit says how much went.
func TestRetentionIsApplied(t *testing.T) {
	a := newAging(t, "retention:\n  questions: 100\n  entry-notes: 30\n")
	if !a.keep.turn(t.Context(), a.clock.Now()) {
		t.Fatal(a.log)
	}
	if n, _ := a.left("unanswered", ""); n != 2 {
		t.Errorf("%d questions left, want those of 40 days and of one", n)
	}
	if n, words := a.left("use", "corner"); n != 3 || words != 1 {
		t.Errorf("%d uses left, %d with words; want all, and the words of one day", n, words)
	}
	want := []string{"retention entry-notes: 2 from before 2026-10-24 ", "retention unanswered: 1 from before 2026-08-15 "}
	if got := a.audited("expired"); !slices.Equal(got, want) {
		t.Errorf("the audit says %q, want %q", got, want)
	}
	if !a.keep.turn(t.Context(), a.clock.Now()) || len(a.audited("expired")) != 2 {
		t.Error("a second turn removed more")
	}
}

// While a hold lasts nothing goes. Who set it, and that it was lifted, is in the
// audit, each once.
func TestHold(t *testing.T) {
	a := newAging(t, "retention:\n  questions: 100\n  hold: {until: 2026-12-01, reason: an auditor asked, by: first-lead}\n")
	for range 2 {
		if !a.keep.turn(t.Context(), a.clock.Now()) {
			t.Fatal(a.log)
		}
	}
	if n, _ := a.left("unanswered", ""); n != 3 {
		t.Errorf("%d questions left while a hold lasts", n)
	}
	if got := a.audited("hold-written"); len(got) != 1 || !strings.HasPrefix(got[0], "first-lead ") || !strings.Contains(got[0], "an auditor asked") {
		t.Errorf("the audit says %q", got)
	}
	a.clock.Set(time.Date(2026, 12, 2, 5, 0, 0, 0, time.UTC)) // midnight there
	if !a.keep.turn(t.Context(), a.clock.Now()) {
		t.Fatal(a.log)
	}
	if n, _ := a.left("unanswered", ""); n != 2 {
		t.Errorf("%d questions left after the hold", n)
	}
	a.file("retention:\n  questions: 100\n")
	if !a.keep.turn(t.Context(), a.clock.Now()) {
		t.Fatal(a.log)
	}
	if got := a.audited("hold-written"); len(got) != 2 || !strings.HasPrefix(got[1], "department-file ") {
		t.Errorf("the audit says %q", got)
	}
}

// Retention is applied at the start and then once a day, at the quiet hour.
func TestRetentionEachDay(t *testing.T) {
	a := newAging(t, "retention:\n  questions: 100\n")
	turns := make(chan time.Time)
	a.keep.done = func(at time.Time) { turns <- at }
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- a.keep.run(ctx) }()
	zone := a.office.firstZone()
	first := <-turns
	for _, moment := range []time.Time{time.Date(2026, 11, 24, 3, 30, 0, 0, zone), time.Date(2026, 11, 25, 3, 30, 0, 0, zone)} {
		a.clock.Set(moment)
		if got := <-turns; !got.Equal(moment) {
			t.Errorf("a turn at %s, want %s", got, moment)
		}
	}
	cancel()
	if err := <-ended; err != nil {
		t.Error(err)
	}
	if next := a.keep.next(t.Context(), a.clock.Now().Add(time.Hour)); !next.Equal(time.Date(2026, 11, 26, 3, 30, 0, 0, zone)) || !first.Before(next) {
		t.Errorf("the next turn is at %s", next)
	}
}

// The dry run counts and removes nothing; a file that would remove evidence is
// refused.
func TestRetentionDryRun(t *testing.T) {
	dir := started(t)
	db, err := store.Open(t.Context(), filepath.Join(dir, databaseFile), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	old := time.Now().AddDate(-2, 0, 0)
	for range 2 {
		entry := bot.NewEntry("unanswered", "safe", "first-member", old, map[string]string{"question": "how"})
		if err := db.Apply(t.Context(), bot.Turn{Department: "dept", Actor: "first-member", At: old, Changes: []bot.Change{bot.Written{Entry: entry}}}); err != nil {
			t.Fatal(err)
		}
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(dir, department.FileName)
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		section string
		code    int
		says    []string
	}{
		{"", exitOK, []string{"questions      for ever  0"}},
		{"retention:\n  questions: 365\n  hold: {until: 2199-01-01, reason: x, by: first-lead}\n", exitOK, []string{"questions      365       1", "Nothing goes before 2199-01-02: x (first-lead)."}},
		{"retention:\n  uses: 365\n", exitError, []string{"evidence of the yearly request"}},
	} {
		if err := os.WriteFile(name, append(slices.Clone(text), row.section...), 0o600); err != nil {
			t.Fatal(err)
		}
		code, out := cli(t, "", "retention", "-c", dir)
		for _, say := range row.says {
			if code != row.code || !strings.Contains(out, say) {
				t.Errorf("with %q it ended with %d: %s\nwant %q", row.section, code, out, say)
			}
		}
	}
}
