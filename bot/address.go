package bot

import "strings"

// Address is a place on a chat platform: a channel, a thread in it, or one
// person's private line. It carries ids as the platform gives them, never
// display names.
type Address struct {
	Platform  string `json:"platform"`            // the adapter's name: console, slack, discord
	Workspace string `json:"workspace,omitempty"` // Slack workspace or Discord guild
	Channel   string `json:"channel,omitempty"`
	Thread    string `json:"thread,omitempty"`
	Person    string `json:"person,omitempty"` // set when only this person shall see it
}

// Key names the conversation that this place and speaker belong to. Messages
// with one key are handled one at a time; a thread is one conversation for
// everybody in it, a channel one for each person.
func (a Address) Key(speaker string) string {
	last := a.Thread
	if last == "" {
		last = "@" + speaker
	}
	return strings.Join([]string{a.Platform, a.Workspace, a.Channel, last}, "/")
}

// Lane names the stream of posts whose order must hold: one channel (its
// threads included) or one person.
func (a Address) Lane() string {
	if a.Person != "" {
		return strings.Join([]string{a.Platform, a.Workspace, "@" + a.Person}, "/")
	}
	return strings.Join([]string{a.Platform, a.Workspace, a.Channel}, "/")
}

// MessageRef points at a message that a platform has accepted.
type MessageRef struct {
	Address Address `json:"address"`
	ID      string  `json:"id"`
}
