// Package console is the terminal as a chat platform: a person types as a crew
// member and sees the replies, and also what is posted to the channels
// meanwhile.
//
// The smallest use:
//
//	adapter := console.New(console.Options{
//		In: os.Stdin, Out: os.Stdout, Department: "tarn-harbor",
//		First: console.Person{Speaker: bot.Speaker{ID: "ines-okafor", Member: "ines-okafor", Name: "Ines Okafor"}, Channel: "station-6"},
//	})
//	err := adapter.Run(ctx, handler)
//
// Buttons are numbered and pressed by typing the number. Lines that begin with
// a colon are the terminal's own (:help lists them) and never reach the
// handler. On a real terminal there is line editing, a history, and bold text
// where the environment allows it; on a pipe every line is answered before the
// next one is read, so that a dialogue comes out the same each time.
//
// Nothing that people write can steer the terminal: control characters, escape
// sequences and marks that turn the direction of text are taken out before
// anything is shown.
//
// It has no threads, changes no message once it is shown, and asks no forms.
package console
