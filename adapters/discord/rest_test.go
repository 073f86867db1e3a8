package discord_test

import (
	"bytes"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"testing"
	"time"

	"kitbell/adapters/adaptertest/discordserver"
	"kitbell/adapters/discord"
	"kitbell/bot"
)

func hello(key string) bot.Outgoing {
	return bot.Outgoing{Key: key, To: here, Reply: bot.Reply{Text: "Hello."}}
}

// How long to wait is read from the body, or else from the header, whatever the
// body is; a pause for all keeps every call back (reference page "Rate limits").
func TestPauses(t *testing.T) {
	for _, row := range []struct {
		name    string
		failure discordserver.Failure
		after   time.Duration
		calls   int // after a second try, elsewhere
	}{
		{"in the body", discordserver.Failure{Status: 429, After: 0.75}, 750 * time.Millisecond, 2},
		{"in the header", discordserver.Failure{Status: 429, Header: "7"}, 7 * time.Second, 2},
		{"in the header of a page", discordserver.Failure{Status: 429, Header: "7", Bare: true}, 7 * time.Second, 2},
		{"nowhere", discordserver.Failure{Status: 429, Bare: true}, 0, 2},
		{"for all", discordserver.Failure{Status: 429, After: 30, Global: true}, 30 * time.Second, 1},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Parallel()
			server := discordserver.Start()
			defer server.Close()
			clock := bot.NewManualClock(time.Now())
			a := open(t, server, func(o *discord.Options) { o.Clock = clock })
			server.Fail("POST channels", row.failure)
			_, err := a.Send(t.Context(), hello("k"))
			var limited *bot.RateLimitError
			if !errors.As(err, &limited) || limited.After != row.after {
				t.Errorf("error %v", err)
			}
			elsewhere := hello("k2")
			elsewhere.To.Channel = discordserver.Other
			_, err = a.Send(t.Context(), elsewhere)
			if calls := server.Calls("POST channels"); calls != row.calls || (err == nil) != (row.calls == 2) {
				t.Errorf("%d calls, error %v", calls, err)
			}
			clock.Set(clock.Now().Add(row.after))
			if _, err := a.Send(t.Context(), hello("k3")); err != nil {
				t.Errorf("after the pause: %v", err)
			}
		})
	}
}

// An empty bucket is an error that says how long to wait, at once: nothing
// sleeps where ctx cannot end it, and nothing is called.
func TestEmptyBucket(t *testing.T) {
	server := discordserver.Start()
	defer server.Close()
	server.Limit(2, time.Hour)
	a := open(t, server, nil)
	for i := range 2 {
		if _, err := a.Send(t.Context(), hello(fmt.Sprint("k", i))); err != nil {
			t.Fatal(err)
		}
	}
	_, err := a.Send(t.Context(), hello("k3"))
	var limited *bot.RateLimitError
	if !errors.As(err, &limited) || limited.After < 50*time.Minute || limited.After > time.Hour || server.Calls("POST channels") != 2 {
		t.Errorf("error %v after %d calls", err, server.Calls("POST channels"))
	}
	elsewhere := hello("k4")
	elsewhere.To.Channel = discordserver.Other
	if _, err := a.Send(t.Context(), elsewhere); err != nil {
		t.Errorf("another channel: %v", err)
	}
}

// A token that is refused ends the run, with what to do, and nothing more is
// called: 10,000 refused calls ban the address (PLATFORMS.md).
func TestRefusedTokenStopsEverything(t *testing.T) {
	r := start(t, nil, nil)
	r.mention(t, "hello")
	r.next(t)
	r.Fail("POST channels", discordserver.Failure{Status: 401})
	for range 3 {
		if _, err := r.adapter.Send(r.ctx, hello("k")); err == nil || errors.Is(err, bot.ErrNotFound) {
			t.Errorf("error %v", err)
		}
	}
	if err := <-r.ended; err == nil || !strings.Contains(err.Error(), "take a new one") || strings.Contains(err.Error(), discordserver.Token) {
		t.Errorf("Run gave %v", err)
	}
	if n := r.Calls("POST channels"); n != 1 {
		t.Errorf("%d calls", n)
	}
}

// After 1,000 refusals within ten minutes nothing is called until they are over.
func TestManyRefusalsPause(t *testing.T) {
	server := discordserver.Start()
	defer server.Close()
	clock := bot.NewManualClock(time.Now())
	a := open(t, server, func(o *discord.Options) { o.Clock = clock })
	const most = 1000
	for i := range most + 5 {
		server.Fail("POST channels", discordserver.Failure{Status: 403, Code: 50001})
		_, err := a.Send(t.Context(), hello("k"))
		var limited *bot.RateLimitError
		if errors.As(err, &limited) != (i >= most) {
			t.Fatalf("try %d: %v", i, err)
		}
	}
	if n := server.Calls("POST channels"); n != most {
		t.Errorf("%d calls", n)
	}
}

// Neither a token nor a reply token nor words stand in an error or a log.
func TestNothingSecretIsTold(t *testing.T) {
	var log bytes.Buffer
	const words = "the wedge is by the green locker"
	server := discordserver.Start()
	r := startOn(t, server, nil, func(o *discord.Options) {
		withCommands(o)
		o.Log = slog.New(slog.NewJSONHandler(&log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	})
	r.Fail("POST interactions", discordserver.Failure{Status: 500})
	r.Fail("PATCH webhooks", discordserver.Failure{Cut: true}, discordserver.Failure{Status: 500})
	var said []string
	for range 2 {
		if _, err := r.As(discordserver.User).Slash(r.ctx, discordserver.Channel, "ask", map[string]string{"text": words}); err != nil {
			t.Fatal(err)
		}
		e := r.next(t)
		_, err := r.adapter.Send(r.ctx, bot.Outgoing{Key: "k" + e.ID, To: e.Where, Answers: e.ID, Reply: bot.Reply{Text: words, Private: true}})
		said = append(said, fmt.Sprint(err))
	}
	server.Close()
	_, err := r.adapter.Send(r.ctx, hello("gone"))
	said = append(said, fmt.Sprint(err))
	r.end()
	said = append(said, log.String())
	for _, text := range said {
		for _, secret := range []string{discordserver.Token, "secret-", words} {
			if strings.Contains(text, secret) {
				t.Errorf("%q stands in %s", secret, text)
			}
		}
	}
}

// A file is fetched through the API, from the platform's own host, up to the
// limit.
func TestFetch(t *testing.T) {
	for _, row := range []struct {
		name  string
		id    func(channel, message string) string
		limit int64
		host  string
		want  string // empty for an error
	}{
		{"a picture", func(c, m string) string { return c + "/" + m + "/9" }, 7, "", "picture"},
		{"larger than the limit", func(c, m string) string { return c + "/" + m + "/9" }, 6, "", ""},
		{"elsewhere", func(c, m string) string { return c + "/" + m + "/9" }, 7, "https://example.org/file", ""},
		{"not on the message", func(c, m string) string { return c + "/" + m + "/8" }, 7, "", ""},
		{"no such message", func(c, _ string) string { return c + "/5/9" }, 7, "", ""},
		{"no id", func(string, string) string { return "../../users/@me/9" }, 7, "", ""},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Parallel()
			server := discordserver.Start()
			defer server.Close()
			a := open(t, server, nil)
			file := server.WithFile("9", "image/jpeg")
			if row.host != "" {
				file = map[string]any{"attachments": []map[string]any{{"id": "9", "content_type": "image/jpeg", "size": 7, "url": row.host}}}
			}
			r := startOn(t, server, nil, nil)
			id, err := r.As(discordserver.User).Write(r.ctx, discordserver.Direct, "", file)
			if err != nil {
				t.Fatal(err)
			}
			got, err := a.Fetch(t.Context(), bot.File{ID: row.id(discordserver.Direct, id)}, row.limit)
			if string(got) != row.want || (err == nil) != (row.want != "") {
				t.Errorf("got %q, %v", got, err)
			}
		})
	}
}

// What is missing before the first day is said, with what to do about it.
func TestPreflight(t *testing.T) {
	for _, row := range []struct {
		name   string
		change func(*discord.Options, *discordserver.Server)
		what   string
		fix    string // empty: all is well
	}{
		{"all well", func(*discord.Options, *discordserver.Server) {}, "can see, post and attach", ""},
		{"bad token", func(o *discord.Options, _ *discordserver.Server) { o.Token = "old" }, "token", "take a new one"},
		{"not in the guild", func(o *discord.Options, _ *discordserver.Server) {
			o.Guilds = func() []string { return []string{"5000000000000000777"} }
		}, "not in it", "oauth2/authorize"},
		{"no such channel", func(o *discord.Options, _ *discordserver.Server) {
			o.Channels = func() []string { return []string{"6000000000000000777"} }
		}, "channel 6000000000000000777", "check its id"},
		{"may not attach", func(_ *discord.Options, s *discordserver.Server) { s.Deny(1 << 15) }, "channel", "Attach Files"},
		{"may not see", func(_ *discord.Options, s *discordserver.Server) { s.Deny(1 << 10) }, "channel", "View Channel"},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Parallel()
			server := discordserver.Start()
			defer server.Close()
			a := open(t, server, func(o *discord.Options) {
				o.Guilds = func() []string { return []string{discordserver.Guild} }
				o.Channels = func() []string { return []string{discordserver.Channel} }
				row.change(o, server)
			})
			found := false
			for _, f := range a.Preflight(t.Context()) {
				if row.fix == "" && !f.OK {
					t.Errorf("%+v", f)
				}
				found = found || strings.Contains(f.What, row.what) && strings.Contains(f.Fix, row.fix) && f.OK == (row.fix == "")
			}
			if !found {
				t.Errorf("not found among %+v", a.Preflight(t.Context()))
			}
		})
	}
}

// The link asks for these permissions and no others (reference page
// "Permissions").
func TestInvite(t *testing.T) {
	want := fmt.Sprint(int64(1<<10 | 1<<11 | 1<<14 | 1<<15 | 1<<16 | 1<<35 | 1<<38))
	link := discord.Invite("123456789012345678")
	if !strings.Contains(link, "permissions="+want) || !strings.Contains(link, "client_id=123456789012345678") || !strings.Contains(link, "scope=bot+applications.commands") {
		t.Error(link)
	}
}
