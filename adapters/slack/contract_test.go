package slack_test

import (
	"context"
	"log/slog"
	"testing"

	"kitbell/adapters/adaptertest"
	"kitbell/adapters/adaptertest/slackserver"
	"kitbell/adapters/slack"
	"kitbell/bot"
)

var here = bot.Address{Platform: slack.Name, Workspace: slackserver.Team, Channel: slackserver.Channel}

func TestContract(t *testing.T) {
	adaptertest.Run(t, func(t *testing.T) adaptertest.Platform {
		server := slackserver.Start()
		t.Cleanup(server.Close)
		person := server.As(slackserver.User)
		must := func(_ string, err error) {
			if err != nil {
				panic(err)
			}
		}
		there := here
		there.Channel = slackserver.Other
		pressed := ""
		return adaptertest.Platform{
			// Slack is acknowledged when the event is stored: what is not by then comes
			// again, under its id (TestSlowDiskLosesNothing has three seconds and more).
			Answered: func(ctx context.Context, release func()) error { release(); return server.AwaitAck(ctx, pressed) },
			Reopen:   func() bot.Adapter { return open(t, server, nil) },
			Adapter:  open(t, server, nil),
			Here:     here, There: there,
			Say: func(text string) { _, _, err := person.Mention(t.Context(), slackserver.Channel, text); must("", err) },
			Press: func(label string) {
				envelope, err := person.Press(t.Context(), label)
				must(envelope, err)
				pressed = envelope
			},
			Shown:  server.Shown,
			Await:  server.Await,
			Repeat: func() { must("", server.Repeat(t.Context())) },
		}
	})
}

// open makes an adapter for the server's own workspace; change, where not nil,
// may alter its options.
func open(t *testing.T, server *slackserver.Server, change func(*slack.Options)) *slack.Adapter {
	t.Helper()
	o := slack.Options{
		AppToken: slackserver.AppToken, Token: slackserver.BotToken, API: server.URL(), Directory: directory, Log: slog.New(slog.DiscardHandler),
		Links: 1,
	}
	if change != nil {
		change(&o)
	}
	a, err := slack.New(o)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// directory knows one department, and listens in its other channel.
func directory(where bot.Address, _ string) (bot.Place, bool) {
	return bot.Place{Department: "tarn-harbor", Listen: where.Channel == slackserver.Other}, where.Workspace == slackserver.Team
}

// at runs an adapter on a server of its own.
type running struct {
	*slackserver.Server
	adapter *slack.Adapter
	handler *adaptertest.Handler
	ctx     context.Context
	ended   chan error
}

func start(t *testing.T, answer func(bot.Event) error, change func(*slack.Options)) *running {
	t.Helper()
	r := &running{Server: slackserver.Start(), handler: adaptertest.NewHandler(answer), ended: make(chan error, 1)}
	t.Cleanup(r.Close)
	r.adapter = open(t, r.Server, change)
	ctx, end := context.WithCancel(t.Context())
	r.ctx = ctx
	done := make(chan struct{})
	go func() { defer close(done); r.ended <- r.adapter.Run(ctx, r.handler) }()
	t.Cleanup(func() { end(); <-done })
	return r
}

func (r *running) next(t *testing.T) bot.Event {
	t.Helper()
	return r.handler.Next(r.ctx, t)
}
