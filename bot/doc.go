// Package bot holds the words that every other package shares: what comes in
// (Event), what goes out (Reply, Outgoing), where it goes (Address), what one
// handled event writes (Turn, Change), and the interfaces between the chat
// platforms and the rest (Adapter, Handler, Prompter).
//
// The smallest use is an adapter: turn what a platform says into an Event,
// give it to the Handler, and render each Outgoing that comes back.
//
// It holds no behaviour of the department's: no kits, no doors, no storage.
// It imports the standard library only.
package bot
