// Package deliver sends what the outbox holds: lanes side by side, each lane in
// order, at the pace its platform allows, with growing pauses after a failure,
// and loudly when it gives up (Loop). It also cuts long replies into messages
// that a platform takes, before they are stored (Split).
//
// The smallest use:
//
//	loop := deliver.Loop{Store: db, Adapters: adapters, Clock: clock, Log: log}
//	err := loop.Run(ctx) // until ctx ends
//
// It renders nothing, stores nothing by itself, and does not decide what is
// said or to whom.
package deliver
