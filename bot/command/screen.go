package command

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"kitbell/bot"
)

// MaxText is the most bytes of text that one message may have. The longest
// message of any platform is shorter.
const MaxText = 48 << 10

// Screen refuses what must not be stored, before anything touches the disk:
// text that is none, and text with what looks like an access code, a phone
// number or a street address (a department's own station names excepted). The
// refusal never repeats what was refused.
func Screen(text string, stationNames []string) error {
	switch {
	case len(text) > MaxText:
		return bot.SayTooLong.With(len(text)>>10, MaxText>>10)
	case !utf8.ValidString(text):
		return bot.SayNotText.With()
	case strings.TrimFunc(text, blank) == "":
		return bot.SayEmpty.With()
	}
	words := words(text)
	switch {
	case hasPhone(words):
		return bot.SayPhone.With()
	case hasCode(words):
		return bot.SayCode.With()
	case hasStreet(words, stationNames):
		return bot.SayStreet.With()
	}
	return nil
}

func blank(r rune) bool {
	return unicode.IsSpace(r) || unicode.IsControl(r) || r == '\u200b' || r == '\ufeff'
}

// word is one word of a message, as typed and in lower case.
type word struct{ raw, low string }

func words(text string) []word {
	fields := strings.FieldsFunc(text, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune(",;:!?\"'()=", r) })
	out := make([]word, 0, len(fields))
	for _, f := range fields {
		f = strings.Trim(f, ".")
		if f != "" {
			out = append(out, word{raw: f, low: strings.ToLower(f)})
		}
	}
	return out
}

// numbered are the words after which a number is asked for and may be kept.
var numbered = set("seal", "seals", "tag", "tags", "incident", "run", "call", "lot", "order", "po", "line", "number", "no", "nfpa", "ibc", "ada", "section", "#")

func named(words []word, i int) bool {
	for back := 1; back <= 2 && i-back >= 0; back++ {
		if numbered[words[i-back].low] {
			return true
		}
	}
	return false
}

// hasPhone looks for ten or eleven digits, or seven written as 3-4, in one word
// or in a run of up to four words made of digits and phone punctuation.
func hasPhone(words []word) bool {
	for i := range words {
		if named(words, i) {
			continue
		}
		run := ""
		for j := i; j < len(words) && j < i+4; j++ {
			if strings.Trim(words[j].raw, "0123456789-.+/") != "" {
				break
			}
			if j > i {
				run += "-"
			}
			run += words[j].raw
			if phoneShaped(run) {
				return true
			}
		}
	}
	return false
}

func phoneShaped(s string) bool {
	var groups []int
	total := 0
	for _, group := range strings.FieldsFunc(s, func(r rune) bool { return r < '0' || r > '9' }) {
		groups = append(groups, len(group))
		total += len(group)
	}
	switch len(groups) {
	case 1:
		return total == 10 || total == 11
	case 2:
		return groups[0] == 3 && groups[1] == 4
	case 3:
		return groups[0] == 3 && groups[1] == 3 && groups[2] == 4
	case 4:
		return groups[0] == 1 && groups[1] == 3 && groups[2] == 3 && groups[3] == 4
	}
	return false
}

var (
	codeWords  = set("code", "codes", "passcode", "keycode", "keypad", "combo", "combination", "pincode", "password")
	codeBefore = set("gate", "alarm", "door", "box", "entry", "lock", "panel", "garage", "lobby", "building")
	bookWords  = set("safety", "fire", "nfpa", "ibc", "ada", "section", "standard")
)

// hasCode looks for a code word with a number of three to eight digits, or one
// that ends in # or *, within four words after it; and for a pin that is a
// number rather than a plunger.
func hasCode(words []word) bool {
	for i, w := range words {
		isCode := codeWords[w.low]
		if w.low == "pin" {
			isCode = i > 0 && codeBefore[words[i-1].low]
		}
		if !isCode || i > 0 && bookWords[words[i-1].low] && !codeBefore[words[i-1].low] {
			continue
		}
		for j := i + 1; j < len(words) && j <= i+4; j++ {
			if codeShaped(words[j].low) && !named(words, j) {
				return true
			}
		}
		if i > 0 && codeShaped(words[i-1].low) && !named(words, i-1) {
			return true
		}
	}
	return false
}

func codeShaped(s string) bool {
	digits := strings.Trim(s, "#*")
	if digits == "" || strings.Trim(digits, "0123456789-") != "" {
		return false
	}
	n := len(strings.ReplaceAll(digits, "-", ""))
	return n >= 3 && n <= 8 || digits != s && n >= 1
}

var (
	streetWords = set("street", "avenue", "ave", "road", "rd", "boulevard", "blvd", "lane", "ln", "terrace", "highway", "hwy", "parkway", "pkwy", "crescent")
	// These also mean other things, so the name before them must look like a name.
	looseStreetWords = set("st", "dr", "drive", "ct", "court", "way", "place", "pl", "circle", "square", "trail")
	smallWords       = set("a", "an", "the", "of", "in", "on", "at", "to", "and", "or", "is", "are", "was", "from", "for", "with", "by", "its", "per", "that", "this", "our", "your", "min", "minutes", "hours", "days")
)

// hasStreet looks for a house number, one to three words of a name, and a word
// for a street.
func hasStreet(words []word, stationNames []string) bool {
	for i, w := range words {
		if !houseNumber(w.low) || named(words, i) {
			continue
		}
		for j := i + 1; j < len(words) && j <= i+4 && !smallWords[words[j].low]; j++ {
			strict, loose := streetWords[words[j].low], looseStreetWords[words[j].low]
			if j == i+1 || !strict && !loose {
				continue
			}
			if loose && !unicode.IsUpper(firstRune(words[i+1].raw)) && len(w.low) < 2 {
				continue
			}
			if !ownStation(words[i:j+1], stationNames) {
				return true
			}
		}
	}
	return false
}

func houseNumber(s string) bool {
	digits := strings.TrimRight(s, "abcd")
	return digits != "" && len(digits) <= 5 && len(s)-len(digits) <= 1 && strings.Trim(digits, "0123456789") == ""
}

func ownStation(words []word, names []string) bool {
	parts := make([]string, len(words))
	for i, w := range words {
		parts[i] = w.low
	}
	phrase := strings.Join(parts, " ")
	for _, name := range names {
		if strings.HasSuffix(strings.ToLower(name), phrase) {
			return true
		}
	}
	return false
}

func firstRune(s string) rune {
	r, _ := utf8.DecodeRuneInString(s)
	return r
}

func set(words ...string) map[string]bool {
	m := make(map[string]bool, len(words))
	for _, w := range words {
		m[w] = true
	}
	return m
}
