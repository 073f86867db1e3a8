package slackserver

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"strings"
)

// Person does things as a user of the server.
type Person struct {
	*Server
	User string
	Team string // of the person; Team for the server's own
}

// As is the server as a user sees it.
func (s *Server) As(user string) Person { return Person{s, user, Team} }

// typed is what a client sends for what a person typed.
func typed(text string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;").Replace(text)
}

func (p Person) callback(event reply, more ...reply) reply {
	p.mu.Lock()
	defer p.mu.Unlock()
	body := reply{
		"type": "event_callback", "team_id": Team, "api_app_id": "A1", "event_id": p.id("Ev"), "is_ext_shared_channel": p.outside[fmt.Sprint(event["channel"])],
		"authorizations": []reply{{"team_id": Team, "user_id": Bot, "is_bot": true}}, "event": event,
	}
	for _, m := range more {
		maps.Copy(body, m)
	}
	return body
}

func (p Person) stamp() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.timestamp()
}

func (p Person) trigger() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.id("trigger.")
}

// message is the event of a message in a channel.
func (p Person) message(kind, channel, text, ts string) reply {
	where := "channel"
	if strings.HasPrefix(channel, "D") {
		where = "im"
	}
	return reply{"type": kind, "user": p.User, "text": text, "ts": ts, "channel": channel, "channel_type": where, "event_ts": ts, "user_team": p.Team, "team": Team}
}

// Mention says something to the bot in a channel, and gives the envelope's id
// and the message's timestamp.
func (p Person) Mention(ctx context.Context, channel, text string, more ...reply) (envelope, ts string, err error) {
	ts = p.stamp()
	event := p.message("app_mention", channel, "<@"+Bot+"> "+typed(text), ts)
	for _, m := range more {
		maps.Copy(event, m)
	}
	envelope, err = p.Send(ctx, "events_api", p.callback(event))
	return envelope, ts, err
}

// Write types a plain message, in a channel or in the person's own line.
func (p Person) Write(ctx context.Context, channel, text string, more ...reply) (envelope, ts string, err error) {
	ts = p.stamp()
	event := p.message("message", channel, typed(text), ts)
	for _, m := range more {
		maps.Copy(event, m)
	}
	envelope, err = p.Send(ctx, "events_api", p.callback(event))
	return envelope, ts, err
}

// Thread puts a message into a thread.
func Thread(ts string) map[string]any { return reply{"thread_ts": ts} }

// WithFile puts a file that Put laid down into a message.
func WithFile(id, mime string) map[string]any {
	return reply{"subtype": "file_share", "files": []reply{{"id": id, "mimetype": mime, "size": 3}}}
}

// Outside sends a mention from a channel that another organisation shares.
func (p Person) Outside(ctx context.Context, channel, text string) (envelope string, err error) {
	event := p.message("app_mention", channel, "<@"+Bot+"> "+typed(text), p.stamp())
	return p.Send(ctx, "events_api", p.callback(event, reply{"is_ext_shared_channel": true}))
}

// Elsewhere sends a mention from another workspace.
func (p Person) Elsewhere(ctx context.Context, team, text string) (envelope string, err error) {
	event := p.message("app_mention", "C77", "<@"+Bot+"> "+typed(text), p.stamp())
	return p.Send(ctx, "events_api", p.callback(event, reply{"team_id": team}))
}

// Change edits a message of the person's.
func (p Person) Change(ctx context.Context, channel, ts, before, after string) (envelope string, err error) {
	at := p.stamp()
	event := reply{
		"type": "message", "subtype": "message_changed", "channel": channel, "channel_type": "channel", "ts": at, "event_ts": at,
		"message":          reply{"type": "message", "user": p.User, "text": typed(after), "ts": ts, "edited": reply{"user": p.User, "ts": at}},
		"previous_message": reply{"type": "message", "user": p.User, "text": typed(before), "ts": ts},
	}
	return p.Send(ctx, "events_api", p.callback(event))
}

// Delete takes a message of the person's away.
func (p Person) Delete(ctx context.Context, channel, ts, text string) (envelope string, err error) {
	at := p.stamp()
	event := reply{
		"type": "message", "subtype": "message_deleted", "channel": channel, "channel_type": "channel", "ts": at, "event_ts": at, "deleted_ts": ts,
		"previous_message": reply{"type": "message", "user": p.User, "text": typed(text), "ts": ts},
	}
	return p.Send(ctx, "events_api", p.callback(event))
}

// React puts a mark on a message.
func (p Person) React(ctx context.Context, channel, ts, mark string) (envelope string, err error) {
	at := p.stamp()
	event := reply{"type": "reaction_added", "user": p.User, "reaction": mark, "event_ts": at, "item_user": Bot, "item": reply{"type": "message", "channel": channel, "ts": ts}}
	return p.Send(ctx, "events_api", p.callback(event))
}

// Tell sends an event that no person did, such as channel_archive.
func (p Person) Tell(ctx context.Context, event map[string]any) (envelope string, err error) {
	return p.Send(ctx, "events_api", p.callback(event))
}

// OpenHome opens the bot's page.
func (p Person) OpenHome(ctx context.Context) (envelope string, err error) {
	event := reply{"type": "app_home_opened", "user": p.User, "channel": Direct, "tab": "home", "event_ts": p.stamp()}
	return p.Send(ctx, "events_api", p.callback(event))
}

// Slash types the slash command.
func (p Person) Slash(ctx context.Context, channel, text string) (envelope string, err error) {
	return p.Send(ctx, "slash_commands", reply{
		"command": "/kitbell", "text": typed(text), "team_id": Team, "channel_id": channel, "user_id": p.User,
		"trigger_id": p.trigger(), "response_url": p.http.URL + "/reply/1", "api_app_id": "A1",
	})
}

// Shortcut chooses the message shortcut on somebody's message.
func (p Person) Shortcut(ctx context.Context, callback, channel, text string) (envelope string, err error) {
	return p.Send(ctx, "interactive", reply{
		"type": "message_action", "callback_id": callback, "trigger_id": p.trigger(), "response_url": p.http.URL + "/reply/1",
		"team": reply{"id": Team}, "user": reply{"id": p.User, "team_id": p.Team}, "channel": reply{"id": channel},
		"message": reply{"type": "message", "user": "U2", "text": typed(text), "ts": p.stamp()},
	})
}

// Press presses the last button or choice with a label, on a message or on the
// person's page.
func (p Person) Press(ctx context.Context, label string) (envelope string, err error) {
	m, value, ok := p.find(label)
	if !ok {
		return "", fmt.Errorf("no button %q among:\n%s", label, p.Shown())
	}
	return p.PressOn(ctx, m, value)
}

// PressOn presses a button with a value on a message, whether or not it is
// there.
func (p Person) PressOn(ctx context.Context, m Message, value string) (envelope string, err error) {
	body := reply{
		"type": "block_actions", "trigger_id": p.trigger(), "response_url": p.http.URL + "/reply/1", "team": reply{"id": Team},
		"user": reply{"id": p.User, "team_id": p.Team}, "channel": reply{"id": m.Channel},
		"container": reply{"type": "message", "message_ts": m.TS, "channel_id": m.Channel, "is_ephemeral": m.Only != "", "thread_ts": m.Thread},
		"message":   reply{"ts": m.TS, "text": m.Text, "thread_ts": m.Thread, "bot_id": "B1"},
		"actions":   []reply{{"type": "button", "action_id": "b0", "block_id": "x", "value": value, "action_ts": p.stamp()}},
	}
	if m.Channel == "" {
		body["container"] = reply{"type": "view", "view_id": "V1"}
		delete(body, "message")
	}
	return p.Send(ctx, "interactive", body)
}

// find looks for the latest button with a label that the person can see.
func (p Person) find(label string) (m Message, value string, ok bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for i := len(p.messages) - 1; i >= 0; i-- {
		if only := p.messages[i].Only; only != "" && only != p.User {
			continue
		}
		if value, ok := valueOf(p.messages[i].Blocks, label); ok {
			return p.messages[i], value, true
		}
	}
	if value, ok := valueOf(p.homes[p.User], label); ok {
		return Message{}, value, true
	}
	return Message{}, "", false
}

// Submit sends the modal that was opened last.
func (p Person) Submit(ctx context.Context, values map[string]string) (envelope string, err error) {
	p.mu.Lock()
	if len(p.views) == 0 {
		p.mu.Unlock()
		return "", fmt.Errorf("no form was opened")
	}
	raw := p.views[len(p.views)-1]
	id := p.id("V")
	p.mu.Unlock()
	var v struct {
		Callback string `json:"callback_id"`
		Private  string `json:"private_metadata"`
	}
	if err := json.Unmarshal(raw, &v); err != nil {
		return "", err
	}
	state := reply{}
	for name, value := range values {
		state[name] = reply{"in": reply{"type": "plain_text_input", "value": value}}
	}
	return p.Send(ctx, "interactive", reply{
		"type": "view_submission", "team": reply{"id": Team}, "user": reply{"id": p.User, "team_id": p.Team}, "trigger_id": p.trigger(),
		"view": reply{"id": id, "type": "modal", "callback_id": v.Callback, "private_metadata": v.Private, "state": reply{"values": state}},
	})
}

// Views are the modals opened so far, as JSON.
func (s *Server) Views() []json.RawMessage {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]json.RawMessage(nil), s.views...)
}
