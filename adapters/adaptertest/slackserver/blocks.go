package slackserver

import (
	"encoding/json"
	"fmt"
	"strings"
	"unicode/utf8"
)

// block is any block or element, as far as it is read here.
type block struct {
	Type     string  `json:"type"`
	BlockID  string  `json:"block_id"`
	ActionID string  `json:"action_id"`
	Text     text    `json:"text"`
	Value    string  `json:"value"`
	Alt      string  `json:"alt_text"`
	Elements []block `json:"elements"`
	Element  *block  `json:"element"`
	Label    text    `json:"label"`
	Options  []struct {
		Text  text   `json:"text"`
		Value string `json:"value"`
	} `json:"options"`
	Blocks []block `json:"blocks"` // of a view
}

// text is a text object, or the bare text of a rich text element.
type text struct{ Text string }

// UnmarshalJSON takes both.
func (t *text) UnmarshalJSON(raw []byte) error {
	if json.Unmarshal(raw, &t.Text) == nil {
		return nil
	}
	var object struct {
		Text string `json:"text"`
	}
	err := json.Unmarshal(raw, &object)
	t.Text = object.Text
	return err
}

// Readable is a message as a person reads it: its blocks, or where there are
// none its text, with marks undone.
func Readable(m Message) string {
	if len(m.Blocks) > 0 {
		return readBlocks(m.Blocks)
	}
	return strings.NewReplacer("&lt;", "<", "&gt;", ">", "&amp;", "&").Replace(m.Text)
}

func readBlocks(raw json.RawMessage) string {
	var all []block
	if err := json.Unmarshal(raw, &all); err != nil {
		return err.Error()
	}
	var b strings.Builder
	for _, one := range all {
		one.read(&b)
	}
	return b.String()
}

func (k block) read(b *strings.Builder) {
	switch k.Type {
	case "text":
		b.WriteString(k.Text.Text)
		return
	case "button":
		b.WriteString("[" + k.Text.Text + "] ")
		return
	}
	for _, t := range []string{k.Text.Text, k.Alt, k.Label.Text} {
		if t != "" {
			b.WriteString(t + "\n")
		}
	}
	for _, e := range k.Elements {
		e.read(b)
	}
	for _, o := range k.Options {
		b.WriteString("[" + o.Text.Text + "] ")
	}
	if k.Element != nil {
		k.Element.read(b)
	}
	if k.Type == "actions" {
		b.WriteString("\n")
	}
}

// valueOf finds the value behind a label.
func valueOf(raw json.RawMessage, label string) (string, bool) {
	var all []block
	var view block
	if json.Unmarshal(raw, &all) != nil && json.Unmarshal(raw, &view) == nil {
		all = view.Blocks
	}
	for _, one := range all {
		for _, e := range one.Elements {
			if e.Type == "button" && e.Text.Text == label {
				return e.Value, true
			}
			for _, o := range e.Options {
				if o.Text.Text == label {
					return o.Value, true
				}
			}
		}
	}
	return "", false
}

// CheckBlocks holds blocks to the platform's limits. Sources: the reference
// pages "Blocks" (header 150, section 3,000, actions 25 elements, image alt text
// 2,000, ids 255) and "Block elements" (button text 75, value 2,000; select 100
// options of 75 and 150 characters), as PLATFORMS.md has them too.
func CheckBlocks(raw json.RawMessage, most int) error {
	var all []block
	if err := json.Unmarshal(raw, &all); err != nil {
		return fmt.Errorf("blocks: %w", err)
	}
	if len(all) > most {
		return fmt.Errorf("%d blocks, at most %d", len(all), most)
	}
	for _, one := range all {
		if err := one.check(); err != nil {
			return err
		}
	}
	return nil
}

func (k block) check() error {
	for _, limit := range []struct {
		what, text string
		most       int
		on         bool
	}{
		{"header", k.Text.Text, 150, k.Type == "header"},
		{"section", k.Text.Text, 3000, k.Type == "section"},
		{"button", k.Text.Text, 75, k.Type == "button"},
		{"value", k.Value, 2000, true},
		{"alt text", k.Alt, 2000, true},
		{"block id", k.BlockID, 255, true},
		{"action id", k.ActionID, 255, true},
		{"label", k.Label.Text, 2000, true},
	} {
		if limit.on && utf8.RuneCountInString(limit.text) > limit.most {
			return fmt.Errorf("%s has %d characters, at most %d", limit.what, utf8.RuneCountInString(limit.text), limit.most)
		}
	}
	switch {
	case k.Type == "actions" && (len(k.Elements) > 25 || len(k.Elements) == 0):
		return fmt.Errorf("actions with %d elements", len(k.Elements))
	case k.Type == "image" && k.Alt == "":
		return fmt.Errorf("image without alt text")
	case k.Type == "button" && k.Text.Text == "":
		return fmt.Errorf("button without text")
	case k.Type == "static_select" && (len(k.Options) == 0 || len(k.Options) > 100):
		return fmt.Errorf("select with %d options", len(k.Options))
	}
	ids := make(map[string]bool)
	for _, e := range k.Elements {
		if e.ActionID != "" && ids[e.ActionID] {
			return fmt.Errorf("action id %q twice", e.ActionID)
		}
		ids[e.ActionID] = true
		if err := e.check(); err != nil {
			return err
		}
	}
	for _, o := range k.Options {
		if n := utf8.RuneCountInString(o.Text.Text); n > 75 || n == 0 {
			return fmt.Errorf("option text of %d characters", n)
		}
		if len(o.Value) > 150 {
			return fmt.Errorf("option value of %d characters", len(o.Value))
		}
	}
	if k.Element != nil {
		return k.Element.check()
	}
	return nil
}
