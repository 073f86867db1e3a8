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
	words := joinDigits(words(text))
	switch {
	case hasPersonal(words):
		return bot.SayPersonal.With()
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
	fields := strings.FieldsFunc(strings.Map(plainDigit, text), func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune(",;:!?\"'()=", r) })
	out := make([]word, 0, len(fields))
	for _, f := range fields {
		f = strings.Trim(f, ".")
		if f != "" {
			out = append(out, word{raw: f, low: strings.ToLower(f)})
		}
	}
	return out
}

// plainDigit makes the digits of other scripts and widths plain ones.
func plainDigit(r rune) rune {
	if r < utf8.RuneSelf || !unicode.Is(unicode.Nd, r) {
		return r
	}
	zero := r
	for unicode.Is(unicode.Nd, zero-1) && r-zero < 9 {
		zero--
	}
	return '0' + (r - zero)
}

var digitWords = map[string]string{
	"zero": "0", "oh": "0", "one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7", "eight": "8", "nine": "9",
}

// fewestDigits is how many single digits in a row, written or spoken, are read
// as one number: fewer are counts.
const fewestDigits = 4

// joinDigits makes one word of a run of single digits: "4 4 7 1" and "four four
// seven one" are 4471.
func joinDigits(words []word) []word {
	var out []word
	for i := 0; i < len(words); {
		run, n := "", i
		for ; n < len(words); n++ {
			digit := digitWords[words[n].low]
			if len(words[n].low) == 1 && words[n].low >= "0" && words[n].low <= "9" {
				digit = words[n].low
			}
			if digit == "" {
				break
			}
			run += digit
		}
		if len(run) >= fewestDigits {
			out = append(out, word{run, run})
			i = n
			continue
		}
		out = append(out, words[i])
		i++
	}
	return out
}

// hasPersonal looks for a number of a person's, as social security writes it,
// an e-mail address, or a place by latitude and longitude.
func hasPersonal(words []word) bool {
	for i, w := range words {
		groups := strings.Split(w.low, "-")
		if len(groups) == 3 && digitsOnly(strings.Join(groups, "")) && len(groups[0]) == 3 && len(groups[1]) == 2 && len(groups[2]) == 4 {
			return true
		}
		if name, host, ok := strings.Cut(w.low, "@"); ok && name != "" && strings.Contains(host, ".") {
			return true
		}
		if i > 0 && degrees(words[i-1].low) && degrees(w.low) {
			return true
		}
	}
	return false
}

// degrees says whether a word is a number with four or more decimals.
func degrees(s string) bool {
	whole, decimals, ok := strings.Cut(strings.TrimLeft(s, "-+"), ".")
	return ok && len(decimals) >= 4 && digitsOnly(whole) && digitsOnly(decimals)
}

func digitsOnly(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }

// numbered are the words after which a number is asked for and may be kept.
var numbered = set("seal", "seals", "tag", "tags", "incident", "run", "call", "lot", "order", "po", "line", "number", "no", "nfpa", "ibc", "ada", "section", "invoice", "receipt", "#")

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
	codeWords  = set("code", "codes", "passcode", "keycode", "keypad", "combo", "combination", "pincode")
	codeBefore = set("gate", "alarm", "door", "box", "entry", "lock", "panel", "garage", "lobby", "building")
	bookWords  = set("safety", "fire", "nfpa", "ibc", "ada", "section", "standard")
	// What a number of four to eight digits right behind opens.
	codePlaces = set("pin", "gate", "keypad", "lockbox", "box", "panel", "access", "alarm")
	// What is done with a code.
	codeVerbs = set("punch", "enter", "press", "dial", "type", "key")
	openers   = set("opens", "open", "unlocks", "unlock", "gate", "keypad", "lockbox")
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
		}
	}
	return false
}

// codeNear says whether a code stands up to four words behind a word for one,
// or right before it. A code of law is none.
func codeNear(words []word, i int) bool {
	if i > 0 && bookWords[words[i-1].low] {
		return false
	}
	combination := strings.HasPrefix(words[i].low, "combo") || words[i].low == "combination"
	for j := i + 1; j < len(words) && j <= i+4; j++ {
		if named(words, j) {
			continue
		}
		if codeShaped(words[j].low) || mixed(words[j].low) || combination && digitsOnly(words[j].low) {
			return true
		}
	}
	return i > 0 && codeShaped(words[i-1].low) && !named(words, i-1)
}

// numberBehind says whether a number of at least digits digits stands up to
// reach words behind, and is not named as a number that may be kept.
func numberBehind(words []word, i, reach, digits int) bool {
	for j := i + 1; j < len(words) && j <= i+reach; j++ {
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

var (
	streetWords = set("street", "avenue", "ave", "road", "rd", "boulevard", "blvd", "lane", "ln", "terrace", "highway", "hwy", "parkway", "pkwy", "crescent")
	// These also mean other things, so the name before them must look like a name.
	looseStreetWords = set("st", "ter", "terr", "dr", "drive", "ct", "court", "way", "place", "pl", "circle", "square", "trail")
	smallWords       = set("a", "an", "the", "of", "in", "on", "at", "to", "and", "or", "is", "are", "was", "from", "for", "with", "by", "its", "per", "that", "this", "our", "your", "min", "minutes", "hours", "days")
)

var (
	highways   = set("hwy", "highway", "route", "rte", "county")
	apartments = set("apt", "apartment", "suite")
	atPlace    = set("at", "from", "@", "near")
	tensWords  = set("ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
		"twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety", "hundred")
)

// hasStreet looks for a house number, one to three words of a name, and a word
// for a street; and for the other shapes of an address.
func hasStreet(words []word, stationNames []string) bool {
	for i, w := range words {
		spoken := tensWords[w.low] && i+1 < len(words) && capital(words[i+1].raw)
		if !houseNumber(w.low) && !spoken || named(words, i) {
			continue
		}
		if streetBehind(words, i, spoken, stationNames) || otherAddress(words, i) {
			return true
		}
	}
	return false
}

// streetBehind says whether a name and a word for a street follow.
func streetBehind(words []word, i int, spoken bool, stationNames []string) bool {
	for j := i + 1; j < len(words) && j <= i+4 && !smallWords[words[j].low]; j++ {
		strict, loose := streetWords[words[j].low], looseStreetWords[words[j].low]
		if j == i+1 || !strict && !loose {
			continue
		}
		if loose && !capital(words[i+1].raw) && (spoken || len(words[i].low) < 2) {
			continue
		}
		if !ownStation(words[i:j+1], stationNames) {
			return true
		}
	}
	return false
}

// otherAddress looks for "1200 block of", "4410 Hwy 9", "Apt 12, Sunset Towers"
// and "at 14 Elm".
func otherAddress(words []word, i int) bool {
	low := func(j int) string {
		if j < 0 || j >= len(words) {
			return ""
		}
		return words[j].low
	}
	many := len(words[i].low) >= 2
	switch {
	case low(i+1) == "block" && low(i+2) == "of":
		return true
	case many && highways[low(i+1)] && digitsOnly(low(i+2)):
		return true
	case apartments[low(i-1)] && i+1 < len(words) && capital(words[i+1].raw):
		return true
	}
	name := i+1 < len(words) && capital(words[i+1].raw) && len(words[i+1].raw) > 2
	return name && many && digitsOnly(words[i].low) && atPlace[low(i-1)] && !digitsOnly(low(i+2)) // Engine 4 is a rig
}

// capital says whether a word begins like a name: a capital, then small letters.
func capital(s string) bool {
	r, n := utf8.DecodeRuneInString(s)
	next, _ := utf8.DecodeRuneInString(s[n:])
	return unicode.IsUpper(r) && (next == utf8.RuneError || unicode.IsLower(next))
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

func set(words ...string) map[string]bool {
	m := make(map[string]bool, len(words))
	for _, w := range words {
		m[w] = true
	}
	return m
}
