package console

import (
	"strconv"
	"strings"

	"kitbell/bot"
)

// buttons are those that a typed number presses: the ones of the last message
// that had any.
type buttons struct {
	live  []bot.Button
	at    bot.Address // of their message; with a person where only they saw it
	older int         // how many a message before that had: those numbers are gone
}

// follow takes note of a message that is now on the screen. An answer that asks
// something takes every number to be what it asked for, but for its own
// buttons: "How many?" followed by 1 must not press an undo from before.
func (b *buttons) follow(o bot.Outgoing, answer bool) {
	asks := answer && strings.HasSuffix(strings.TrimSpace(o.Reply.Title+" "+o.Reply.Text), "?")
	if len(o.Reply.Buttons) > 0 {
		b.older = max(b.older, len(b.live))
		b.live, b.at = o.Reply.Buttons, o.To
	} else if asks {
		b.live = nil
	}
	if asks {
		b.older = 0
	}
}

// pick finds the button that a line presses, and where its message is. A line
// that is no button's number gives nil; a number that only an older message had
// is a *bot.UserError.
func (b *buttons) pick(line string) (*bot.Button, bot.Address, error) {
	n, ok := number(line)
	switch {
	case !ok || n > max(len(b.live), b.older):
		return nil, bot.Address{}, nil
	case n > len(b.live):
		return nil, bot.Address{}, sayButtonGone.With(n, len(b.live))
	}
	return &b.live[n-1], b.at, nil
}

// number reads a line that is a number from 1 and nothing else.
func number(line string) (int, bool) {
	line = strings.TrimSpace(line)
	if strings.Trim(line, "0123456789") != "" {
		return 0, false // Atoi would take a sign
	}
	n, err := strconv.Atoi(line)
	return n, err == nil && n > 0
}
