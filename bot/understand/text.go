package understand

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// tokenKind tells words from what divides them.
type tokenKind uint8

const (
	wordToken tokenKind = iota
	numberToken
	commaToken // a weak border: comma, dash between spaces, slash
	colonToken // announces a list
	stopToken  // ends a sentence
	askToken   // a question mark: ends a sentence that asks
)

// token is one word, number or border of the message.
type token struct {
	kind   tokenKind
	joined bool     // follows the token before without a space
	plural bool     // base is its singular
	word   wordID   // the word as the vocabulary spells it, 0 when unknown
	base   wordID   // its singular, when only that is known as well
	near   []wordID // of a slip: words that it may be, beside the right neighbour
	value  int      // of a number, or of a word for a number; -1 otherwise
	from   int      // byte offsets in the message
	to     int
}

func (t token) border() bool { return t.kind >= commaToken }

// scanner cuts a message into raw pieces: runs of letters, runs of digits and
// borders. Apostrophes inside a word vanish (isn't, isnt); hyphens and other
// signs only divide.
type scanner struct {
	text string
	at   int
}

// next gives the following piece. ok is false at the end of the message.
func (s *scanner) next() (kind tokenKind, from, to int, ok bool) {
	for s.at < len(s.text) {
		r, size := utf8.DecodeRuneInString(s.text[s.at:])
		from = s.at
		switch {
		case unicode.IsLetter(r):
			s.run(isWordRune)
			return wordToken, from, s.at, true
		case r >= '0' && r <= '9':
			s.run(isDigit)
			return numberToken, from, s.at, true
		}
		s.at += size
		if kind, is := borderKind(s.text, from, r); is {
			return kind, from, s.at, true
		}
	}
	return 0, 0, 0, false
}

func (s *scanner) run(in func(rune) bool) {
	for s.at < len(s.text) {
		r, size := utf8.DecodeRuneInString(s.text[s.at:])
		if !in(r) {
			return
		}
		s.at += size
	}
}

func isWordRune(r rune) bool { return unicode.IsLetter(r) || r == '\'' || r == '’' || r == '‘' }
func isDigit(r rune) bool    { return r >= '0' && r <= '9' }

// borderKind says whether a sign divides clauses. A full stop between two
// characters (3.5, e.g.) does not, and a hyphen only between spaces.
func borderKind(text string, at int, r rune) (tokenKind, bool) {
	switch r {
	case '\n', ';', '!':
		return stopToken, true
	case '.':
		return stopToken, at+1 >= len(text) || text[at+1] == ' ' || text[at+1] == '\n' || text[at+1] == '.'
	case '?':
		return askToken, true
	case '(', ')':
		return commaToken, !bracketsNumber(text, at)
	case ',', '–', '—':
		return commaToken, true
	case '-':
		return commaToken, at > 0 && text[at-1] == ' '
	case ':':
		return colonToken, true
	}
	return 0, false
}

// bracketsNumber says whether a bracket only repeats a number: "two (2) cards".
func bracketsNumber(text string, at int) bool {
	if text[at] == '(' {
		return at+2 < len(text) && isDigit(rune(text[at+1])) && text[at+2] == ')'
	}
	return at >= 2 && isDigit(rune(text[at-1])) && text[at-2] == '('
}

// plain brings a raw word to lower case without apostrophes.
func plain(raw string) string {
	clean := true
	for i := 0; i < len(raw); i++ {
		if c := raw[i]; c < 'a' || c > 'z' {
			clean = false
			break
		}
	}
	if clean {
		return raw
	}
	return strings.Map(func(r rune) rune {
		if r == '\'' || r == '’' || r == '‘' {
			return -1
		}
		return unicode.ToLower(r)
	}, raw)
}

// number reads a run of digits; a long one keeps only that it is large.
func number(digits string) int {
	n := 0
	for _, d := range digits {
		if n = n*10 + int(d-'0'); n > 1_000_000 {
			return 1_000_000
		}
	}
	return n
}
