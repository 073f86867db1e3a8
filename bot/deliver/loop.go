package deliver

import (
	"context"
	"log/slog"

	"kitbell/bot"
)

// Loop empties the outbox. Store, Adapters, Clock and Log are needed.
type Loop struct {
	Store    Store
	Adapters []bot.Adapter
	Clock    bot.Clock
	Log      *slog.Logger
	// GaveUp hears of every message that will not be tried again and may not
	// have arrived (Failed, PossiblySent), after that is stored. It is called
	// from the lane's goroutine and holds that lane up until it returns. nil
	// leaves it to the log.
	GaveUp func(ctx context.Context, item Item, o Outcome)
}

// Run sends until ctx ends and returns its error.
func (l *Loop) Run(ctx context.Context) error {
	<-ctx.Done()
	return ctx.Err()
}
