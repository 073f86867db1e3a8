package slack

import (
	"encoding/json"
	"fmt"
)

// The parts of the platform's payloads that are read (reference pages "Events
// API", "Interaction payloads", "Slash commands"). Everything else stays
// unread.

// callback is what the Events API brings.
type callback struct {
	Type           string `json:"type"`
	Challenge      string `json:"challenge"`
	Team           string `json:"team_id"`
	ID             string `json:"event_id"`
	Shared         bool   `json:"is_ext_shared_channel"`
	Authorizations []struct {
		User string `json:"user_id"`
		Bot  bool   `json:"is_bot"`
	} `json:"authorizations"`
	Event inner `json:"event"`
}

// inner is the event itself.
type inner struct {
	message
	Type        string   `json:"type"`
	Channel     string   `json:"-"` // of a message; a reaction has it elsewhere
	ChannelType string   `json:"channel_type"`
	Changed     *message `json:"message"`          // message_changed
	Previous    *message `json:"previous_message"` // message_changed, message_deleted
	Reaction    string   `json:"reaction"`
	Tab         string   `json:"tab"`
	EventTS     string   `json:"event_ts"`
	Item        struct {
		Channel string `json:"channel"`
		TS      string `json:"ts"`
	} `json:"item"`
}

// UnmarshalJSON takes the channel, which is an id in some events and an object
// in others.
func (e *inner) UnmarshalJSON(raw []byte) error {
	type plain inner
	if err := json.Unmarshal(raw, (*plain)(e)); err != nil {
		return err
	}
	var where struct {
		Channel json.RawMessage `json:"channel"`
	}
	if err := json.Unmarshal(raw, &where); err != nil {
		return err
	}
	if json.Unmarshal(where.Channel, &e.Channel) != nil {
		e.Channel = ""
	}
	return nil
}

// message is a message as events carry it.
type message struct {
	Subtype  string `json:"subtype"`
	User     string `json:"user"`
	Bot      string `json:"bot_id"`
	Text     string `json:"text"`
	TS       string `json:"ts"`
	Thread   string `json:"thread_ts"`
	UserTeam string `json:"user_team"`
	Edited   struct {
		TS string `json:"ts"`
	} `json:"edited"`
	Files []file `json:"files"`
}

type file struct {
	ID      string `json:"id"`
	Mime    string `json:"mimetype"`
	Subtype string `json:"subtype"`
	Size    int64  `json:"size"`
}

// slash is a slash command; the names are those of its form over HTTP too.
type slash struct {
	Team    string `json:"team_id"`
	Channel string `json:"channel_id"`
	User    string `json:"user_id"`
	Text    string `json:"text"`
	Trigger string `json:"trigger_id"`
	Reply   string `json:"response_url"`
}

// interaction is a press, a form sent, or a message shortcut.
type interaction struct {
	Type     string `json:"type"`
	Callback string `json:"callback_id"`
	Trigger  string `json:"trigger_id"`
	Reply    string `json:"response_url"`
	Team     struct {
		ID string `json:"id"`
	} `json:"team"`
	User struct {
		ID   string `json:"id"`
		Team string `json:"team_id"`
	} `json:"user"`
	Channel struct {
		ID string `json:"id"`
	} `json:"channel"`
	Message   message `json:"message"`
	Container struct {
		Type      string `json:"type"`
		Ephemeral bool   `json:"is_ephemeral"`
		TS        string `json:"message_ts"`
		Thread    string `json:"thread_ts"`
	} `json:"container"`
	Actions []action `json:"actions"`
	View    view     `json:"view"`
}

type action struct {
	Value    string `json:"value"`
	TS       string `json:"action_ts"`
	Selected struct {
		Value string `json:"value"`
	} `json:"selected_option"`
}

// pressed is the value behind a button or a choice.
func (a action) pressed() string {
	if a.Value != "" {
		return a.Value
	}
	return a.Selected.Value
}

// view is a modal as it was sent.
type view struct {
	ID       string `json:"id"`
	Type     string `json:"type"`
	Callback string `json:"callback_id"`
	Private  string `json:"private_metadata"`
	State    struct {
		Values map[string]map[string]struct {
			Value    string `json:"value"`
			Selected struct {
				Value string `json:"value"`
			} `json:"selected_option"`
		} `json:"values"`
	} `json:"state"`
}

func (v view) values() map[string]string {
	values := make(map[string]string)
	for block, actions := range v.State.Values {
		for _, input := range actions {
			values[block] = input.Value
			if input.Value == "" {
				values[block] = input.Selected.Value
			}
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
