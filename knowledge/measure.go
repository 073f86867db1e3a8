package knowledge

import (
	"math"
	"strconv"
	"strings"
)

// A measure is a number with its unit in one canonical word, so that "1/8 in",
// "an eighth of an inch" and "3 mm" are the same: "=2inch/16". It starts with an
// equals sign, which no other word can.
const measureMark = "="

func isMeasure(word string) bool { return strings.HasPrefix(word, measureMark) }

// unit says how a unit's name is counted.
type unit struct {
	name string  // the word that stands for all its spellings
	per  float64 // how many of the base unit it is
	base string
	grid float64 // measures are rounded to 1/grid of the base
}

// units lists the units a card or a question may use, by spelling. Lengths are
// compared in sixteenths of an inch, a crew's finest mark on a door.
var units = unitTable(
	unit{"inch", 1, "inch", 16}, "in", "inch", "inches",
	unit{"mm", 1 / 25.4, "inch", 16}, "mm", "millimeter", "millimeters", "millimetre", "millimetres",
	unit{"cm", 10 / 25.4, "inch", 16}, "cm", "centimeter", "centimeters", "centimetre", "centimetres",
	unit{"foot", 12, "inch", 16}, "ft", "foot", "feet",
	unit{"pound", 1, "pound", 1}, "lb", "lbs", "lbf", "pound", "pounds",
	unit{"newton", 1, "newton", 1}, "newton", "newtons",
	unit{"second", 1, "second", 1}, "sec", "secs", "second", "seconds",
	unit{"minute", 60, "second", 1}, "min", "mins", "minute", "minutes",
	unit{"hour", 3600, "second", 1}, "hr", "hrs", "hour", "hours",
	unit{"degree", 1, "degree", 1}, "deg", "degree", "degrees",
	unit{"percent", 1, "percent", 1}, "percent",
	unit{"psi", 1, "psi", 1}, "psi",
)

func unitTable(rows ...any) map[string]unit {
	table := map[string]unit{}
	var current unit
	for _, row := range rows {
		switch row := row.(type) {
		case unit:
			current = row
		case string:
			table[row] = current
		}
	}
	return table
}

// smallNumbers are the words crews write for numbers. "One" is left out: it is
// nearly always a pronoun.
var smallNumbers = map[string]string{
	"two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7",
	"eight": "8", "nine": "9", "ten": "10", "twelve": "12", "fifteen": "15", "thirty": "30",
}

var fractionWords = map[string]string{
	"half": "1/2", "quarter": "1/4", "eighth": "1/8", "sixteenth": "1/16",
}

// joinMeasures replaces a number and its unit by their measure and the unit's
// name, so that "how many inches" still finds the inch.
func joinMeasures(words []string) []string {
	out := words[:0:0]
	for i := 0; i < len(words); i++ {
		number, isNumber := numeral(words, i)
		if !isNumber {
			out = append(out, words[i])
			continue
		}
		value, err := parseNumber(number)
		u, used := unitAfter(words, i+1)
		switch {
		case err == nil && used > 0:
			out = append(out, measure(value, u), u.name)
			i += used
		case err == nil && strings.Contains(number, "/"): // a bare fraction is of an inch
			out = append(out, measure(value, units["inch"]))
		default:
			out = append(out, number)
		}
	}
	return out
}

// numeral reads words[i] as a number. A fraction's name is one only in front
// of an inch: "half the door" stays a word.
func numeral(words []string, i int) (string, bool) {
	word := words[i]
	if isDigit(word[0]) {
		return word, true
	}
	if number, ok := smallNumbers[word]; ok {
		return number, true
	}
	if number, ok := fractionWords[word]; ok {
		if u, used := unitAfter(words, i+1); used > 0 && u.base == "inch" {
			return number, true
		}
	}
	return word, false
}

// unitAfter reads a unit at words[i], with "of an" or "an" before it, and says
// how many words that took.
func unitAfter(words []string, i int) (unit, int) {
	for skip := range 3 {
		if i+skip >= len(words) {
			break
		}
		if u, ok := units[words[i+skip]]; ok {
			return u, skip + 1
		}
		if word := words[i+skip]; word != "of" && word != "an" && word != "a" {
			break
		}
	}
	return unit{}, 0
}

// parseNumber reads 2, 2.5, 1,000, 1/8 and 1-3/4.
func parseNumber(text string) (float64, error) {
	text = strings.ReplaceAll(text, ",", "")
	whole, fraction, mixed := strings.Cut(text, "-")
	if !mixed {
		whole, fraction = "0", text
	}
	over, under, ok := strings.Cut(fraction, "/")
	if !ok {
		under = "1"
	}
	w, err1 := strconv.ParseFloat(whole, 64)
	o, err2 := strconv.ParseFloat(over, 64)
	u, err3 := strconv.ParseFloat(under, 64)
	if err1 != nil || err2 != nil || err3 != nil || u == 0 {
		return 0, strconv.ErrSyntax
	}
	return w + o/u, nil
}

func measure(value float64, u unit) string {
	count := math.Round(value * u.per * u.grid)
	return measureMark + strconv.FormatFloat(count, 'f', -1, 64) + u.base + "/" + strconv.FormatFloat(u.grid, 'f', -1, 64)
}
