package store_test

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"

	"kitbell/bot"
	"kitbell/bot/kit"
	"kitbell/bot/store"
	"kitbell/bot/store/storetest"
)

// reporterPlace tells this test's program to be the one that is killed: it names
// the database.
const reporterPlace = "KITBELL_TEST_REPORTER_PLACE"

// TestKilledProgramLosesNothing kills a program in the middle of its reports,
// several times over one database. What it had confirmed is there, nothing is
// there by halves, and the next one can open it.
func TestKilledProgramLosesNothing(t *testing.T) {
	if place := os.Getenv(reporterPlace); place != "" {
		reportForEver(t, place)
		return
	}
	t.Run("SQLite", func(t *testing.T) { killedProgramLosesNothing(t, filepath.Join(t.TempDir(), "kitbell.db")) })
	t.Run("PostgreSQL", func(t *testing.T) { killedProgramLosesNothing(t, durable.Database(t)) })
}

func killedProgramLosesNothing(t *testing.T, place string) {
	confirmed := map[string]bool{}
	for round := range 5 {
		for _, item := range killedAfter(t, place, 10+13*round) {
			confirmed[item] = true
		}
		db, err := store.Open(t.Context(), place, store.Options{})
		must(t, err)
		lines, err := db.OpenLines(t.Context(), storetest.Department)
		must(t, err)
		stored := map[string]bool{}
		for _, l := range lines {
			stored[l.Item] = true
		}
		for item := range confirmed {
			if !stored[item] {
				t.Errorf("round %d: %s was confirmed and is gone", round, item)
			}
		}
		rows, err := db.VerifyAudit(t.Context(), storetest.Department)
		if err != nil || int(rows) != len(lines) {
			t.Errorf("round %d: %d lines, %d audit rows, %v", round, len(lines), rows, err)
		}
		must(t, db.Close())
	}
}

// killedAfter runs a reporting program, kills it after so many confirmations, and
// gives the items that it confirmed.
func killedAfter(t *testing.T, place string, confirmations int) (items []string) {
	t.Helper()
	program := exec.CommandContext(t.Context(), os.Args[0], "-test.run=^TestKilledProgramLosesNothing$")
	program.Env = append(os.Environ(), reporterPlace+"="+place)
	out, err := program.StdoutPipe()
	must(t, err)
	must(t, program.Start())
	for scanner := bufio.NewScanner(out); scanner.Scan(); {
		items = append(items, scanner.Text())
		if len(items) == confirmations {
			must(t, program.Process.Kill())
		}
	}
	if err := program.Wait(); err == nil || len(items) < confirmations {
		t.Fatalf("the program ended by itself after %d reports", len(items))
	}
	return items
}

// reportForEver reports from four goroutines and prints each item once it is
// stored, until the program is killed.
func reportForEver(t *testing.T, place string) {
	db, err := store.Open(t.Context(), place, store.Options{})
	must(t, err)
	var group sync.WaitGroup
	for range 4 {
		group.Go(func() {
			for t.Context().Err() == nil {
				number, err := db.NextNumber(t.Context(), storetest.Department)
				if err != nil {
					t.Error(err)
					return
				}
				id := fmt.Sprint("item-", number, "-", os.Getpid())
				turn := storetest.Turn(id, kit.File(nil, storetest.Report(id), number))
				turn.Posts = []bot.Outgoing{storetest.Post(id, "station-4")}
				_, err = db.Receive(t.Context(), storetest.Event(id))
				if err == nil {
					err = db.Apply(t.Context(), turn)
				}
				if err != nil {
					t.Error(err)
					return
				}
				fmt.Println(id)
			}
		})
	}
	group.Wait()
}
