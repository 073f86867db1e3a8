package slack

import (
	"context"
	"fmt"
	"log/slog"
	"strings"
	"time"

	"kitbell/bot"
)

// Name is the platform's word in addresses, events and the department's file.
const Name = "slack"

// DefaultAPI is where the platform's own Web API is.
const DefaultAPI = "https://slack.com/api/"

// Options say how to connect. Token or Tokens, Directory and Log are needed;
// AppToken for Socket Mode, SigningSecret for HTTP.
type Options struct {
	AppToken      string            // of the app, for Socket Mode
	Token         string            // of the bot, for every workspace that Tokens does not name
	Tokens        map[string]string // of the bot, by workspace
	SigningSecret string            // proves that a request over HTTP is the platform's
	API           string            // base URL of the Web API; empty for the platform's own

	Directory bot.Directory
	Prompter  bot.Prompter // nil: no forms
	// Channels lists the channels of the files, whose readers are looked at when
	// Run begins; nil for none.
	Channels func() []bot.Address
	// Lost hears that a place is gone: a channel, or with none the workspace; why
	// is for a person. nil hears nothing. Called before the event is acknowledged.
	Lost func(ctx context.Context, at bot.Address, why string)
	// Draw makes a department's picture a PNG. nil sends no pictures: their
	// words are in the text anyway.
	Draw func(department, scene string) ([]byte, error)

	Clock   bot.Clock
	Log     *slog.Logger
	Links   int           // Socket Mode links held at the same time; 0 for two
	Stagger time.Duration // between the first opening of two links; 0 for ten seconds
	// Count hears of what happens, for metrics: event, reconnect, rate-limit,
	// refused, lost-ack. nil counts nothing. Any goroutine.
	Count func(what string)
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
	if o.Clock == nil {
		o.Clock = bot.SystemClock{}
	}
	if o.Links == 0 {
		o.Links = 2
	}
	if o.Stagger == 0 {
		o.Stagger = 10 * time.Second
	}
	if o.Lost == nil {
		o.Lost = func(context.Context, bot.Address, string) {}
	}
	if o.Count == nil {
		o.Count = func(string) {}
	}
	return o, nil
}
