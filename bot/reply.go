package bot

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// MaxButtonValue is the most bytes that a button's value may have, so that it
// fits every platform's limit.
const MaxButtonValue = 64

// Reply is one answer in neutral form. Each adapter renders it in its
// platform's own way; Plain is the same content as text alone.
type Reply struct {
	Title    string    `json:"title,omitempty"`
	Text     string    `json:"text,omitempty"` // short: what happened, what to do, by when
	Steps    []string  `json:"steps,omitempty"`
	Fields   []Field   `json:"fields,omitempty"`
	Buttons  []Button  `json:"buttons,omitempty"`
	Pictures []Picture `json:"pictures,omitempty"`
	Private  bool      `json:"private,omitempty"` // only the person who asked shall see it
}

// Field is a named part of a reply, such as a caution, a source or a column.
type Field struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

// Button is a choice that a person can press. Value is verb:ref, at most
// MaxButtonValue bytes; ref names a stored row and its version. What the value
// asks for is checked when it is pressed, never trusted.
type Button struct {
	Label string `json:"label"`
	Value string `json:"value"`
}

// Picture is drawn from a scene when the reply is sent. Alt says in words what
// the picture shows.
type Picture struct {
	Scene string `json:"scene"`
	Alt   string `json:"alt"`
}

// Plain is the reply as text: all that matters is in it, for screen readers and
// for platforms without layout. Buttons are left to the adapter.
func (r Reply) Plain() string {
	var parts []string
	for _, p := range []string{r.Title, r.Text} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	for i, s := range r.Steps {
		parts = append(parts, fmt.Sprintf("%d. %s", i+1, s))
	}
	for _, f := range r.Fields {
		parts = append(parts, f.Name+": "+f.Value)
	}
	for _, p := range r.Pictures {
		parts = append(parts, "Picture: "+p.Alt)
	}
	return strings.Join(parts, "\n")
}

// Shorten cuts a text to at most n characters, the last of them a sign that more
// was there.
func Shorten(text string, n int) string {
	if utf8.RuneCountInString(text) <= n {
		return text
	}
	return string([]rune(text)[:n-1]) + "…"
}

// Outgoing is one message for a platform. Key is its idempotency key: the same
// key is the same message, however often it is tried.
type Outgoing struct {
	Key   string      `json:"key"`
	To    Address     `json:"to"`
	Edit  *MessageRef `json:"edit,omitempty"` // change this message instead of sending a new one
	Reply Reply       `json:"reply"`
	// Answers is the id of the event that this answers, empty for a post that
	// nobody asked for.
	Answers string `json:"answers,omitempty"`
}
