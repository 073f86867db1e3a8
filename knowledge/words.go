package knowledge

import (
	"strings"
	"unicode"

	"github.com/kljensen/snowball/english"
)

// splitWords turns text into lower-case words and measures (see measure.go).
// Apostrophes go ("don't" is dont, "door's" is door), hyphens divide.
func splitWords(text string) []string {
	return joinMeasures(rawWords(text))
}

var plainMarks = strings.NewReplacer(
	"’", "'", "‘", "'", "“", `"`, "”", `"`, "″", `"`, "–", "-", "—", " ",
	"½", " 1/2", "¼", " 1/4", "¾", " 3/4", "⅛", " 1/8", "⅜", " 3/8", "⅝", " 5/8", "⅞", " 7/8", "°", " degrees ",
)

func rawWords(text string) []string {
	text = strings.ToLower(plainMarks.Replace(text))
	var words []string
	for start := 0; start < len(text); {
		end := wordEnd(text, start)
		if end == start {
			// An inch mark only counts behind a number.
			if text[start] == '"' && start > 0 && isDigit(text[start-1]) {
				words = append(words, "inch")
			}
			if text[start] == '%' {
				words = append(words, "percent")
			}
			start++
			continue
		}
		if word := withoutApostrophe(text[start:end]); word != "" {
			words = append(words, word)
		}
		start = end
	}
	return words
}

// wordEnd returns where the word or number that starts at start ends; start
// itself when none starts there.
func wordEnd(text string, start int) int {
	if isDigit(text[start]) {
		return numberEnd(text, start)
	}
	end := start
	for i, r := range text[start:] {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) && (r != '\'' || i == 0) {
			break
		}
		end = start + i + len(string(r))
	}
	return end
}

// numberEnd takes in 2, 2.5, 1/8 and 1-3/4; a unit written on ("3mm") is left for
// the next word.
func numberEnd(text string, start int) int {
	end := start
	for end < len(text) && isDigit(text[end]) {
		end++
	}
	for end+1 < len(text) && strings.IndexByte("./-,", text[end]) >= 0 && isDigit(text[end+1]) {
		if text[end] == '-' && !mixedFraction(text[end+1:]) {
			break
		}
		end++
		for end < len(text) && isDigit(text[end]) {
			end++
		}
	}
	return end
}

// mixedFraction tells the 3/4 of "1-3/4" from the 30 of "10-30".
func mixedFraction(rest string) bool {
	digits := strings.TrimLeft(rest, "0123456789")
	return len(digits) > 1 && digits[0] == '/' && isDigit(digits[1])
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

func withoutApostrophe(word string) string {
	word = strings.Trim(word, "'")
	word = strings.TrimSuffix(word, "'s")
	return strings.ReplaceAll(word, "'", "")
}

// stem is the form under which a word is indexed. Measures stay as they are.
func stem(word string) string {
	if isMeasure(word) || isDigit(word[0]) {
		return word
	}
	return english.Stem(word, false)
}
