package command

import (
	"strings"
	"unicode"
)

var (
	codeWords  = set("code", "codes", "passcode", "keycode", "keypad", "combo", "combination", "pincode")
	codeBefore = set("gate", "alarm", "door", "box", "entry", "lock", "panel", "garage", "lobby", "building")
	bookWords  = set("safety", "fire", "nfpa", "ibc", "ada", "section", "standard")
	// What a number of four to eight digits right behind opens.
	codePlaces = set("pin", "gate", "keypad", "lockbox", "keybox", "box", "panel", "access", "alarm")
	// What is done with a code.
	codeVerbs = set("punch", "enter", "press", "dial", "type", "key")
	openers   = set("opens", "open", "unlocks", "unlock", "gate", "keypad", "lockbox", "disarm", "disarms")
	// What only links a word for a code to its number, and is not counted between
	// them.
	links = set("is", "was", "the", "for", "to", "of", "on", "at", "in", "our", "their", "with", "be", "pound", "star", "hash", "a")
)

// hasCode looks for what opens something: a number or a mixed word near a word
// for a code, a number right behind a gate or a lockbox, a number that is
// punched in, and a number with stars and hashes.
func hasCode(words []word) bool {
	for i, w := range words {
		switch {
		case w.low == "password" || w.low == "passwords":
			return i+1 < len(words)
		case starred(w.low), strings.HasPrefix(w.low, "#") && codeShaped(w.low) && near(words, i, 3, openers):
			return true
		case codeWords[w.low] && codeNear(words, i), w.low == "pin" && i > 0 && codeBefore[words[i-1].low] && codeNear(words, i):
			return true
		case codePlaces[w.low] && numberBehind(words, i, 2, 4), codeVerbs[w.low] && numberBehind(words, i, 3, 3):
			return true
		case w.low == "with" && i > 0 && openers[words[i-1].low] && numberBehind(words, i, 1, 4):
			return true // "the front door opens with 4471"
		}
	}
	return false
}

// codeNear says whether a code stands up to four words behind a word for one,
// or right before it, links not counted. A code of law is none.
func codeNear(words []word, i int) bool {
	if i > 0 && bookWords[words[i-1].low] {
		return false
	}
	combination := strings.HasPrefix(words[i].low, "combo") || words[i].low == "combination"
	for _, j := range behind(words, i, 4) {
		if named(words, j) {
			continue
		}
		if codeShaped(words[j].low) || mixed(words[j].low) || combination && digitsOnly(words[j].low) {
			return true
		}
	}
	return codeBeforeWord(words, i)
}

// codeBeforeWord says whether a code stands right before a word for one, or is
// said to be it: "4471 is the gate code".
func codeBeforeWord(words []word, i int) bool {
	for j, is := i-1, false; j >= max(0, i-4); j-- {
		if codeShaped(words[j].low) && !named(words, j) {
			return is || j == i-1
		}
		is = is || words[j].low == "is" || words[j].low == "was"
	}
	return false
}

// behind are the places of up to so many words behind one, and of the links
// between them. Eight is as far as one breath reaches.
func behind(words []word, i, reach int) []int {
	const breath = 8
	var places []int
	for j := i + 1; j < len(words) && j <= i+breath && reach > 0; j++ {
		places = append(places, j)
		if !links[words[j].low] {
			reach--
		}
	}
	return places
}

// numberBehind says whether a number of at least digits digits stands up to
// reach words behind, links not counted, and is not named as a number that may be
// kept.
func numberBehind(words []word, i, reach, digits int) bool {
	for _, j := range behind(words, i, reach) {
		number := strings.Trim(words[j].low, "#*")
		if n := len(number); digitsOnly(number) && n >= digits && n <= 8 && !named(words, j) {
			return true
		}
	}
	return false
}

func near(words []word, i, reach int, what map[string]bool) bool {
	for j := max(0, i-reach); j < len(words) && j <= i+reach; j++ {
		if what[words[j].low] {
			return true
		}
	}
	return false
}

// starred says whether a word is digits with a star, or with a hash behind.
func starred(s string) bool {
	digits := strings.Trim(s, "#*")
	return digitsOnly(digits) && len(digits) >= 2 && (strings.Contains(s, "*") || strings.HasSuffix(s, "#"))
}

// mixed says whether a word of four to eight letters and digits holds at least
// two digits: A12B is a code, E4 a rig.
func mixed(s string) bool {
	digits, letters := 0, 0
	for _, r := range s {
		switch {
		case r >= '0' && r <= '9':
			digits++
		case unicode.IsLetter(r):
			letters++
		default:
			return false
		}
	}
	return digits >= 2 && letters >= 1 && digits+letters >= 4 && digits+letters <= 8
}

func codeShaped(s string) bool {
	digits := strings.Trim(s, "#*")
	if digits == "" || strings.Trim(digits, "0123456789-") != "" {
		return false
	}
	n := len(strings.ReplaceAll(digits, "-", ""))
	return n >= 3 && n <= 8 || digits != s && n >= 1
}
