// Package command decides what the bot does. Each thing that a crew can ask is
// a Command in a file of its own: it reads, computes and returns a Result, and
// never sends or writes. The Router finds the command for a message or a
// press, runs it, and hands everything it wants written to the store as one
// Turn. Intake takes events in from the platforms, keeps each conversation in
// order, and loses nothing when the program is stopped.
//
// The smallest use is a command:
//
//	command.Command{Name: "ping", Summary: "Answers.", Run: func(ctx context.Context, r *command.Request) (command.Result, error) {
//		return command.Say("Here."), nil
//	}}
//
// The package imports the domain packages' types; what it needs of the store
// is declared here as small interfaces (Books, Ledger).
package command
