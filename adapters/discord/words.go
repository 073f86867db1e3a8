package discord

import (
	"regexp"
	"strings"
)

// mark is one of the platform's marks in what a person typed (reference page
// "Message Formatting"): a person, a role, a channel, a command, an emoji, or a
// link kept from unfolding.
var mark = regexp.MustCompile(`<(@!?|@&|#|/[^<>:]+:|a?:\w+:)(\d+)>|<(https?://[^<>\s]+)>`)

// words are a message's words as a person reads them, without the bot's name;
// named says whether the bot was named, or answered with its name.
func (m message) words(self string) (text string, named bool) {
	names := make(map[string]string)
	for _, u := range m.Mentions {
		named = named || u.ID == self && self != ""
		names[u.ID] = u.Username
		if u.Display != "" {
			names[u.ID] = u.Display
		}
	}
	text = mark.ReplaceAllStringFunc(m.Content, func(found string) string {
		parts := mark.FindStringSubmatch(found)
		switch kind, id, link := parts[1], parts[2], parts[3]; {
		case link != "":
			return link
		case strings.HasPrefix(kind, "@") && id == self && self != "":
			return " "
		case kind == "@" || kind == "@!":
			return "@" + names[id]
		case kind == "@&":
			return "@role"
		case kind == "#":
			return "#channel"
		case strings.HasPrefix(kind, "/"):
			return strings.TrimSuffix(kind, ":")
		default:
			return strings.TrimPrefix(kind, "a")
		}
	})
	return strings.TrimSpace(text), named
}
