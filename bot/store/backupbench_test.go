package store_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"kitbell/bot"
	"kitbell/bot/store"
	"kitbell/bot/store/storetest"
)

// BenchmarkSave backs up a store of 20,000 entries with their audit, checks
// included.
func BenchmarkSave(b *testing.B) {
	path, folder := filepath.Join(b.TempDir(), "kitbell.db"), b.TempDir()
	db, err := store.Open(b.Context(), path, store.Options{})
	must(b, err)
	for i := range 100 {
		var changes []bot.Change
		for n := range 200 {
			changes = append(changes, bot.Written{Entry: bot.NewEntry("use", "k07", "a-crew", storetest.Noon, map[string]any{"n": n, "i": i, "technique": "slip-inward", "note": "the door at the end of the hall"})})
		}
		must(b, db.Apply(b.Context(), storetest.Turn("", changes...)))
	}
	must(b, db.Close())
	n := 0
	for b.Loop() {
		n++
		_, err := store.Save(b.Context(), path, folder, named(fmt.Sprint(n, ".db")), store.Options{})
		must(b, err)
	}
	info, err := os.Stat(filepath.Join(folder, "1.db"))
	must(b, err)
	b.ReportMetric(float64(info.Size())/1e6, "MB")
}

// BenchmarkVerifyAudit walks the audit of 20,000 rows.
func BenchmarkVerifyAudit(b *testing.B) {
	path := filepath.Join(b.TempDir(), "kitbell.db")
	db, err := store.Open(b.Context(), path, store.Options{})
	must(b, err)
	defer db.Close()
	for range 100 {
		changes := make([]bot.Change, 200)
		for n := range changes {
			changes[n] = bot.Written{Entry: bot.NewEntry("use", "k07", "a-crew", storetest.Noon, n)}
		}
		must(b, db.Apply(b.Context(), storetest.Turn("", changes...)))
	}
	for b.Loop() {
		if audits, err := db.Audits(b.Context()); err != nil || audits[0].Sound != 20000 {
			b.Fatal(audits, err)
		}
	}
}
