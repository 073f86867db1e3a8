package command

import (
	"regexp"
	"strings"

	"kitbell/bot/understand"
)

// standsFor gives the button that a short message stands for: a few words that
// are no sentence about a door or a use, but that a crew types instead of
// tapping. doing says whether a door is being worked on: its words mean nothing
// without one.
func standsFor(text string, doing bool) (press string, ok bool) {
	words := strings.ToLower(strings.Trim(strings.TrimSpace(text), ".!?"))
	if m := incidentAlone.FindStringSubmatch(words); m != nil {
		return string(understand.Used) + ":incident:" + m[1], true
	}
	if value, ok := anytimeWords[words]; ok {
		return value, true
	}
	value, ok := atDoorWords[words]
	return value, ok && doing
}

var incidentAlone = regexp.MustCompile(`^incident (?:no\.? ?|number ?|# ?)?([a-z]{0,3}-?\d[a-z0-9-]{2,18})$`)

var anytimeWords = map[string]string{
	"door": doorStart, "new door": doorStart, "a door": doorStart, "plan a door": doorStart,
	"back on the rig": "used:tell", "on the rig": "used:tell", "back in quarters": "used:tell", "tell how it went": "used:tell",
	"our uses": "used:list", "our records": "used:list", "last uses": "used:list",
	"that record was wrong": "used:withdraw", "that record is wrong": "used:withdraw", "my record was wrong": "used:withdraw", "withdraw my record": "used:withdraw",
}

var atDoorWords = map[string]string{
	"why": "door:why", "why that": "door:why", "show the numbers": "door:why",
	"draw it": "door:draw", "drawing": "door:draw", "show me": "door:draw", "picture": "door:draw",
	"another door": "door:another", "wrong": "door:fix", "fix": "door:fix", "that's wrong": "door:fix",
	"force now": "door:force", "officer says force it": "door:force",
	"open": "door:opened", "opened": "door:opened", "we're in": "door:opened",
	"not yet": "door:not-yet", "no luck": "door:not-yet", "next": "door:not-yet",
	"can't tell": "door:unsure", "cannot tell": "door:unsure", "don't know": "door:unsure", "no idea": "door:unsure",
}
