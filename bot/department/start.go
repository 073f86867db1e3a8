package department

import (
	"bytes"
	_ "embed"
	"regexp"
	"strconv"
	"strings"
	"unicode"
)

//go:embed start.yaml
var startFile []byte

// Start is a commented file to begin with, for a department of that name. It
// loads without a problem as it is. An empty name, or one without a letter or
// digit of the Latin alphabet, gets a placeholder for what is missing.
func Start(name string) []byte {
	name = strings.TrimSpace(strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return ' '
	}, strings.ToValidUTF8(name, " ")))
	if name == "" {
		name = "Your Fire Department"
	}
	name = string([]rune(name)[:min(200, len([]rune(name)))])
	text := bytes.Replace(startFile, []byte("your-department"), []byte(slug(name)), 1)
	return bytes.Replace(text, []byte(`"Your Department"`), []byte(strconv.Quote(name)), 1)
}

var notSlug = regexp.MustCompile(`[^a-z0-9]+`)

// slug makes an id of a name, without the words that every department has.
func slug(name string) string {
	s := strings.Trim(notSlug.ReplaceAllString(strings.ToLower(name), "-"), "-")
	for _, word := range []string{"-fire-department", "-fire-rescue", "-department"} {
		s = strings.TrimSuffix(s, word)
	}
	if s = strings.Trim(s[:min(48, len(s))], "-"); s == "" {
		return "department"
	}
	return s
}
