package console

import "kitbell/bot"

// What the terminal itself says. What kitbell says stands in package bot.
const (
	sayUnknown    bot.Sentence = "This terminal knows no :%s. It knows %s. Anything that does not begin with a colon goes to kitbell."
	sayWhom       bot.Sentence = "Say who: type :as and a name."
	sayNobody     bot.Sentence = "Nobody else can speak here."
	sayWhere      bot.Sentence = "Say which channel: type :in and its name. You type in %s now."
	sayNoChannel  bot.Sentence = "There is no channel %s. There are %s."
	sayYouAre     bot.Sentence = "You speak as %s, in %s."
	sayNoClock    bot.Sentence = "This clock runs by itself and cannot be moved."
	sayButtonGone bot.Sentence = "Button %d is gone: the last message with buttons has %d. To say the number itself, put a word with it."
	sayLineFull   bot.Sentence = "That line may have lost its end, so I did not send it: a typed line holds %d characters. Send it in parts."
)

// ownNames are the terminal's own lines as a sentence lists them.
const ownNames = ":as, :in, :who, :clock, :help and :quit"

// help is one line for each, and what holds for all others.
func help() []string {
	return []string{
		":as NAME - speak as somebody else",
		":in CHANNEL - type in another channel",
		":who - say who is speaking, and where",
		":clock WHEN - move the clock, as in :clock +2d or :clock 2026-11-30 09:00",
		":help - show this list",
		":quit - leave; Ctrl-D does the same",
		"A number presses the button with that number. All else goes to kitbell.",
	}
}
