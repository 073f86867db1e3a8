package discord_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"kitbell/adapters/adaptertest/discordserver"
	"kitbell/adapters/discord"
	"kitbell/bot"
)

func (r *running) mention(t *testing.T, text string) {
	t.Helper()
	if _, err := r.As(discordserver.User).Mention(r.ctx, discordserver.Channel, text); err != nil {
		t.Fatal(err)
	}
}

// However the gateway goes, it is opened again, and what is said then is heard.
// The first rows take the session up again, the last begin a new one.
func TestGatewayComesBack(t *testing.T) {
	for _, row := range []struct {
		name   string
		breaks func(r *running)
	}{
		{"cut with no word", func(r *running) { r.Cut() }},
		{"asked to reconnect", func(r *running) { r.SendOp(7) }},
		{"asked again right after it came back", func(r *running) { r.Treat(discordserver.AskAgain, 0); r.SendOp(7) }},
		{"heartbeats without an answer", func(r *running) { r.Treat(discordserver.Zombie, 0) }},
		{"session timed out at the next try", func(r *running) { r.Treat(discordserver.TooLate, 0); r.Cut() }},
		{"session invalid at the next try", func(r *running) { r.Treat(discordserver.Invalid, 0); r.Cut() }},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Parallel()
			r := start(t, nil, func(o *discord.Options) { o.OpenWithin = 700 * time.Millisecond })
			r.Treat(discordserver.Usual, 100*time.Millisecond)
			r.Cut() // the next link has the short heartbeat
			r.mention(t, "before")
			if e := r.next(t); e.Text != "before" {
				t.Fatalf("heard %+v", e)
			}
			logins, resumes := r.Logins(), r.Resumes()
			row.breaks(r)
			if err := r.AwaitThat(r.ctx, func() bool { return r.Logins()+r.Resumes() > logins+resumes }); err != nil {
				t.Fatal(err)
			}
			r.Treat(discordserver.Usual, 0)
			for {
				r.mention(t, "after") // one may go into a link that is about to be cut
				if e := r.next(t); e.Text == "after" {
					break
				}
			}
		})
	}
}

// What only a person can mend ends the run, with what to do.
func TestHopelessGateway(t *testing.T) {
	for _, row := range []struct {
		manner discordserver.Manner
		fix    string
	}{{discordserver.BadToken, "take a new one"}, {discordserver.NoIntent, "message content intent"}} {
		t.Run(string(row.manner), func(t *testing.T) {
			t.Parallel()
			server := discordserver.Start()
			defer server.Close()
			server.Treat(row.manner, 0)
			err := open(t, server, nil).Run(t.Context(), nil)
			if err == nil || !strings.Contains(err.Error(), row.fix) || strings.Contains(err.Error(), discordserver.Token) {
				t.Errorf("Run gave %v", err)
			}
		})
	}
}

// A gateway that says nothing does not hold the program up (PLATFORMS.md: it
// blocks the library's Open and then its Close).
func TestSilentGateway(t *testing.T) {
	r := start(t, nil, func(o *discord.Options) { o.OpenWithin = 300 * time.Millisecond })
	r.Treat(discordserver.Silent, 0)
	r.Cut()
	if err := r.AwaitThat(r.ctx, func() bool { return r.Calls("link") >= 4 }); err != nil {
		t.Fatal(err)
	}
	r.Treat(discordserver.Usual, 0)
	r.mention(t, "hello")
	r.next(t)
}

// What was said while the bot was away is fetched once it is back.
func TestMissedMessages(t *testing.T) {
	server := discordserver.Start()
	defer server.Close()
	server.As(discordserver.User).Unheard(discordserver.Other, "E4 wood wedge missing")
	r := startOn(t, server, nil, func(o *discord.Options) {
		o.Channels = func() []string { return []string{discordserver.Other} }
		o.Guilds = func() []string { return []string{discordserver.Guild} }
	})
	if e := r.next(t); e.Text != "E4 wood wedge missing" || e.Where.Channel != discordserver.Other || e.Where.Workspace != discordserver.Guild {
		t.Errorf("heard %+v", e)
	}
}

// Commands are written only when they differ (PLATFORMS.md: register only on
// change).
func TestCommandsOnChange(t *testing.T) {
	server := discordserver.Start()
	defer server.Close()
	options := func(o *discord.Options) {
		o.Guilds = func() []string { return []string{discordserver.Guild} }
		o.Commands = []discord.CommandSpec{{Name: "ask", Description: "Ask.", Options: []discord.OptionSpec{{Name: "text", Description: "Your question", Required: true}}}}
	}
	for i := range 2 {
		r := startOn(t, server, nil, options)
		if err := r.AwaitThat(r.ctx, func() bool { return r.Calls("GET applications") > i && r.Commands(discordserver.Guild) != nil }); err != nil {
			t.Fatal(err)
		}
		r.mention(t, "hello") // one more round, in which a second list would be written
		r.next(t)
		r.end()
	}
	if n := server.Calls("PUT applications"); n != 1 || !strings.Contains(string(server.Commands(discordserver.Guild)), `"ask"`) {
		t.Errorf("written %d times: %s", n, server.Commands(discordserver.Guild))
	}
}

// While the disk is slow nothing is lost.
func TestSlowDiskLosesNothing(t *testing.T) {
	release := make(chan struct{})
	r := start(t, func(bot.Event) error { <-release; return nil }, nil)
	for i := range 80 {
		r.mention(t, fmt.Sprint("message ", i))
	}
	close(release)
	for i := range 80 {
		if e := r.next(t); e.Text != fmt.Sprint("message ", i) {
			t.Fatalf("message %d is %q", i, e.Text)
		}
	}
}
