package store_test

import (
	"context"
	"fmt"
	"time"

	"kitbell/bot"
	"kitbell/bot/kit"
	"kitbell/bot/store"
)

// One report, from the platform's event to the line in the queue.
func Example() {
	ctx := context.Background()
	db, err := store.OpenTemp(ctx, store.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer db.Close()

	at := time.Date(2026, 11, 23, 12, 0, 0, 0, time.UTC)
	event := bot.Event{ID: "e1", Department: "tarn-harbor", Kind: bot.Said, At: at, Text: "E4 is missing the small hook",
		Where: bot.Address{Platform: "console"}}
	for range 2 { // the platform delivers it twice
		isNew, err := db.Receive(ctx, event)
		fmt.Println("new:", isNew, err)
	}

	number, _ := db.NextNumber(ctx, "tarn-harbor")
	opened := kit.File(nil, kit.Report{Kit: "k07", Unit: "engine-4", Item: "traveler-hook-small",
		Condition: kit.Missing, Count: 1, By: "a-crew", At: at}, number)
	err = db.Apply(ctx, bot.Turn{Department: "tarn-harbor", EventID: "e1", Platform: "console", Actor: "a-crew", At: at,
		Changes: []bot.Change{opened}})
	fmt.Println("stored:", err == nil)

	lines, _ := db.OpenLines(ctx, "tarn-harbor")
	rows, err := db.VerifyAudit(ctx, "tarn-harbor")
	fmt.Println(lines[0].Number, lines[0].Item, lines[0].Condition)
	fmt.Println("audit rows:", rows, err)
	// Output:
	// new: true <nil>
	// new: false <nil>
	// stored: true
	// 1 traveler-hook-small missing
	// audit rows: 1 <nil>
}
