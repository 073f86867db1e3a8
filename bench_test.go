package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"log/slog"
	"path/filepath"
	"runtime"
	"slices"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/store"
	"kitbell/testdata/demo"
)

func benchOffice(b *testing.B, open func(o store.Options) (*store.DB, error)) *office {
	b.Helper()
	library, err := loadCards(nil)
	if err != nil {
		b.Fatal(err)
	}
	desk, err := newDesk(demo.Department(), library)
	if err != nil {
		b.Fatal(err)
	}
	log := slog.New(slog.DiscardHandler)
	db, err := open(store.Options{Log: log})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { db.Close() })
	return newOffice(newDesks(desk), db, bot.SystemClock{}, log)
}

func benchEvent(n int, text string) bot.Event {
	return bot.Event{
		ID: fmt.Sprint("bench-", n), Department: "tarn-harbor", Kind: bot.Said, At: time.Now(), Text: text, Direct: true,
		From: bot.Speaker{ID: "a", Unit: "engine-4", Platoon: "A"}, Where: bot.Address{Platform: sayPlatform, Channel: "1"},
	}
}

// median reports the middle of the times, which one slow disk write does not
// move.
func median(b *testing.B, times []time.Duration) {
	slices.Sort(times)
	b.ReportMetric(float64(times[len(times)/2].Microseconds())/1000, "ms/median")
	b.ReportMetric(0, "ns/op")
}

// BenchmarkQuestion understands a question and searches the cards, in process.
// Aim: 0.5 ms at the median.
func BenchmarkQuestion(b *testing.B) {
	o := benchOffice(b, func(so store.Options) (*store.DB, error) { return store.OpenTemp(b.Context(), so) })
	desk := o.desks.all()[0]
	questions := []string{"how do I slip a tight gap", "when should I not use the shove knife", "what does the little pin beside the latch do", "how do I prime the pump"}
	var times []time.Duration
	for i := 0; b.Loop(); i++ {
		began := time.Now()
		found := desk.Cards.Search(questions[i%len(questions)])
		desk.Cards.Answer(found)
		times = append(times, time.Since(began))
	}
	median(b, times)
}

// BenchmarkReport takes a report from the event to the confirmation, durable on
// the disk before. Aim: 10 ms.
func BenchmarkReport(b *testing.B) {
	o := benchOffice(b, func(so store.Options) (*store.DB, error) {
		return store.Open(b.Context(), filepath.Join(b.TempDir(), "kitbell.db"), so)
	})
	var times []time.Duration
	for i := 0; b.Loop(); i++ {
		began := time.Now()
		if _, err := o.intake.Now(b.Context(), benchEvent(i, "E4 is missing the small hook")); err != nil {
			b.Fatal(err)
		}
		times = append(times, time.Since(began))
	}
	median(b, times)
}

// promptWriter notes when the first byte was written.
type promptWriter struct {
	io.Writer
	first time.Time
}

func (w *promptWriter) Write(p []byte) (int, error) {
	if w.first.IsZero() {
		w.first = time.Now()
	}
	return w.Writer.Write(p)
}

// BenchmarkStart is the demo from its start to its first line, in process, with
// the history written. Aim: 0.3 s. It also reports the memory at rest, after a
// collection. Aim: 80 MB.
func BenchmarkStart(b *testing.B) {
	var times []time.Duration
	for b.Loop() {
		out := &promptWriter{Writer: io.Discard}
		began := time.Now()
		if code := dispatch(context.Background(), []string{"demo"}, streams{bytes.NewReader(nil), out, io.Discard}); code != exitOK {
			b.Fatal("demo ended with", code)
		}
		times = append(times, out.first.Sub(began))
	}
	median(b, times)
	o := benchOffice(b, func(so store.Options) (*store.DB, error) { return store.OpenTemp(b.Context(), so) })
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	b.ReportMetric(float64(m.HeapInuse+m.StackInuse)/1e6, "MB-at-rest")
	runtime.KeepAlive(o)
}
