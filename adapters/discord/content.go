package discord

import (
	"crypto/sha256"
	"encoding/base32"
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"kitbell/bot"
)

// Limits of components (reference page "Message components").
const (
	maxLabel       = 80
	rowOf          = 5
	plainButtons   = 10 // more than that are a list to choose from
	maxOptions     = 25
	maxModalTitle  = 45
	maxInputs      = 5
	maxAlt         = 1024
	maxPictures    = 10
	maxPlaceholder = 100
	maxID          = 100
	maxTyped       = 1000 // characters in one input
)

// content is a message as it is sent. The library's own struct cannot enforce a
// nonce. Empty lists are sent too: in a change they take away what was there.
type content struct {
	Content    string     `json:"content"`
	Embeds     []embed    `json:"embeds"`
	Components []any      `json:"components"`
	Flags      int        `json:"flags"`
	Nonce      string     `json:"nonce,omitempty"`
	Enforce    bool       `json:"enforce_nonce,omitempty"`
	Mentions   mentions   `json:"allowed_mentions"`
	Files      []attached `json:"attachments"`
}

type embed struct {
	Description string `json:"description"`
}

type attached struct {
	ID          int    `json:"id"`
	Name        string `json:"filename"`
	Description string `json:"description"`
}

// mentions says whom a message may call: nobody.
type mentions struct {
	Parse []string `json:"parse"`
}

func noMentions() mentions { return mentions{Parse: []string{}} }

// contentOf lays a reply out: its text with what people typed escaped, and its
// buttons. Text that escapes make too long stands in an embed.
func contentOf(r bot.Reply) content {
	c := content{
		Content: escape(r.Plain()), Embeds: []embed{}, Components: components(r.Buttons), Mentions: noMentions(), Files: []attached{}, Flags: noEmbedsFlag,
	}
	if utf8.RuneCountInString(c.Content) > maxContent {
		c.Embeds = []embed{{Description: bot.Shorten(c.Content, maxEmbedText)}}
		c.Content, c.Flags = "", 0
	}
	return c
}

// nonceOf makes a message's key 25 characters, as the platform wants them.
func nonceOf(key string) string {
	sum := sha256.Sum256([]byte(key))
	return base32.StdEncoding.EncodeToString(sum[:])[:25]
}

// special are the characters that the platform reads as marks.
const special = "\\*_~`|>#<[]-"

// escape keeps what people typed from being read as marks, mentions or links.
// A number and a dot at the start of a line is left: it is a list, and shows the
// same.
func escape(text string) string {
	var b strings.Builder
	lineStart := true
	for _, r := range text {
		if strings.ContainsRune(special, r) && (r != '-' && r != '#' && r != '>' || lineStart) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
		lineStart = r == '\n' || lineStart && (r == ' ' || r == '\t')
	}
	// a link shows as one, whatever stands before it; a space in it does not
	return strings.NewReplacer("://", ":\u200b//", "@", "@\u200b").Replace(emoji.ReplaceAllString(b.String(), `\$0`))
}

// emoji is a name that the platform would show as a picture; its low lines are
// escaped already.
var emoji = regexp.MustCompile(`:(\w|\\_)+:`)

type button struct {
	Type  int    `json:"type"`
	Style int    `json:"style"`
	Label string `json:"label"`
	ID    string `json:"custom_id"`
}

type row struct {
	Type       int   `json:"type"`
	Components []any `json:"components"`
}

type list struct {
	Type        int          `json:"type"`
	ID          string       `json:"custom_id"`
	Placeholder string       `json:"placeholder,omitempty"`
	Options     []listOption `json:"options"`
	Required    *bool        `json:"required,omitempty"`
}

type listOption struct {
	Label   string `json:"label"`
	Value   string `json:"value"`
	Default bool   `json:"default,omitempty"`
}

// components are a reply's buttons in rows; of many, the first stand so and the
// others in a list. Every id is the only one on its message.
func components(all []bot.Button) []any {
	buttons, rest := all, []bot.Button(nil)
	if len(all) > plainButtons {
		buttons, rest = all[:rowOf], all[rowOf:]
	}
	rows := []any{}
	for i, b := range buttons {
		if i%rowOf == 0 {
			rows = append(rows, row{Type: 1})
		}
		last := rows[len(rows)-1].(row)
		last.Components = append(last.Components, button{Type: 2, Style: 2, Label: bot.Shorten(b.Label, maxLabel), ID: idOf(i, b)})
		rows[len(rows)-1] = last
	}
	if len(rest) > 0 {
		l := list{Type: 3, ID: "more", Placeholder: "More choices"}
		for i, b := range rest[:min(len(rest), maxOptions)] {
			l.Options = append(l.Options, listOption{Label: bot.Shorten(b.Label, 100), Value: idOf(rowOf+i, b)})
		}
		rows = append(rows, row{Type: 1, Components: []any{l}})
	}
	return rows
}

func idOf(i int, b bot.Button) string { return fmt.Sprintf("%d%s%s", i, valueMark, b.Value) }

// form is a modal.
type form struct {
	ID         string `json:"custom_id"`
	Title      string `json:"title"`
	Components []any  `json:"components"`
}

type label struct {
	Type      int    `json:"type"`
	Label     string `json:"label"`
	Component any    `json:"component"`
}

type input struct {
	Type     int    `json:"type"`
	ID       string `json:"custom_id"`
	Style    int    `json:"style"`
	Value    string `json:"value,omitempty"`
	Required bool   `json:"required"`
	Most     int    `json:"max_length"`
	// Placeholder stands there until something is typed.
	Placeholder string `json:"placeholder,omitempty"`
}

// formOf lays a form out. The platform takes five inputs; what comes on top is
// left out, and the command behind the form asks for it. press is what asked for
// the form; it comes back with it.
func formOf(f bot.Form, press string) form {
	out := form{ID: f.ID, Title: bot.Shorten(f.Title, maxModalTitle)}
	if with := f.ID + valueMark + press; len(with) <= maxID {
		out.ID = with
	}
	for _, in := range f.Inputs[:min(len(f.Inputs), maxInputs)] {
		out.Components = append(out.Components, label{Type: 18, Label: bot.Shorten(in.Label, maxModalTitle), Component: inputOf(in)})
	}
	return out
}

// inputOf is a list of choices, or text; text too where there are more choices
// than a list takes. chosen reads a name back that was typed then.
func inputOf(in bot.FormInput) any {
	if len(in.Choices) > 0 && len(in.Choices) <= maxOptions {
		required := in.Needed
		l := list{Type: 3, ID: in.Name, Required: &required}
		for _, c := range in.Choices {
			l.Options = append(l.Options, listOption{Label: bot.Shorten(c.Label, 100), Value: c.Value, Default: c.Value == in.Value})
		}
		return l
	}
	text := input{Type: 4, ID: in.Name, Style: 1, Value: bot.Shorten(in.Value, maxTyped), Most: maxTyped, Required: in.Needed}
	if in.Long {
		text.Style = 2
	}
	if len(in.Choices) > 0 {
		text.Placeholder = bot.Shorten("Such as: "+in.Choices[0].Label, maxPlaceholder)
	}
	for _, c := range in.Choices {
		if c.Value == in.Value {
			text.Value = c.Label
		}
	}
	return text
}

// chosen puts a choice's value in place of its name, where that was typed.
func chosen(f bot.Form, values map[string]string) {
	for _, in := range f.Inputs {
		for _, c := range in.Choices {
			if strings.EqualFold(c.Label, strings.TrimSpace(values[in.Name])) {
				values[in.Name] = c.Value
			}
		}
	}
}

// choices answer typing.
type choices struct {
	Choices []choice `json:"choices"`
}

type choice struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}
