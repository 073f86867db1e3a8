package discord_test

import (
	"context"
	"log/slog"
	"testing"

	"kitbell/adapters/adaptertest"
	"kitbell/adapters/adaptertest/discordserver"
	"kitbell/adapters/discord"
	"kitbell/bot"
)

var (
	here    = bot.Address{Platform: discord.Name, Workspace: discordserver.Guild, Channel: discordserver.Channel}
	discard = slog.New(slog.DiscardHandler)
)

func TestContract(t *testing.T) {
	adaptertest.Run(t, func(t *testing.T) adaptertest.Platform {
		server := discordserver.Start()
		t.Cleanup(server.Close)
		server.Check = descriptionIfThere(t)
		person := server.As(discordserver.User)
		must := func(_ string, err error) {
			if err != nil {
				panic(err)
			}
		}
		there := here
		there.Channel = discordserver.Other
		pressed := ""
		return adaptertest.Platform{
			Answered: func(ctx context.Context, release func()) error {
				defer release()
				_, err := server.Answer(ctx, pressed) // before the handler has returned
				return err
			},
			Reopen: func() bot.Adapter { // what was said between the two is fetched
				return open(t, server, func(o *discord.Options) { o.Channels = func() []string { return []string{discordserver.Channel} } })
			},
			Adapter: open(t, server, nil),
			Here:    here, There: there,
			Say: func(text string) { must(person.Mention(t.Context(), discordserver.Channel, text)) },
			Press: func(label string) {
				id, err := person.Press(t.Context(), label)
				must(id, err)
				pressed = id
			},
			Shown:  server.Shown,
			Await:  server.Await,
			Repeat: func() { must("", server.Repeat(t.Context())) },
			Once:   true,
		}
	})
}

// open makes an adapter for the server's own guild; change, where not nil, may
// alter its options.
func open(t *testing.T, server *discordserver.Server, change func(*discord.Options)) *discord.Adapter {
	t.Helper()
	o := discord.Options{Token: discordserver.Token, API: server.URL(), Directory: directory, Log: discard, FirstPause: 1e7}
	if change != nil {
		change(&o)
	}
	a, err := discord.New(o)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// directory knows one department, and listens in its other channel.
func directory(where bot.Address, _ string) (bot.Place, bool) {
	return bot.Place{Department: "tarn-harbor", Listen: where.Channel == discordserver.Other},
		where.Workspace == discordserver.Guild || where.Channel == discordserver.Direct
}

// running is an adapter on a server of its own.
type running struct {
	*discordserver.Server
	adapter *discord.Adapter
	handler *adaptertest.Handler
	ctx     context.Context
	ended   chan error
	end     func()
}

func start(t *testing.T, answer func(bot.Event) error, change func(*discord.Options)) *running {
	t.Helper()
	server := discordserver.Start()
	t.Cleanup(server.Close)
	return startOn(t, server, answer, change)
}

func startOn(t *testing.T, server *discordserver.Server, answer func(bot.Event) error, change func(*discord.Options)) *running {
	t.Helper()
	r := &running{Server: server, handler: adaptertest.NewHandler(answer), ended: make(chan error, 1)}
	r.adapter = open(t, r.Server, change)
	ctx, end := context.WithCancel(t.Context())
	r.ctx = ctx
	done := make(chan struct{})
	go func() { defer close(done); r.ended <- r.adapter.Run(ctx, r.handler) }()
	r.end = func() { end(); <-done }
	t.Cleanup(r.end)
	return r
}

func (r *running) next(t *testing.T) bot.Event {
	t.Helper()
	return r.handler.Next(r.ctx, t)
}
