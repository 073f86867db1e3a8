// Package store keeps a department's rows: what came in (inbox), what goes out
// (outbox), conversations, the shortage queue with every version of every line,
// the journal, photos, what is due, and the audit. Everything that one event writes is
// one transaction, and a call that returns nil is on the disk.
//
// The smallest use:
//
//	db, err := store.Open(ctx, "kitbell.db", store.Options{Log: log, Clock: bot.SystemClock{}})
//	fresh, err := db.Receive(ctx, event)       // durable: the platform may be told
//	err = db.Apply(ctx, turn)                  // changes, audit, posts, event handled: all or nothing
//
// Writes go through one goroutine that gathers waiting functions into one
// commit (group commit); reads run beside it. A place is a file, for SQLite, or
// the address of a PostgreSQL database: both run the same SQL and have to pass the
// same contract, storetest. The database's clock is asked for leases only.
//
// The store decides nothing: it does not know who may do what, what a message
// means, or when to send. It never logs what people wrote.
package store
