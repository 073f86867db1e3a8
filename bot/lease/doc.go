// Package lease keeps what only one of several processes may do at a time: it
// claims leases in a database that they share, renews them while the work goes
// on, and says when one is lost.
//
// The smallest use:
//
//	k := lease.NewKeeper(db, owner, lease.Options{Log: log})
//	go k.Run(ctx)                               // renews; gives all back at the end
//	held, err := k.Take(ctx, "gateway:discord") // nil: another process has it
//	...                                         // until held.Lost() is closed
//	k.Give(ctx, held)
//
// A lease is a row with an owner, a moment until which it holds, by the
// database's clock, and a term that rises with every owner. The keeper never asks
// its own clock who holds a lease; it measures only how long its own claim can
// still be good, and counts a lease as lost before others may take it.
package lease
