package knowledge

import (
	"strings"
	"unicode"
)

// Grade is the Flesch–Kincaid reading grade of sentences: 0.39 × words per
// sentence + 11.8 × syllables per word − 15.59 (Kincaid, Fishburne, Rogers and
// Chissom, Research Branch Report 8-75, Naval Technical Training, 1975; from
// memory). Words in easy count as one syllable: readers of the trade know them.
// Without a word it is 0.
func Grade(sentences []string, easy map[string]bool) float64 {
	var words, syllables int
	for _, sentence := range sentences {
		for _, word := range sentenceWords(sentence) {
			words++
			if easy[word] || easy[strings.TrimSuffix(word, "s")] {
				syllables++
			} else {
				syllables += Syllables(word)
			}
		}
	}
	if words == 0 {
		return 0
	}
	return 0.39*float64(words)/float64(len(sentences)) + 11.8*float64(syllables)/float64(words) - 15.59
}

// Syllables estimates how many syllables an English word has: its groups of
// vowels, less a silent e at the end; at least 1.
func Syllables(word string) int {
	word = strings.ToLower(word)
	count, inVowels := 0, false
	for _, r := range word {
		vowel := strings.ContainsRune("aeiouy", r)
		if vowel && !inVowels {
			count++
		}
		inVowels = vowel
	}
	switch {
	case strings.HasSuffix(word, "le") && len(word) > 2 && !strings.ContainsRune("aeiouy", rune(word[len(word)-3])):
	case strings.HasSuffix(word, "es") && hasHiss(word[:len(word)-2]):
	case strings.HasSuffix(word, "ed") && (strings.HasSuffix(word, "ted") || strings.HasSuffix(word, "ded")):
	case strings.HasSuffix(word, "e"), strings.HasSuffix(word, "es"), strings.HasSuffix(word, "ed"):
		if !strings.HasSuffix(word, "ee") {
			count--
		}
	}
	return max(1, count)
}

func hasHiss(word string) bool {
	for _, end := range []string{"s", "x", "z", "sh", "ch", "c", "g"} {
		if strings.HasSuffix(word, end) {
			return true
		}
	}
	return false
}

// Sentences divides a text at full stops, question and exclamation marks,
// colons and semicolons that end a thought. A stop inside a number or an
// abbreviation of one letter does not.
func Sentences(text string) []string {
	var sentences []string
	start := 0
	for i, r := range text {
		if !strings.ContainsRune(".!?:;", r) || i+1 < len(text) && text[i+1] != ' ' {
			continue
		}
		if sentence := strings.TrimSpace(text[start:i]); len(sentenceWords(sentence)) > 0 {
			sentences = append(sentences, sentence)
		}
		start = i + 1
	}
	if rest := strings.TrimSpace(text[start:]); len(sentenceWords(rest)) > 0 {
		sentences = append(sentences, rest)
	}
	return sentences
}

// sentenceWords are the words a reader speaks, lower case, hyphens divided.
func sentenceWords(sentence string) []string {
	return strings.FieldsFunc(strings.ToLower(sentence), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '\'' && r != '/' && r != '.'
	})
}
