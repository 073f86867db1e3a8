package console

import (
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"
)

// escapes are whole terminal sequences, so that no harmless-looking rest of one
// is left standing: CSI and OSC and the like, in their seven-bit and eight-bit
// forms, and then every other escape with the character behind it.
var escapes = regexp.MustCompile("(?:\x1b\\[|\u009b)[0-?]*[ -/]*[@-~]" +
	"|(?:\x1b[\\]PX^_]|[\u009d\u0090\u0098\u009e\u009f])[^\x07\x1b\u009c\n]*(?:\x07|\x1b\\\\|\u009c)" +
	"|\x1b[ -/]*[0-~]")

// clean makes text safe to show: valid UTF-8, line feeds the only control
// characters, nothing that steers the terminal or turns the direction of text.
func clean(text string) string {
	if safe(text) {
		return text
	}
	text = strings.ToValidUTF8(text, string(utf8.RuneError))
	text = escapes.ReplaceAllString(text, "")
	text = lineEnds.Replace(text)
	return strings.Map(visible, text)
}

var lineEnds = strings.NewReplacer("\r\n", "\n", "\r", "\n", "\u0085", "\n", "\u2028", "\n", "\u2029", "\n", "\v", "\n", "\f", "\n", "\t", " ")

func safe(text string) bool {
	for i := range len(text) {
		if b := text[i]; b != '\n' && (b < ' ' || b >= 0x7f) {
			return false
		}
	}
	return true
}

func visible(r rune) rune {
	if r != '\n' && steers(r) {
		return -1
	}
	return r
}

// steers says whether r acts instead of being seen. The two joiners stay:
// several scripts need them to be read.
func steers(r rune) bool {
	const nonJoiner, joiner = '\u200c', '\u200d'
	switch {
	case r == nonJoiner || r == joiner:
		return false
	case r == '\u2028' || r == '\u2029':
		return true
	}
	return unicode.In(r, unicode.Cc, unicode.Cf)
}

// oneLine is clean text on one line.
func oneLine(text string) string { return strings.Join(strings.Fields(clean(text)), " ") }
