package store_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"kitbell/bot"
	"kitbell/bot/kit"
	"kitbell/bot/store"
	"kitbell/bot/store/storetest"
)

// named gives every backup this name.
func named(name string) func([]string) string { return func([]string) string { return name } }

// saved makes a backup of the store at a place in a folder of its own.
func saved(t *testing.T, place string) store.Backup {
	t.Helper()
	b, err := store.Save(t.Context(), place, t.TempDir(), named("b.db"), store.Options{})
	must(t, err)
	return b
}

// TestRestoreDrill backs up while writes go on, restores into a fresh folder,
// compares everything up to the backup's moment and goes on working with it.
func TestRestoreDrill(t *testing.T) {
	onBoth(t, func(t *testing.T, place string) {
		db := mustOpen(t, place)
		work := crewsAtWork(t, db, 400)
		work.until(30)
		confirmed := work.confirmed()
		b := saved(t, place)
		work.until(len(work.confirmed()) + 20)
		work.stop()

		fresh := filepath.Join(t.TempDir(), "kitbell.db")
		restored, err := store.Restore(t.Context(), b.Path, fresh, false, store.Options{})
		must(t, err)
		if restored.Unsummed || restored.Aside != "" || restored.From != store.NewestMigration() {
			t.Errorf("restored: %+v", restored)
		}
		is, live := dump(t, rawOpen(t, fresh), tablesOf(t, fresh)), dump(t, rawOpen(t, place), tablesOf(t, place))
		turns := len(is["line_steps"])
		if turns < len(confirmed) || turns >= len(live["line_steps"]) {
			t.Errorf("%d turns in the backup, %d were confirmed before it and %d are there now", turns, len(confirmed), len(live["line_steps"]))
		}
		for _, table := range []string{"lines", "line_steps", "journal", "photos", "audit_text", "audit"} {
			perTurn := map[string]int{"audit": 3, "audit_text": 3}[table]
			own := map[string]int{"audit": 1, "audit_text": 1}[table] // what restoring adds
			if want := max(1, perTurn)*turns + own; len(is[table]) != want {
				t.Errorf("%s: %d rows of %d turns, want %d", table, len(is[table]), turns, want)
			}
			if missing := lessThan(is[table], live[table]); len(missing) != own {
				t.Errorf("%s: rows that were never written: %v", table, missing)
			}
		}
		goesOn(t, fresh, confirmed)
	})
}

// lessThan gives the rows of a that are not in b.
func lessThan(a, b []string) (missing []string) {
	for _, row := range a {
		if _, there := slices.BinarySearch(b, row); !there {
			missing = append(missing, row)
		}
	}
	return missing
}

// goesOn works on with a restored store.
func goesOn(t *testing.T, place string, confirmed []string) {
	t.Helper()
	db := mustOpen(t, place)
	for _, id := range confirmed {
		if isNew, err := db.Receive(t.Context(), storetest.Event(id)); err != nil || isNew {
			t.Fatalf("event %s, confirmed before the backup: fresh %v, %v", id, isNew, err)
		}
	}
	if isNew, err := db.Receive(t.Context(), storetest.Event("after")); err != nil || !isNew {
		t.Fatalf("a new event: %v, %v", isNew, err)
	}
	must(t, db.Apply(t.Context(), storetest.Turn("after", bot.Written{Entry: bot.NewEntry("use", "k07", "a", storetest.Noon, 1)})))
	lines, err := db.OpenLines(t.Context(), storetest.Department)
	must(t, err)
	number, err := db.NextNumber(t.Context(), storetest.Department)
	if err != nil || slices.ContainsFunc(lines, func(l kit.Line) bool { return l.Number >= number }) {
		t.Errorf("the next number is %d, %v", number, err)
	}
	if audits, err := db.Audits(t.Context()); err != nil || len(audits) != 1 || audits[0].Fault != "" {
		t.Errorf("audits: %+v, %v", audits, err)
	}
}

// crew is what reports, each in one turn of a line, an entry and a picture, until
// it is stopped.
type crew struct {
	t    *testing.T
	end  context.CancelFunc
	done sync.WaitGroup
	mu   sync.Mutex
	grew *sync.Cond
	ids  []string
	most int // reports, until somebody waits for more
}

func crewsAtWork(t *testing.T, db *store.DB, most int) *crew {
	ctx, end := context.WithCancel(t.Context())
	c := &crew{t: t, end: end, most: most}
	c.grew = sync.NewCond(&c.mu)
	for n := range 4 {
		c.done.Go(func() {
			for i := 0; ctx.Err() == nil; i++ {
				if err := c.report(ctx, db, fmt.Sprintf("e%d-%d", n, i)); err != nil && ctx.Err() == nil {
					t.Error(err)
					c.grew.Broadcast()
					return
				}
			}
		})
	}
	return c
}

func (c *crew) report(ctx context.Context, db *store.DB, id string) error {
	if _, err := db.Receive(ctx, storetest.Event(id)); err != nil {
		return err
	}
	number, err := db.NextNumber(ctx, storetest.Department)
	if err != nil {
		return err
	}
	turn := storetest.Turn(id, kit.File(nil, storetest.Report("item-"+id), number),
		bot.Written{Entry: bot.NewEntry("use", "k07", "a-crew", storetest.Noon, id)},
		kit.PhotoKept{Photo: kit.Photo{Name: id, Line: number, By: "a-crew", At: storetest.Noon, JPEG: []byte(id)}})
	turn.Posts = []bot.Outgoing{storetest.Post(id, "a")}
	if err := db.Apply(context.WithoutCancel(ctx), turn); err != nil {
		return err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.ids = append(c.ids, id)
	c.grew.Broadcast()
	for len(c.ids) >= c.most && ctx.Err() == nil {
		c.grew.Wait()
	}
	return nil
}

// until waits until so many reports are confirmed.
func (c *crew) until(n int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.most = max(c.most, n)
	c.grew.Broadcast()
	for len(c.ids) < n && !c.t.Failed() {
		c.grew.Wait()
	}
}

func (c *crew) confirmed() []string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return slices.Clone(c.ids)
}

func (c *crew) stop() {
	c.end()
	c.mu.Lock()
	c.grew.Broadcast()
	c.mu.Unlock()
	c.done.Wait()
}

// Everything in every table comes back, to either database. What waited to be sent
// is not sent again, and the audits say what was restored.
func TestRestoredIsTheSame(t *testing.T) {
	onBoth(t, func(t *testing.T, place string) {
		db, err := store.Open(t.Context(), place, store.Options{})
		must(t, err)
		furnish(t, db)
		must(t, db.Close())
		b := saved(t, place)
		for _, target := range []string{filepath.Join(t.TempDir(), "kitbell.db"), server.Empty(t)} {
			restored, err := store.Restore(t.Context(), b.Path, target, false, store.Options{Clock: bot.NewManualClock(storetest.Noon)})
			must(t, err)
			if restored.Unsent == 0 || restored.Sum != b.Sum || len(restored.Tables) != len(b.Tables) {
				t.Errorf("restored %+v of %+v", restored, b)
			}
			was, is := dump(t, rawOpen(t, place), tablesOf(t, place)), dump(t, rawOpen(t, target), tablesOf(t, target))
			for table, rows := range was {
				added, lost := lessThan(is[table], rows), lessThan(rows, is[table])
				switch table {
				case "audit":
					if len(added) != 2 || !strings.Contains(added[0], `verb=string:"backup-restored"`) || len(lost) != 0 {
						t.Errorf("audit: %v, lost %v", added, lost)
					}
				case "outbox":
					if int64(len(added)) != restored.Unsent || !strings.Contains(added[0], `state=string:"possibly-sent"`) {
						t.Errorf("outbox: %v", added)
					}
				case "audit_text":
				default:
					if len(added)+len(lost) > 0 {
						t.Errorf("%s: added %v, lost %v", table, added, lost)
					}
				}
			}
		}
	})
}

func TestSaveRefuses(t *testing.T) {
	path := little(t)
	folder := t.TempDir()
	try := func(place, into, say string) {
		t.Helper()
		_, err := store.Save(t.Context(), place, into, named("b.db"), store.Options{})
		wantSentence(t, err, say)
	}
	try(filepath.Join(folder, "none.db"), folder, "no database")
	try(path, filepath.Join(folder, "none"), "I may not write into it")
	try(server.Empty(t), folder, "no database")
	_, err := store.Save(t.Context(), path, folder, named("b.db"), store.Options{})
	must(t, err)
	try(path, folder, "is there already")
	busy, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		_, _ = store.Save(t.Context(), path, folder, func([]string) string { close(busy); <-t.Context().Done(); return "c.db" }, store.Options{})
	}()
	<-busy
	try(path, folder, "another backup is being made")
	t.Cleanup(func() { <-done })
}

// What a killed program left in the folder goes with the next backup.
func TestSaveTidiesUp(t *testing.T) {
	folder := t.TempDir()
	must(t, os.Mkdir(filepath.Join(folder, ".kitbell-backup-123"), 0o700))
	must(t, os.WriteFile(filepath.Join(folder, ".kitbell-backup-123", "backup.db"), []byte("half"), 0o600))
	_, err := store.Save(t.Context(), little(t), folder, named("b.db"), store.Options{})
	must(t, err)
	if left, err := filepath.Glob(filepath.Join(folder, ".kitbell*")); err != nil || len(left) > 0 {
		t.Errorf("left: %v, %v", left, err)
	}
}

// A backup of a store with a broken audit is not made: it would be found too late.
func TestSaveChecks(t *testing.T) {
	path, folder := furnished(t), t.TempDir()
	rawExec(t, path, append(freeAudit(path), "UPDATE audit SET actor = 'x' WHERE seq = 3")...)
	if _, err := store.Save(t.Context(), path, folder, named("b.db"), store.Options{}); err == nil || !strings.Contains(err.Error(), "broken at row 3") {
		t.Errorf("got %v", err)
	}
	left, err := filepath.Glob(filepath.Join(folder, "*"))
	if err != nil || len(left) != 1 { // the lock
		t.Errorf("left: %v", left)
	}
}

func TestRestoreRefuses(t *testing.T) {
	good := saved(t, furnished(t))
	for _, row := range []struct {
		name    string
		prepare func(t *testing.T, file, place string)
		replace bool
		say     string
	}{
		{"a database that is there", func(t *testing.T, _, place string) { must(t, os.WriteFile(place, []byte("x"), 0o600)) }, false, "--replace"},
		{"a running program", func(t *testing.T, _, place string) { mustOpen(t, place) }, true, "Another kitbell (process"},
		{"a changed byte", func(t *testing.T, file, _ string) { flip(t, file, 5000) }, false, "checksum differs"},
		{"a cut file", func(t *testing.T, file, _ string) { must(t, os.Truncate(file, 8192)) }, false, "checksum differs"},
		{"a damaged page, no checksum", func(t *testing.T, file, _ string) {
			must(t, os.Remove(file+store.SumSuffix))
			must(t, os.Truncate(file, 8192))
		}, false, "is damaged"},
		{"no database", func(t *testing.T, file, _ string) {
			must(t, os.Remove(file+store.SumSuffix))
			must(t, os.WriteFile(file, []byte(strings.Repeat("minutes of the meeting\n", 900)), 0o600))
		}, false, "b.db is not a kitbell database"},
		{"a changed audit, no checksum", func(t *testing.T, file, _ string) {
			must(t, os.Remove(file+store.SumSuffix))
			rawExec(t, file, append(freeAudit(file), "UPDATE audit SET actor = 'x' WHERE seq = 3")...)
		}, false, "is damaged"},
		{"a newer program's", func(t *testing.T, file, _ string) {
			must(t, os.Remove(file+store.SumSuffix))
			newerTables(t, file)
		}, false, "newer kitbell wrote"},
		{"a file that is not there", func(t *testing.T, file, _ string) { must(t, os.Remove(file)) }, false, "I cannot read"},
	} {
		t.Run(row.name, func(t *testing.T) {
			file, place := copied(t, good.Path), filepath.Join(t.TempDir(), "kitbell.db")
			row.prepare(t, file, place)
			was, _ := os.ReadFile(place)
			_, err := store.Restore(t.Context(), file, place, row.replace, store.Options{})
			wantSentence(t, err, row.say)
			is, _ := os.ReadFile(place)
			left, _ := filepath.Glob(filepath.Join(filepath.Dir(place), ".kitbell*"))
			if !cmp.Equal(was, is) || len(left) > 0 {
				t.Errorf("the place was changed; left: %v", left)
			}
		})
	}
}

// copied copies a backup with its checksum into a folder of its own.
func copied(t *testing.T, from string) (to string) {
	t.Helper()
	to = filepath.Join(t.TempDir(), filepath.Base(from))
	for _, ending := range []string{"", store.SumSuffix} {
		raw, err := os.ReadFile(from + ending)
		must(t, err)
		must(t, os.WriteFile(to+ending, raw, 0o600))
	}
	return to
}

func flip(t *testing.T, file string, at int64) {
	t.Helper()
	f, err := os.OpenFile(file, os.O_RDWR, 0)
	must(t, err)
	defer f.Close()
	one := make([]byte, 1)
	_, err = f.ReadAt(one, at)
	must(t, err)
	one[0] ^= 0x10
	_, err = f.WriteAt(one, at)
	must(t, err)
}

// What stood in the place is set aside whole, with what its log held, and a
// PostgreSQL database with rows is refused.
func TestRestoreReplaces(t *testing.T) {
	file, place := saved(t, furnished(t)).Path, filepath.Join(t.TempDir(), "kitbell.db")
	db, err := store.Open(t.Context(), place, store.Options{})
	must(t, err)
	must(t, db.SetSetting(t.Context(), "d", "old", "yes"))
	must(t, db.Close())
	restored, err := store.Restore(t.Context(), file, place, true, store.Options{Clock: bot.NewManualClock(storetest.Noon)})
	must(t, err)
	if want := strings.TrimSuffix(place, ".db") + "-before-20261123T170000Z.db"; restored.Aside != want {
		t.Errorf("set aside as %s, want %s", restored.Aside, want)
	}
	if value, ok, err := mustOpen(t, restored.Aside).Setting(t.Context(), "d", "old"); !ok || err != nil || value != "yes" {
		t.Errorf("set aside: %q, %v, %v", value, ok, err)
	}
	if _, ok, err := mustOpen(t, place).Setting(t.Context(), "d", "old"); ok || err != nil {
		t.Errorf("restored: %v, %v", ok, err)
	}
	address := server.Empty(t)
	_, err = store.Restore(t.Context(), file, address, true, store.Options{})
	must(t, err)
	_, err = store.Restore(t.Context(), file, address, true, store.Options{})
	wantSentence(t, err, "I write over none")
}

// Backups of every released version are restored and brought up to date.
func TestOlderBackupsAreMigrated(t *testing.T) {
	for version := int64(1); version <= store.NewestMigration(); version++ {
		t.Run(fmt.Sprint("version ", version), func(t *testing.T) {
			old, fresh := filepath.Join(t.TempDir(), "kitbell.db"), filepath.Join(t.TempDir(), "kitbell.db")
			older(t, old, version)
			restored, err := store.Restore(t.Context(), saved(t, old).Path, fresh, false, store.Options{})
			must(t, err)
			if restored.From != version || restored.Version != store.NewestMigration() {
				t.Errorf("from %d to %d", restored.From, restored.Version)
			}
			keptFromBefore(t, mustOpen(t, fresh))
		})
	}
}
