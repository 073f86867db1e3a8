package discordserver

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"time"
)

// Person does things as a user of the server.
type Person struct {
	*Server
	User  string
	Guild string
}

// As is the server as a user of its guild sees it.
func (s *Server) As(user string) Person { return Person{s, user, Guild} }

func (p Person) newID() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.id()
}

// message is what people wrote, kept for those who ask what they missed.
func (p Person) message(channel, text string, more ...map[string]any) reply {
	m := reply{
		"id": p.newID(), "channel_id": channel, "content": text, "type": 0, "author": reply{"id": p.User, "username": "somebody"},
		"mentions": []reply{}, "attachments": []reply{}, "timestamp": time.Now().UTC().Format(time.RFC3339),
	}
	if channel != Direct {
		m["guild_id"] = p.Guild
	}
	if strings.Contains(text, "<@"+Bot+">") {
		m["mentions"] = []reply{{"id": Bot, "bot": true}}
	}
	for _, one := range more {
		for k, v := range one {
			m[k] = v
		}
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.byPeople = append(p.byPeople, m)
	return m
}

// Mention says something to the bot in a channel and gives the message's id.
func (p Person) Mention(ctx context.Context, channel, text string) (id string, err error) {
	return p.Write(ctx, channel, "<@"+Bot+"> "+text)
}

// Write types a message and gives its id.
func (p Person) Write(ctx context.Context, channel, text string, more ...map[string]any) (id string, err error) {
	m := p.message(channel, text, more...)
	return m["id"].(string), p.Send(ctx, "MESSAGE_CREATE", m)
}

// Unheard writes a message while nobody is linked.
func (p Person) Unheard(channel, text string) (id string) {
	return p.message(channel, text)["id"].(string)
}

// WithFile puts a file into a message.
func (s *Server) WithFile(id, mime string) map[string]any {
	return reply{"attachments": []reply{{"id": id, "content_type": mime, "size": 7, "filename": "f", "url": s.http.URL + "/file"}}}
}

// Change edits a message of the person's.
func (p Person) Change(ctx context.Context, channel, id, text string) error {
	m := p.message(channel, text)
	m["id"], m["edited_timestamp"] = id, time.Now().UTC().Format(time.RFC3339Nano)
	return p.Send(ctx, "MESSAGE_UPDATE", m)
}

// Delete takes a message away.
func (p Person) Delete(ctx context.Context, channel, id string) error {
	return p.Send(ctx, "MESSAGE_DELETE", reply{"id": id, "channel_id": channel, "guild_id": p.Guild})
}

// React puts a mark on a message.
func (p Person) React(ctx context.Context, channel, id, mark string) error {
	return p.Send(ctx, "MESSAGE_REACTION_ADD", reply{"user_id": p.User, "channel_id": channel, "message_id": id, "guild_id": p.Guild, "emoji": reply{"name": mark}})
}

// interact sends an interaction and gives its id.
func (p Person) interact(ctx context.Context, kind int, channel string, data reply, more reply) (id string, err error) {
	id = p.newID()
	token := "secret-" + id
	p.mu.Lock()
	p.asked[token] = &asked{channel: channel, person: p.User}
	p.mu.Unlock()
	i := reply{
		"id": id, "application_id": App, "type": kind, "token": token, "channel_id": channel, "data": data,
		"channel": reply{"id": channel, "type": 0}, "version": 1,
	}
	if parent := p.parentOf(channel); parent != "" {
		i["channel"] = reply{"id": channel, "type": 11, "parent_id": parent}
	}
	if channel == Direct {
		i["user"] = reply{"id": p.User}
	} else {
		i["guild_id"], i["member"] = p.Guild, reply{"user": reply{"id": p.User}, "permissions": "0"}
	}
	for k, v := range more {
		i[k] = v
	}
	return id, p.Send(ctx, "INTERACTION_CREATE", i)
}

func (s *Server) parentOf(channel string) string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.threads[channel]
}

// Slash uses a slash command with options by name.
func (p Person) Slash(ctx context.Context, channel, name string, options map[string]string) (id string, err error) {
	var all []reply
	for k, v := range options {
		all = append(all, reply{"name": k, "type": 3, "value": v})
	}
	return p.interact(ctx, 2, channel, reply{"id": "1", "name": name, "type": 1, "options": all}, nil)
}

// Type types into an option that suggests.
func (p Person) Type(ctx context.Context, channel, name, option, text string) (id string, err error) {
	return p.interact(ctx, 4, channel, reply{"id": "1", "name": name, "type": 1, "options": []reply{{"name": option, "type": 3, "value": text, "focused": true}}}, nil)
}

// MessageCommand uses a message command on somebody's message.
func (p Person) MessageCommand(ctx context.Context, channel, name, text string) (id string, err error) {
	target := p.newID()
	return p.interact(ctx, 2, channel, reply{
		"id": "2", "name": name, "type": 3, "target_id": target, "resolved": reply{"messages": reply{target: reply{"id": target, "content": text}}},
	}, nil)
}

// Press presses the last button or choice with a label.
func (p Person) Press(ctx context.Context, label string) (id string, err error) {
	m, data, ok := p.find(label)
	if !ok {
		return "", fmt.Errorf("no button %q among:\n%s", label, p.Shown())
	}
	return p.press(ctx, m, data)
}

// PressOn presses a button of a value on a message, whether or not it is there.
func (p Person) PressOn(ctx context.Context, m Message, value string) (id string, err error) {
	return p.press(ctx, m, reply{"custom_id": "0|" + value, "component_type": 2})
}

func (p Person) press(ctx context.Context, m Message, data reply) (id string, err error) {
	flags := 0
	if m.Only != "" {
		flags = 1 << 6
	}
	return p.interact(ctx, 3, m.Channel, data, reply{"message": reply{"id": m.ID, "channel_id": m.Channel, "flags": flags, "author": reply{"id": Bot, "bot": true}}})
}

func (p Person) find(label string) (m Message, data reply, ok bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for i := len(p.messages) - 1; i >= 0; i-- {
		if only := p.messages[i].Only; only != "" && only != p.User {
			continue
		}
		var body sent
		_ = json.Unmarshal(p.messages[i].Raw, &body)
		for _, row := range body.Components {
			for _, c := range row.Components {
				if c.Label == label {
					return p.messages[i], reply{"custom_id": c.ID, "component_type": 2}, true
				}
				for _, o := range c.Options {
					if o.Label == label {
						return p.messages[i], reply{"custom_id": c.ID, "component_type": 3, "values": []string{o.Value}}, true
					}
				}
			}
		}
	}
	return Message{}, nil, false
}

// Submit sends the modal that was opened last.
func (p Person) Submit(ctx context.Context, channel string, values map[string]string) (id string, err error) {
	forms := p.Forms()
	if len(forms) == 0 {
		return "", fmt.Errorf("no form was opened")
	}
	var f struct {
		ID string `json:"custom_id"`
	}
	if err := json.Unmarshal(forms[len(forms)-1], &f); err != nil {
		return "", err
	}
	var components []reply
	for k, v := range values {
		components = append(components, reply{"type": 18, "component": reply{"type": 4, "custom_id": k, "value": v}})
	}
	return p.interact(ctx, 5, channel, reply{"custom_id": f.ID, "components": components}, nil)
}

// Answer is the first answer to an interaction, once there is one.
func (s *Server) Answer(ctx context.Context, id string) (json.RawMessage, error) {
	err := s.AwaitThat(ctx, func() bool {
		s.mu.Lock()
		defer s.mu.Unlock()
		return s.answers[id] != nil
	})
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.answers[id], err
}

// Repeat sends the last message of a person's once more.
func (s *Server) Repeat(ctx context.Context) error {
	s.mu.Lock()
	last := s.byPeople[len(s.byPeople)-1]
	s.mu.Unlock()
	return s.Send(ctx, "MESSAGE_CREATE", last)
}

// since gives what people wrote in a channel after an id, the newest first.
func (s *Server) since(channel, after string) any {
	s.mu.Lock()
	defer s.mu.Unlock()
	out := []reply{}
	for i := len(s.byPeople) - 1; i >= 0; i-- {
		id := s.byPeople[i]["id"].(string)
		if s.byPeople[i]["channel_id"] == channel && (len(id) > len(after) || len(id) == len(after) && id > after) {
			out = append(out, s.byPeople[i])
		}
	}
	return out
}

func (s *Server) byPerson(id string) (any, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, m := range s.byPeople {
		if m["id"] == id {
			return m, nil
		}
	}
	return nil, goneMessage()
}

// Commands are a guild's commands as they were last set.
func (s *Server) Commands(guild string) json.RawMessage {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.commands[guild]
}
