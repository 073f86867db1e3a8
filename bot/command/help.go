package command

import (
	"context"

	"kitbell/bot"
	"kitbell/bot/understand"
)

// HelpCommand lists what can be typed. commands are those that the router has.
func HelpCommand(commands []Command) Command {
	return Command{
		Name:    string(understand.Help),
		Usage:   "help",
		Summary: "See what you can type.",
		Private: true,
		Run: func(_ context.Context, _ *Request) (Result, error) {
			reply := bot.Reply{Title: "Type it as you would say it."}
			for _, c := range commands {
				if c.Summary != "" {
					reply.Fields = append(reply.Fields, bot.Field{Name: c.Usage, Value: c.Summary})
				}
			}
			reply.Fields = append(reply.Fields, bot.Field{Name: "Anything else", Value: notedWords})
			return Answer(reply), nil
		},
	}
}

// notedWords says what is kept as a note for somebody's desk.
const notedWords = "A kit that moved, a loan, stock, a sign-off: say it, and I note it for the one whose desk it is."

// NoneCommand answers what asks for nothing: with silence in a channel, with a
// hint where the bot itself was spoken to.
func NoneCommand() Command {
	return Command{
		Name: string(understand.None),
		Run: func(_ context.Context, r *Request) (Result, error) {
			switch {
			case r.Verb != "":
				return r.passOffKit()
			case r.Reading.OffKit != "":
				return r.notMine(), nil
			case r.Event.Direct:
				return Say("Nothing to do for me there. Type help to see what I do."), nil
			}
			return Result{}, nil
		},
	}
}
