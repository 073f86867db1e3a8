package discord_test

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"testing"
	"time"

	"kitbell/adapters/adaptertest/discordserver"
	"kitbell/adapters/discord"
	"kitbell/bot"
)

// A link that the server takes away, or that has died, is resumed: no session is
// begun anew (PLATFORMS.md: a close with 1000 throws the session away).
func TestSessionIsTakenUpAgain(t *testing.T) {
	for _, row := range []struct {
		name   string
		breaks func(r *running)
		closed int // the code by which the bot closed
	}{
		{"asked to reconnect", func(r *running) { r.SendOp(7) }, 4000},
		{"asked right after it came back", func(r *running) { r.Treat(discordserver.AskAgain, 0); r.SendOp(7) }, 4000},
		{"heartbeats without an answer", func(r *running) { r.Treat(discordserver.Zombie, 0) }, 4000},
		{"cut with no word", func(r *running) { r.Cut() }, 0},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Parallel()
			server := discordserver.Start()
			defer server.Close()
			server.Treat(discordserver.Usual, 60*time.Millisecond)
			r := startOn(t, server, nil, nil)
			r.mention(t, "before")
			r.next(t)
			row.breaks(r)
			if err := r.AwaitThat(r.ctx, func() bool { return r.Resumes() > 0 && r.Closed() == row.closed }); err != nil {
				t.Fatal(err)
			}
			r.Treat(discordserver.Usual, 0)
			r.mention(t, "after")
			if e := r.next(t); e.Text != "after" || r.Logins() != 1 {
				t.Errorf("heard %+v, %d logins", e, r.Logins())
			}
			r.end()
			if err := r.AwaitThat(t.Context(), func() bool { return r.Closed() == 1000 }); err != nil {
				t.Errorf("the end: closed with %d", r.Closed())
			}
		})
	}
}

// What happened while the link was down comes with the session; after a new
// session it is fetched, in order, once, from every channel of the files and
// every direct line heard of, however much it is.
func TestNothingIsMissed(t *testing.T) {
	server := discordserver.Start()
	defer server.Close()
	r := startOn(t, server, nil, func(o *discord.Options) { o.Channels = func() []string { return []string{discordserver.Other} } })
	p := r.As(discordserver.User)
	if _, err := p.Write(r.ctx, discordserver.Direct, "hello"); err != nil {
		t.Fatal(err)
	}
	if _, err := p.Write(r.ctx, discordserver.Other, "heard before"); err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{r.next(t).ID: true, r.next(t).ID: true}
	const missed = 230
	for i := range missed {
		p.Unheard(discordserver.Other, fmt.Sprint("missed ", i))
	}
	p.Unheard(discordserver.Direct, "missed in the line")
	r.Treat(discordserver.Invalid, 0)
	r.Cut()
	var heard []string
	for len(heard) < missed+1 {
		e := r.next(t)
		if _, again := seen[e.ID]; !again { // what was heard live may be fetched too; the store knows it by its id
			heard = append(heard, e.Text)
		}
		seen[e.ID] = true
	}
	for i := range missed {
		if heard[i] != fmt.Sprint("missed ", i) {
			t.Fatalf("message %d is %q", i, heard[i])
		}
	}
	r.Treat(discordserver.Usual, 0)
	r.mention(t, "after")
	for e := r.next(t); e.Text != "after"; e = r.next(t) {
		if !seen[e.ID] {
			t.Errorf("heard %+v", e)
		}
	}
	if heard[missed] != "missed in the line" {
		t.Errorf("the last is %q", heard[missed])
	}
}

// The bot asks for no privileged intent unless a channel is opened to listening
// (reference page "Gateway intents": 15 is message content; 1 and 8 are the
// other privileged ones).
func TestIntents(t *testing.T) {
	for _, row := range []struct {
		name      string
		listening bool
		content   int
	}{{"usual", false, 0}, {"listening", true, 1 << 15}} {
		t.Run(row.name, func(t *testing.T) {
			r := start(t, nil, func(o *discord.Options) { o.Listening = row.listening })
			if err := r.AwaitLink(r.ctx); err != nil {
				t.Fatal(err)
			}
			if got := r.Intents(); got&(1<<15) != row.content || got&(1<<1|1<<8) != 0 || got&1 == 0 {
				t.Errorf("asked for %b", got)
			}
		})
	}
}

// While the platform says that the day's sessions are nearly used up, of earlier
// runs too, none is begun (PLATFORMS.md: stop at 800 of 1,000).
func TestSessionsUsedUpByOthers(t *testing.T) {
	clock := bot.NewManualClock(time.Now())
	server := discordserver.Start()
	defer server.Close()
	server.Sessions(200)
	waiting := make(chan time.Time, 1)
	r := startOn(t, server, nil, func(o *discord.Options) { o.Clock = announced{clock, waiting} })
	until := <-waiting
	if server.Calls("link") != 0 || !until.Equal(clock.Now().Add(time.Hour)) {
		t.Errorf("%d links, waits until %s", server.Calls("link"), until)
	}
	server.Sessions(1000)
	clock.Set(until)
	r.mention(t, "hello")
	r.next(t)
}

// The bot itself begins at most 800 sessions in a day.
func TestSessionsUsedUp(t *testing.T) {
	clock := bot.NewManualClock(time.Now())
	server := discordserver.Start()
	defer server.Close()
	server.Treat(discordserver.Full, 0)
	waiting := make(chan time.Time, 1)
	r := startOn(t, server, nil, func(o *discord.Options) {
		o.Clock, o.FirstPause = announced{clock, waiting}, time.Nanosecond
	})
	until := <-waiting
	if n := server.Logins(); n != 800 {
		t.Errorf("%d sessions begun", n)
	}
	server.Treat(discordserver.Usual, 0)
	clock.Set(until)
	r.mention(t, "hello")
	r.next(t)
}

// announced is a clock that tells when somebody waits for it.
type announced struct {
	bot.Clock
	waiting chan time.Time
}

func (c announced) Wait(ctx context.Context, t time.Time) error {
	select {
	case c.waiting <- t:
	default:
	}
	return c.Clock.Wait(ctx, t)
}

// A payload of a shape that nobody expects is the end of that one only
// (PLATFORMS.md: it arrives with empty fields).
func TestStrangePayloads(t *testing.T) {
	r := start(t, nil, nil)
	for _, strange := range []struct{ kind, data string }{
		{"INTERACTION_CREATE", `"no object"`}, {"INTERACTION_CREATE", `{"id":7}`}, {"INTERACTION_CREATE", `{"type":3,"id":"77","token":"t"}`},
		{"INTERACTION_CREATE", `{"type":3,"id":"77","token":"../../x","member":{"user":{"id":"7"}}}`},
		{"MESSAGE_CREATE", `null`}, {"MESSAGE_CREATE", `{"id":"77","channel_id":"../users"}`}, {"GUILD_CREATE", `[]`}, {"NEWS", `{}`},
	} {
		if err := r.Send(r.ctx, strange.kind, json.RawMessage(strange.data)); err != nil {
			t.Fatal(err)
		}
	}
	r.mention(t, "hello")
	if e := r.next(t); e.Text != "hello" || r.Logins() != 1 {
		t.Errorf("heard %+v after %d logins", e, r.Logins())
	}
	if r.Calls("POST interactions") != 0 {
		t.Error("a strange interaction was answered")
	}
}

// Words in a thread are the thread's, below its channel, whether the thread was
// there before the bot or its parent is asked for.
func TestThreadsAreBelowTheirChannel(t *testing.T) {
	r := start(t, nil, nil)
	p := r.As(discordserver.User)
	if _, err := p.Write(r.ctx, discordserver.Thread, "E4 wedge missing"); err != nil {
		t.Fatal(err)
	}
	want := bot.Address{Platform: discord.Name, Workspace: discordserver.Guild, Channel: discordserver.Other, Thread: discordserver.Thread}
	if e := r.next(t); e.Where != want {
		t.Errorf("heard in %+v, want %+v", e.Where, want)
	}
}

// What the platform makes of a person's words is read back (reference page
// "Message formatting").
func TestWords(t *testing.T) {
	for _, row := range []struct{ name, content, want string }{
		{"another person", "<@77> has the <@!77> hook", "@Ines has the @Ines hook"},
		{"a channel and a role", "<#66> <@&55>", "#channel @role"},
		{"an emoji", "wedge <:broken:1234> <a:spin:99>", "wedge :broken: :spin:"},
		{"a link kept from unfolding", "<https://example.org/a_b>", "https://example.org/a_b"},
		{"a command", "</report:123>", "/report"},
		{"none", "2 < 3 <b> <@x>", "2 < 3 <b> <@x>"},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Parallel()
			r := start(t, nil, nil)
			change := map[string]any{"mentions": []map[string]any{{"id": "77", "username": "ines1", "global_name": "Ines"}}}
			if _, err := r.As(discordserver.User).Write(r.ctx, discordserver.Other, row.content, change); err != nil {
				t.Fatal(err)
			}
			if e := r.next(t); e.Text != row.want {
				t.Errorf("heard %q, want %q", e.Text, row.want)
			}
		})
	}
}

// FuzzPayloads: no payload brings the adapter down, and whatever is handed on is
// complete.
func FuzzPayloads(f *testing.F) {
	kinds := []string{"MESSAGE_CREATE", "MESSAGE_UPDATE", "MESSAGE_DELETE", "MESSAGE_REACTION_ADD", "INTERACTION_CREATE", "GUILD_CREATE", "THREAD_CREATE", "THREAD_LIST_SYNC"}
	f.Add(0, `{"id":"77","channel_id":"`+discordserver.Other+`","guild_id":"`+discordserver.Guild+`","author":{"id":"7"},"content":"<@8> queue","mentions":[{}]}`)
	f.Add(1, `{"id":"77","channel_id":"5","edited_timestamp":"2026-11-27T20:00:00.000000+00:00","author":{"id":"7"},"content":"x"}`)
	f.Add(4, `{"id":"77","token":"t","type":2,"member":{"user":{"id":"7"}},"data":{"name":"Report this","type":3,"target_id":"5","resolved":{"messages":{"5":{"content":"x"}}}}}`)
	f.Add(4, `{"id":"77","token":"t","type":5,"user":{"id":"7"},"data":{"custom_id":"a|b","components":[{"components":[{"custom_id":"x","values":[]}]}]}}`)
	f.Add(6, `{"id":"5","type":11,"parent_id":"6","guild_id":"7"}`)
	server := discordserver.Start()
	f.Cleanup(server.Close)
	events := make(chan bot.Event, 100)
	a, err := discord.New(discord.Options{Token: discordserver.Token, API: server.URL(), Directory: directory, Log: discard, Prompter: prompter{}})
	if err != nil {
		f.Fatal(err)
	}
	done := make(chan error, 1)
	ctx, end := context.WithCancel(context.Background())
	go func() { done <- a.Run(ctx, handlerFunc(func(e bot.Event) { events <- e })) }()
	f.Cleanup(func() { end(); <-done })
	f.Fuzz(func(t *testing.T, kind int, data string) {
		if !json.Valid([]byte(data)) || kind < 0 {
			return
		}
		if err := server.Send(t.Context(), kinds[kind%len(kinds)], json.RawMessage(data)); err != nil {
			t.Fatal(err)
		}
		if _, err := server.As(discordserver.User).Mention(t.Context(), discordserver.Channel, "that was it"); err != nil {
			t.Fatal(err)
		}
		for e := range events {
			if e.Text == "that was it" {
				return
			}
			if e.ID == "" || e.From.ID == "" || e.Department == "" || e.At.IsZero() || e.Where.Platform != discord.Name || !slices.Contains(everyKind(), e.Kind) {
				t.Errorf("not complete: %+v", e)
			}
		}
	})
}

// handlerFunc is a handler that stores everything.
type handlerFunc func(bot.Event)

func (f handlerFunc) Handle(_ context.Context, e bot.Event) error { f(e); return nil }

func everyKind() []bot.EventKind {
	return []bot.EventKind{bot.Said, bot.Pressed, bot.Submitted, bot.Edited, bot.Deleted, bot.Reacted, bot.Shared}
}
