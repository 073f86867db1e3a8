package discord

import (
	"encoding/json"
	"fmt"
	"strings"
)

// The parts of the platform's payloads that are read (reference pages "Gateway
// events" and "Interactions"). Everything else stays unread, so that a field
// that changes its shape breaks nothing.

type user struct {
	ID       string `json:"id"`
	Bot      bool   `json:"bot"`
	Username string `json:"username"`
	Display  string `json:"global_name"`
}

type message struct {
	ID          string       `json:"id"`
	Channel     string       `json:"channel_id"`
	Guild       string       `json:"guild_id"`
	Author      *user        `json:"author"`
	Webhook     string       `json:"webhook_id"`
	Content     string       `json:"content"`
	Edited      *string      `json:"edited_timestamp"`
	Type        int          `json:"type"`
	Mentions    []user       `json:"mentions"`
	Attachments []attachment `json:"attachments"`
	Flags       int          `json:"flags"`
}

type attachment struct {
	ID   string `json:"id"`
	Mime string `json:"content_type"`
	Size int64  `json:"size"`
	URL  string `json:"url"`
}

type reaction struct {
	User    string `json:"user_id"`
	Channel string `json:"channel_id"`
	Message string `json:"message_id"`
	Guild   string `json:"guild_id"`
	Emoji   struct {
		Name string `json:"name"`
	} `json:"emoji"`
}

// channel is a channel or a thread. Type is nil where it is not said.
type channel struct {
	ID       string      `json:"id"`
	Type     *int        `json:"type"`
	Parent   string      `json:"parent_id"`
	Guild    string      `json:"guild_id"`
	Name     string      `json:"name"`
	Override []overwrite `json:"permission_overwrites"`
}

// overwrite is what a channel allows or denies a role or a member.
type overwrite struct {
	ID    string `json:"id"`
	Type  int    `json:"type"` // 0 role, 1 member
	Allow string `json:"allow"`
	Deny  string `json:"deny"`
}

// thread says whether the channel is a thread (reference page "Channel types").
func (c channel) thread() bool { return c.Type != nil && *c.Type >= 10 && *c.Type <= 12 }

// group says whether the channel is a line between several people.
func (c channel) group() bool { return c.Type != nil && *c.Type == 3 }

type idOnly struct {
	ID string `json:"id"`
}

// The types of interactions and of answers to them.
const (
	pingInteraction    = 1
	commandInteraction = 2
	pressInteraction   = 3
	typingInteraction  = 4
	formInteraction    = 5

	pongAnswer         = 1
	messageAnswer      = 4
	waitAnswer         = 5
	quietAnswer        = 6
	choicesAnswer      = 8
	formAnswer         = 9
	messageCommandKind = 3
	ephemeralFlag      = 1 << 6
	noEmbedsFlag       = 1 << 2
)

type interaction struct {
	ID      string  `json:"id"`
	App     string  `json:"application_id"`
	Type    int     `json:"type"`
	Token   string  `json:"token"`
	Guild   string  `json:"guild_id"`
	Channel string  `json:"channel_id"`
	In      channel `json:"channel"`
	Context *int    `json:"context"` // 2: between other people
	User    *user   `json:"user"`    // in a direct message
	Member  *struct {
		User user `json:"user"`
	} `json:"member"`
	Message *message `json:"message"`
	Data    struct {
		Name       string            `json:"name"`
		Kind       int               `json:"type"`
		ID         string            `json:"custom_id"`
		Values     []string          `json:"values"`
		Options    []option          `json:"options"`
		Target     string            `json:"target_id"`
		Components []json.RawMessage `json:"components"`
		Resolved   struct {
			Messages map[string]message `json:"messages"`
		} `json:"resolved"`
	} `json:"data"`
}

type option struct {
	Name    string          `json:"name"`
	Value   json.RawMessage `json:"value"`
	Focused bool            `json:"focused"`
}

// text is an option's value as text, whatever its type.
func (o option) text() string {
	var s string
	if json.Unmarshal(o.Value, &s) == nil {
		return s
	}
	return strings.Trim(string(o.Value), `"`)
}

func (i interaction) person() string {
	switch {
	case i.Member != nil:
		return i.Member.User.ID
	case i.User != nil:
		return i.User.ID
	}
	return ""
}

// component is an input of a form that was sent: alone in a label, or in a row.
type component struct {
	ID         string      `json:"custom_id"`
	Value      string      `json:"value"`
	Values     []string    `json:"values"`
	Component  *component  `json:"component"`
	Components []component `json:"components"`
}

func (c component) gather(into map[string]string) {
	if c.ID != "" {
		into[c.ID] = c.Value
		if len(c.Values) > 0 {
			into[c.ID] = c.Values[0]
		}
	}
	if c.Component != nil {
		c.Component.gather(into)
	}
	for _, one := range c.Components {
		one.gather(into)
	}
}

func (i interaction) formValues() map[string]string {
	values := make(map[string]string)
	for _, raw := range i.Data.Components {
		var c component
		if json.Unmarshal(raw, &c) == nil {
			c.gather(values)
		}
	}
	return values
}

func decode[T any](raw json.RawMessage) (T, error) {
	var into T
	if err := json.Unmarshal(raw, &into); err != nil {
		return into, fmt.Errorf("read payload: %w", err)
	}
	return into, nil
}
