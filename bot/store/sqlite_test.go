package store_test

import (
	"path/filepath"
	"testing"

	"kitbell/bot/store"
	"kitbell/bot/store/storetest"
)

func TestContract(t *testing.T) {
	storetest.Run(t, func(t testing.TB, place string) *store.DB {
		db, err := store.Open(t.Context(), filepath.Join(place, "kitbell.db"), store.Options{})
		must(t, err)
		return db
	})
}
