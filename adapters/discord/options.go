package discord

import (
	"context"
	"fmt"
	"log/slog"
	"strings"
	"time"

	"kitbell/bot"
)

// Name is the platform's word in addresses, events and the department's file.
const Name = "discord"

// DefaultAPI is where the platform's own API is.
const DefaultAPI = "https://discord.com/api/v9/"

// CommandSpec is a slash command. Where Form is set, the command stands for that
// form and its options for the form's inputs; else for the sentence that begins
// with Lead and goes on with the options.
type CommandSpec struct {
	Name, Description string
	Private           bool // only the person sees the answer
	Form, Lead        string
	Options           []OptionSpec
}

// OptionSpec is an option of a slash command, of text.
type OptionSpec struct {
	Name, Description string
	Required          bool
	Suggests          string // field that Prompter.Suggest knows, empty for none
	Choices           []bot.Choice
}

// Options say how to connect. Token, Directory and Log are needed.
type Options struct {
	Token     string // of the bot
	PublicKey string // in hex; proves that a request over HTTP is the platform's
	API       string // base URL of the API; empty for the platform's own

	Directory bot.Directory
	Prompter  bot.Prompter    // nil: no forms, no suggestions
	Guilds    func() []string // guilds in which the commands are offered; nil for none
	Channels  func() []string // channels whose missed messages are fetched; nil for none
	Listening bool            // some channel is opened to listening
	Commands  []CommandSpec
	// Draw makes a department's picture a PNG. nil sends no pictures.
	Draw func(department, scene string) ([]byte, error)

	// Lost hears that a place is gone: a channel, or with none the guild; why is
	// for a person. nil hears nothing.
	Lost func(ctx context.Context, at bot.Address, why string)

	Clock bot.Clock
	Log   *slog.Logger
	// Count hears of what happens, for metrics: event, reconnect, rate-limit,
	// refused, identify. nil counts nothing. Any goroutine.
	Count func(what string)

	// Since is when the last event was stored, for a program that starts again:
	// what was said after it is fetched. The zero time stands for the last quarter
	// of an hour.
	Since      time.Time
	OpenWithin time.Duration // for one opening of the gateway; 0 for 20 seconds
	FirstPause time.Duration // before the second try to open; 0 for one second
}

func (o Options) withDefaults() (Options, error) {
	if o.API == "" {
		o.API = DefaultAPI
	}
	if !strings.HasSuffix(o.API, "/") {
		o.API += "/"
	}
	if err := bot.CheckServer(o.API, "https", "http"); err != nil {
		return o, fmt.Errorf("address of the API: %w", err)
	}
	if o.Lost == nil {
		o.Lost = func(context.Context, bot.Address, string) {}
	}
	if o.Clock == nil {
		o.Clock = bot.SystemClock{}
	}
	if o.Count == nil {
		o.Count = func(string) {}
	}
	none := func() []string { return nil }
	if o.Guilds == nil {
		o.Guilds = none
	}
	if o.Channels == nil {
		o.Channels = none
	}
	if o.OpenWithin == 0 {
		o.OpenWithin = 20 * time.Second
	}
	if o.FirstPause == 0 {
		o.FirstPause = time.Second
	}
	if o.Since.IsZero() {
		o.Since = o.Clock.Now().Add(-missedFor)
	}
	return o, nil
}
