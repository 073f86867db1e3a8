package main

import (
	"bufio"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/store"
	"kitbell/testdata/demo"
)

func benchOffice(b *testing.B, openStore func(o store.Options) (*store.DB, error)) *office {
	b.Helper()
	open, err := openDemoDesk()
	if err != nil {
		b.Fatal(err)
	}
	log := slog.New(slog.DiscardHandler)
	db, err := openStore(store.Options{Log: log})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { db.Close() })
	return newOffice(newDesks(open.desk), db, bot.SystemClock{}, log)
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

// BenchmarkStart starts the real program with the demo, from the exec to its
// first line, and reads what it holds in memory once it has answered a question. Aims: 0.3 s and 80 MB.
func BenchmarkStart(b *testing.B) {
	program := filepath.Join(b.TempDir(), "kitbell")
	if out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput(); err != nil {
		b.Fatalf("build: %v\n%s", err, out)
	}
	if info, err := os.Stat(program); err == nil {
		b.ReportMetric(float64(info.Size())/1e6, "MB-binary")
	}
	var times []time.Duration
	var rest int64
	for b.Loop() {
		took, kilobytes := startOnce(b, program)
		times = append(times, took)
		rest = max(rest, kilobytes)
	}
	median(b, times)
	b.ReportMetric(float64(rest)/1e3, "MB-at-rest")
}

// startOnce starts the program, waits for its first line, asks something, looks at
// its resident memory and ends it by closing its input.
func startOnce(b *testing.B, program string) (took time.Duration, kilobytes int64) {
	b.Helper()
	cmd := exec.Command(program, "demo")
	in, err := cmd.StdinPipe()
	if err != nil {
		b.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		b.Fatal(err)
	}
	began := time.Now()
	if err := cmd.Start(); err != nil {
		b.Fatal(err)
	}
	lines := bufio.NewReader(out)
	if _, err := lines.ReadString('\n'); err != nil {
		b.Fatal(err)
	}
	took = time.Since(began)
	if _, err := io.WriteString(in, "what is a deadbolt\n"); err != nil {
		b.Fatal(err)
	}
	for line := ""; !strings.HasPrefix(line, "Source"); { // all that is made on demand is there then
		if line, err = lines.ReadString('\n'); err != nil {
			b.Fatal(err)
		}
	}
	kilobytes = resident(cmd.Process.Pid)
	in.Close()
	if err := cmd.Wait(); err != nil {
		b.Fatal(err)
	}
	return took, kilobytes
}

// resident is a process's memory in kB where the system tells it, else 0.
func resident(pid int) (kilobytes int64) {
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0
	}
	for line := range strings.Lines(string(status)) {
		if rest, ok := strings.CutPrefix(line, "VmRSS:"); ok {
			fmt.Sscan(rest, &kilobytes)
		}
	}
	return kilobytes
}

// BenchmarkMorning lets the weekly check of every kit fall due in the same minute
// for 1,000 departments of eleven kits, and takes the time until all posts are in
// the outbox, durable on the disk. Aim: 10 s. Run it once: -benchtime 1x.
func BenchmarkMorning(b *testing.B) {
	open, err := openDemoDesk()
	if err != nil {
		b.Fatal(err)
	}
	desks := manyOf(open.desk, 1000)
	before := time.Date(2026, 11, 23, 7, 0, 0, 0, desks[0].Department.Zone) // A's last morning; nobody is written to
	var times []time.Duration
	for b.Loop() {
		clock := bot.NewManualClock(before)
		db, err := store.Open(b.Context(), filepath.Join(b.TempDir(), fmt.Sprintf("%d.db", len(times))), store.Options{Clock: clock})
		if err != nil {
			b.Fatal(err)
		}
		bundler := &command.Bundler{Desks: func() []*command.Desk { return desks }, Books: db, Ledger: db, Log: slog.New(slog.DiscardHandler)}
		step := func(at time.Time) {
			clock.Set(at)
			if _, err := bundler.Step(b.Context(), at); err != nil {
				b.Fatal(err)
			}
		}
		step(before)
		began := time.Now()
		step(before.Add(2 * time.Hour))
		times = append(times, time.Since(began))
		for _, desk := range desks { // every kit has its post, which asks again in the next tour
			sent, err := db.Entries(b.Context(), desk.Department.Slug, "bundle", "", before)
			if err != nil || len(sent) != 11 {
				b.Fatalf("%s: %d posts, %v", desk.Department.Slug, len(sent), err)
			}
		}
		db.Close()
	}
	median(b, times)
}

// BenchmarkHearing answers a lead's questions about the request, from the message to
// the answer that is durable, with the demo's year of records. Aim: 1 s.
func BenchmarkHearing(b *testing.B) {
	o := benchOffice(b, func(so store.Options) (*store.DB, error) { return store.OpenTemp(b.Context(), so) })
	d := o.desks.all()[0].Department
	for _, turn := range demo.History(d, time.Now()) {
		if err := o.db.Apply(b.Context(), turn); err != nil {
			b.Fatal(err)
		}
	}
	for _, question := range []string{"budget", "why 2 at $79", "what if we leave station 7 out", "what did we lose this year", "best set under $500"} {
		b.Run(strings.ReplaceAll(question, " ", "-"), func(b *testing.B) {
			var times []time.Duration
			for i := 0; b.Loop(); i++ {
				e := benchEvent(i, question)
				e.ID, e.From = fmt.Sprint(question, i), bot.Speaker{ID: "ines-okafor", Member: "ines-okafor", Unit: "engine-6", Platoon: "C"}
				began := time.Now()
				out, err := o.intake.Now(b.Context(), e)
				if err != nil || len(out.Turn.Posts) == 0 {
					b.Fatal(err)
				}
				times = append(times, time.Since(began))
			}
			median(b, times)
		})
	}
}
