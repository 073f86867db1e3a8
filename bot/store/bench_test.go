package store_test

import (
	"context"
	"fmt"
	"log/slog"
	"path/filepath"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/deliver"
	"kitbell/bot/kit"
	"kitbell/bot/store"
	"kitbell/bot/store/storetest"
)

// durableReport takes one report from the platform to the disk: the event, then
// the line with its step, its audit row and the confirmation in the outbox.
func durableReport(b *testing.B, db *store.DB, n int) {
	id := fmt.Sprint("event-", n)
	if _, err := db.Receive(b.Context(), storetest.Event(id)); err != nil {
		b.Error(err)
	}
	turn := storetest.Turn(id, kit.File(nil, storetest.Report(fmt.Sprint("item-", n)), n))
	turn.Posts = []bot.Outgoing{storetest.Post(id, "station-4")}
	if err := db.Apply(b.Context(), turn); err != nil {
		b.Error(err)
	}
}

// benchBoth measures on both databases, each waiting for the disk.
func benchBoth(b *testing.B, bench func(b *testing.B, place string)) {
	b.Run("SQLite", func(b *testing.B) { bench(b, filepath.Join(b.TempDir(), "kitbell.db")) })
	b.Run("PostgreSQL", func(b *testing.B) { bench(b, durable.Database(b)) })
}

// BenchmarkReport is one crew alone: two commits, each waited for. The aim is
// 10 ms.
func BenchmarkReport(b *testing.B) { benchBoth(b, benchReport) }

func benchReport(b *testing.B, place string) {
	db := mustOpen(b, place)
	var took []time.Duration
	n := 0
	for b.Loop() {
		n++
		begun := time.Now()
		durableReport(b, db, n)
		took = append(took, time.Since(begun))
	}
	slices.Sort(took)
	b.ReportMetric(took[len(took)/2].Seconds()*1000, "ms/median")
	b.ReportMetric(took[len(took)*99/100].Seconds()*1000, "ms/p99")
}

// BenchmarkReportsAtOnce is 64 crews at the same time, sharing commits. The aim
// is 3,000 reports a second on two cores.
func BenchmarkReportsAtOnce(b *testing.B) { benchBoth(b, benchReportsAtOnce) }

func benchReportsAtOnce(b *testing.B, place string) {
	db := mustOpen(b, place)
	b.SetParallelism(max(1, 64/runtime.GOMAXPROCS(0)))
	b.ResetTimer() // opening waits for the disk often
	var n atomic.Int64
	var mu sync.Mutex
	var took []time.Duration
	b.RunParallel(func(pb *testing.PB) {
		for pb.Next() {
			begun := time.Now()
			durableReport(b, db, int(n.Add(1)))
			mu.Lock()
			took = append(took, time.Since(begun))
			mu.Unlock()
		}
	})
	slices.Sort(took)
	b.ReportMetric(float64(n.Load())/b.Elapsed().Seconds(), "reports/s")
	b.ReportMetric(took[len(took)*99/100].Seconds()*1000, "ms/p99")
}

// BenchmarkReadyBehindABacklog looks for what may be sent while 20 lanes have
// 1,000 messages each.
func BenchmarkReadyBehindABacklog(b *testing.B) {
	db, err := store.OpenTemp(b.Context(), store.Options{})
	must(b, err)
	defer db.Close()
	turn := storetest.Turn("")
	for lane := range 20 {
		for i := range 1000 {
			turn.Posts = append(turn.Posts, storetest.Post(fmt.Sprint(lane, "-", i), fmt.Sprint("station-", lane)))
		}
	}
	must(b, db.Apply(b.Context(), turn))
	for b.Loop() {
		items, _, err := db.Ready(b.Context(), storetest.Noon, 64)
		if err != nil || len(items) != 20 {
			b.Fatal(len(items), err)
		}
	}
}

// BenchmarkOpenTemp makes, migrates and removes a throw-away store.
func BenchmarkOpenTemp(b *testing.B) {
	for b.Loop() {
		db, err := store.OpenTemp(b.Context(), store.Options{})
		must(b, err)
		must(b, db.Close())
	}
}

// BenchmarkDrain sends 64 lanes of messages through the deliver loop to a
// platform that takes each at once: what the store allows, not what a platform
// does.
func BenchmarkDrain(b *testing.B) {
	b.Run("SQLite", func(b *testing.B) { benchDrain(b, func() string { return filepath.Join(b.TempDir(), "kitbell.db") }) })
	b.Run("PostgreSQL", func(b *testing.B) { benchDrain(b, func() string { return durable.Database(b) }) })
}

func benchDrain(b *testing.B, place func() string) {
	const lanes, each = 64, 32
	for b.Loop() {
		db, err := store.Open(b.Context(), place(), store.Options{})
		must(b, err)
		platform := &counter{keys: map[string][]string{}, left: lanes * each, done: make(chan struct{})}
		turn := storetest.Turn("")
		for lane := range lanes {
			for i := range each {
				turn.Posts = append(turn.Posts, storetest.Post(fmt.Sprint(lane, "/", i), fmt.Sprint(lane)))
			}
		}
		must(b, db.Apply(b.Context(), turn))
		ctx, cancel := context.WithCancel(b.Context())
		ended := make(chan error, 1)
		loop := deliver.Loop{Store: db, Adapters: []bot.Adapter{platform}, Clock: bot.SystemClock{}, Log: slog.New(slog.DiscardHandler)}
		go func() { ended <- loop.Run(ctx) }()
		<-platform.done
		cancel()
		must(b, <-ended)
		must(b, db.Close())
	}
	b.ReportMetric(float64(lanes*each*b.N)/b.Elapsed().Seconds(), "messages/s")
}
