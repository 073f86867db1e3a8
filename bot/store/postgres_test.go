package store_test

import (
	"os"
	"testing"

	"kitbell/bot/store"
	"kitbell/bot/store/pgtest"
	"kitbell/bot/store/storetest"
)

// The servers of this test process: one that answers quickly, and one that waits
// for the disk.
var (
	server  pgtest.Server
	durable = pgtest.Server{Durable: true}
)

func TestMain(m *testing.M) {
	code := m.Run()
	server.Stop()
	durable.Stop()
	os.Exit(code)
}

// places makes a database for each folder that the contract names.
func places(t testing.TB) func(place string) (address string) {
	known := make(map[string]string)
	return func(place string) string {
		if known[place] == "" {
			known[place] = server.Database(t)
		}
		return known[place]
	}
}

// TestContractOnPostgres also collects every statement that the contract made the
// stores run.
func TestContractOnPostgres(t *testing.T) {
	at := places(t)
	var statements []string
	storetest.Run(t, func(t testing.TB, place string) *store.DB {
		db, err := store.Open(t.Context(), at(place), store.Options{})
		must(t, err)
		t.Cleanup(func() { statements = append(statements, db.Statements()...) })
		return db
	})
}

func TestSharedOnPostgres(t *testing.T) {
	at := places(t)
	storetest.RunShared(t, func(t testing.TB, place string) *store.DB {
		db, err := store.Open(t.Context(), at(place), store.Options{Shared: true})
		must(t, err)
		return db
	})
}
