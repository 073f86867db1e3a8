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

func named(words []word, i int) bool { return follows(words, i, numbered) }

// goods are the words before a number that is long and no phone's. "call" and
// "number" are not among them: they stand before those too.
var goods = set("seal", "seals", "tag", "tags", "incident", "lot", "order", "po", "invoice", "receipt")

// follows says whether one of the two words before word i is in a set.
func follows(words []word, i int, set map[string]bool) bool {
	for back := 1; back <= 2 && i-back >= 0; back++ {
		if set[words[i-back].low] {
			return true
		}
	}
	return false
}

// hasPhone looks for ten or eleven digits, or seven written as 3-4, in one word
// or in a run of up to four words made of digits and phone punctuation.
func hasPhone(words []word) bool {
	for i := range words {
		if follows(words, i, goods) {
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

func set(words ...string) map[string]bool {
	m := make(map[string]bool, len(words))
	for _, w := range words {
		m[w] = true
	}
	return m
}
