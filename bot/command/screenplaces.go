package command

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

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
	for j := i + 1; j < len(words) && j <= i+4 && !smallWords[words[j].low] && lettered(words[j].low); j++ {
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

// lettered says whether a word has a letter: the name of a street does, and the
// minutes behind an hour do not.
func lettered(word string) bool { return strings.ContainsFunc(word, unicode.IsLetter) }

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
