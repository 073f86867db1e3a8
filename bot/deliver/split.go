package deliver

import "kitbell/bot"

// Split cuts a message into as many as its platform needs.
func Split(o bot.Outgoing, caps bot.Capabilities) []bot.Outgoing { return []bot.Outgoing{o} }
