package main

import (
	"context"
	"database/sql"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/store"
)

// backupDesk is the backups of a department at work, by a clock of the test's own.
type backupDesk struct {
	*watched
	*backups
	clock *bot.ManualClock
	heard chan bool // how each backup went
}

func newBackupDesk(t *testing.T) *backupDesk {
	t.Helper()
	k := &backupDesk{watched: newWatched(t), heard: make(chan bool)}
	place := filepath.Join(k.dir, databaseFile)
	db, err := store.Open(t.Context(), place, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	k.watched.office.db = db
	k.clock = k.watched.office.clock.(*bot.ManualClock)
	u := &upkeep{folder: filepath.Join(t.TempDir(), "backups"), keep: keeping{2, 0, 0}, hour: "03:30"}
	if err := os.Mkdir(u.folder, 0o700); err != nil {
		t.Fatal(err)
	}
	daily, err := u.daily()
	if err != nil {
		t.Fatal(err)
	}
	k.backups = &backups{office: k.watched.office, place: place, folder: u.folder, keep: u.keep, daily: daily,
		heard: func(made bool, _ time.Time) { k.heard <- made }}
	return k
}

// start runs the backups and gives what stops them.
func (k *backupDesk) start() (stop func()) {
	ctx, cancel := context.WithCancel(k.Context())
	done := make(chan error, 1)
	go func() { done <- k.backups.run(ctx) }()
	return func() {
		cancel()
		if err := <-done; err != nil {
			k.Error(err)
		}
	}
}

func (k *backupDesk) at(text string) {
	k.Helper()
	at, err := time.ParseInLocation("2006-01-02 15:04", text, k.watched.office.firstZone())
	if err != nil {
		k.Fatal(err)
	}
	k.clock.Set(at)
}

func (k *backupDesk) stamps() string {
	k.Helper()
	all, err := scheduledIn(k.folder)
	if err != nil {
		k.Fatal(err)
	}
	var stamps []string
	for _, b := range all {
		stamps = append(stamps, b.at.In(k.watched.office.firstZone()).Format("Jan 2 15:04"))
	}
	return strings.Join(stamps, ", ")
}

// told gives the posts about failed backups, as they are stored.
func (k *backupDesk) told() (posts []string) {
	k.Helper()
	db, err := sql.Open("sqlite", k.place)
	if err != nil {
		k.Fatal(err)
	}
	defer db.Close()
	rows, err := db.QueryContext(k.Context(), "SELECT message FROM outbox WHERE key LIKE '%backup-failed%'")
	if err != nil {
		k.Fatal(err)
	}
	defer rows.Close()
	for rows.Next() {
		var post string
		if err := rows.Scan(&post); err != nil {
			k.Fatal(err)
		}
		posts = append(posts, post)
	}
	return posts
}

// The first backup is made at once, the others at the quiet hour, one that was
// missed at the next start; two days' stay.
func TestScheduledBackups(t *testing.T) {
	k := newBackupDesk(t)
	stop := k.start()
	for _, moment := range []string{"", "2026-11-24 03:30", "2026-11-25 03:31"} {
		if moment != "" {
			k.at(moment)
		}
		if made := <-k.heard; !made {
			t.Fatalf("not made at %s", moment)
		}
	}
	stop()
	if got := k.stamps(); got != "Nov 25 03:31, Nov 24 03:30" {
		t.Error(got)
	}
	k.at("2026-11-25 12:00")
	if next := k.next(k.clock.Now()).In(k.watched.office.firstZone()).Format("Jan 2 15:04"); next != "Nov 26 03:30" {
		t.Errorf("the next is due %s", next)
	}
	k.at("2026-11-27 12:00") // it did not run for a while
	stop = k.start()
	if !<-k.heard {
		t.Error("the missed one was not made")
	}
	stop()
	if got := k.stamps(); got != "Nov 27 12:00, Nov 25 03:31" {
		t.Error(got)
	}
	restored := filepath.Join(t.TempDir(), databaseFile)
	all, err := scheduledIn(k.folder)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := store.Restore(t.Context(), all[0].path, restored, false, store.Options{}); err != nil {
		t.Error(err)
	}
}

// A backup that fails is tried each hour; the lead hears of it once, and once more
// when it fails anew after one that was made.
func TestFailedBackups(t *testing.T) {
	k := newBackupDesk(t)
	away := k.folder + "-away"
	rename := func(from, to string) {
		t.Helper()
		if err := os.Rename(from, to); err != nil {
			t.Fatal(err)
		}
	}
	hear := func(want bool) {
		t.Helper()
		if got := <-k.heard; got != want {
			t.Fatalf("made: %v, want %v", got, want)
		}
	}
	rename(k.folder, away)
	stop := k.start()
	hear(false)
	for range 3 {
		k.clock.Set(k.clock.Now().Add(afterFailure))
		hear(false)
	}
	stop()
	if n := len(k.told()); n != 1 {
		t.Errorf("the lead was told %d times, want once", n)
	}
	rename(away, k.folder)
	stop = k.start()
	hear(true)
	stop()
	rename(k.folder, away)
	stop = k.start()
	hear(false)
	stop()
	posts := k.told()
	if len(posts) != 2 {
		t.Errorf("the lead was told %d times, want once for each time that it began to fail", len(posts))
	}
	for _, post := range posts {
		if strings.Contains(post, filepath.Dir(k.folder)) || !strings.Contains(post, "I cannot back up into backups") {
			t.Errorf("the post is %s", post)
		}
	}
}

// The metrics count backups, and say when the last one was made.
func TestBackupMetrics(t *testing.T) {
	m := newMetrics(bot.SystemClock{})
	at := time.Date(2026, 11, 23, 8, 30, 0, 0, time.UTC)
	m.backedUp(true, at)
	m.backedUp(false, at.Add(time.Hour))
	m.backedUp(false, at.Add(2*time.Hour))
	families, err := m.registry.Gather()
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]float64{}
	for _, f := range families {
		for _, one := range f.GetMetric() {
			label := ""
			for _, l := range one.GetLabel() {
				label += l.GetValue()
			}
			got[f.GetName()+label] = one.GetCounter().GetValue() + one.GetGauge().GetValue()
		}
	}
	for name, want := range map[string]float64{"kitbell_backups_totalmade": 1, "kitbell_backups_totalfailed": 2, "kitbell_backup_last_timestamp_seconds": float64(at.Unix())} {
		if got[name] != want {
			t.Errorf("%s is %v, want %v", name, got[name], want)
		}
	}
}
