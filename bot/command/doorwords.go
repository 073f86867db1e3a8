package command

import (
	"strings"
	"unicode/utf8"

	"kitbell/bot/door"
)

// factsWords says what is known of a door in one line.
func factsWords(f door.Facts) string {
	var words []string
	for _, fact := range door.AllFacts() {
		if v := f.Value(fact); v != "" {
			words = append(words, factWords(fact, v))
		}
	}
	if len(words) == 0 {
		return "nothing about the door yet. Which way does it open, and what holds it?"
	}
	return strings.Join(words, ", ")
}

// factWords says one fact as a crew would.
func factWords(fact door.Fact, value string) string {
	if words, ok := factPhrases[string(fact)+"="+value]; ok {
		return words
	}
	return strings.ReplaceAll(string(fact)+" "+value, "-", " ")
}

// lookWords is the question about a fact.
func lookWords(fact door.Fact) string {
	if words, ok := lookPhrases[fact]; ok {
		return words
	}
	return "Look at the " + string(fact) + "."
}

var factPhrases = map[string]string{
	"swing=out": "opens toward you", "swing=in": "opens away", "swing=sliding": "slides", "swing=overhead": "rolls up",
	"leaves=single": "single door", "leaves=pair": "pair of doors",
	"lock=spring-latch": "spring latch", "lock=deadlatch": "deadlatch", "lock=deadbolt": "deadbolt", "lock=mortise": "mortise lock",
	"lock=narrow-stile": "narrow-stile lock", "lock=exit-rim": "rim exit device", "lock=exit-vertical-rod": "vertical rods",
	"lock=magnetic": "magnet", "lock=electric-strike": "electric strike", "lock=swing-bar": "swing-bar guard", "lock=room-latch": "hinged room latch",
	"lock=chain": "chain", "lock=padlock": "padlock",
	"guard=true": "guard plate", "guard=false": "no guard plate",
	"plunger=none": "no pin beside the latch", "plunger=out": "pin is out", "plunger=partly": "pin partly in", "plunger=in": "pin pressed in",
	"gap=tight": "tight gap", "gap=normal": "normal gap", "gap=loose": "loose gap",
	"undercut=true": "room under the door", "undercut=false": "no room under the door",
	"lever=true": "lever inside", "lever=false": "no lever", "thumbturn=true": "thumbturn inside", "thumbturn=false": "no thumbturn",
	"sensor=true": "motion sensor inside", "sensor=false": "no motion sensor",
	"urgency=life": "life at stake", "urgency=urgent": "urgent", "urgency=routine": "routine call",
	"bolt=true": "bolt thrown", "bolt=false": "no bolt thrown",
	"hinges=outside": "hinge pins on your side", "hinges=inside": "hinges on the far side", "hinges=fixed": "hinge pins fixed",
	"fire=true": "fire or smoke", "fire=false": "no fire", "gas=true": "gas suspected", "gas=false": "no gas",
	"glass=true": "glass near the lock", "glass=false": "no glass near the lock",
	"ajar=true": "stands open", "ajar=false": "shut", "finished=true": "call is over", "finished=false": "call is not over", "spent=true": "all gentle ways tried",
}

var lookPhrases = map[door.Fact]string{
	door.FactSwing:     "Which way does it open?",
	door.FactLock:      "What holds it?",
	door.FactGuard:     "Is there a plate over the latch?",
	door.FactPlunger:   "Can you see the small pin beside the latch?",
	door.FactGap:       "How wide is the gap at the latch?",
	door.FactUndercut:  "Is there room under the door?",
	door.FactLever:     "Is there a lever handle inside?",
	door.FactThumbturn: "Is there a thumbturn inside?",
	door.FactSensor:    "Is there a motion sensor inside?",
	door.FactBolt:      "Is a bolt thrown?",
	door.FactHinges:    "Where are the hinge pins?",
	door.FactGlass:     "Is there glass near the lock?",
}

func upperFirst(s string) string {
	if s == "" {
		return ""
	}
	r, n := utf8.DecodeRuneInString(s)
	return strings.ToUpper(string(r)) + s[n:]
}
