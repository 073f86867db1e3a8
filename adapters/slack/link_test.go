package slack_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"kitbell/adapters/adaptertest/slackserver"
	"kitbell/adapters/slack"
	"kitbell/bot"
)

// A link that the platform takes away, or that breaks, is opened again, and
// what is said then is heard.
func TestLinkComesBack(t *testing.T) {
	for _, row := range []struct {
		name   string
		breaks func(r *running)
	}{
		{"told that it will go", func(r *running) { r.Disconnect("warning") }},
		{"told to refresh", func(r *running) { r.Disconnect("refresh_requested") }},
		{"told that links are off", func(r *running) { r.Disconnect("link_disabled") }},
		{"cut with no word", func(r *running) { r.Cut() }},
		{"server busy at the first try", func(r *running) {
			r.Fail("apps.connections.open", slackserver.Failure{Status: 503})
			r.Cut()
		}},
		{"told to wait at the first try", func(r *running) {
			r.Fail("apps.connections.open", slackserver.Failure{Status: 429, After: "0"})
			r.Cut()
		}},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Parallel()
			r := start(t, nil, nil)
			r.mention(t, "before")
			if e := r.next(t); e.Text != "before" {
				t.Fatalf("heard %+v", e)
			}
			opened := r.Opened()
			row.breaks(r)
			if err := r.AwaitThat(r.ctx, func() bool { return r.Opened() > opened && r.Links() == 1 }); err != nil {
				t.Fatal(err)
			}
			r.mention(t, "after")
			for r.next(t).Text != "after" { // what was not acknowledged may come twice
			}
		})
	}
}

// Two links are held, and a payload may come over either (PLATFORMS.md).
func TestTwoLinks(t *testing.T) {
	r := start(t, nil, func(o *slack.Options) { o.Links, o.Stagger = 2, 1 })
	if err := r.AwaitLinks(r.ctx, 2); err != nil {
		t.Fatal(err)
	}
	for i := range 10 {
		r.mention(t, fmt.Sprint("message ", i))
	}
	seen := make(map[string]bool)
	for range 10 {
		seen[r.next(t).Text] = true
	}
	if len(seen) != 10 {
		t.Errorf("heard %v", seen)
	}
}

// What only a person can mend ends the run, with what to do. The library itself
// would try for ever on the last three (PLATFORMS.md).
func TestHopelessTokens(t *testing.T) {
	for _, row := range []struct{ word, fix string }{
		{"invalid_auth", "take a new one"},
		{"account_inactive", "install it again"},
		{"not_authed", "take a new one"},
		{"token_revoked", "take a new one"},
		{"token_expired", "take a new one"},
		{"not_allowed_token_type", "xapp-"},
		{"missing_scope", "add it under OAuth"},
	} {
		t.Run(row.word, func(t *testing.T) {
			t.Parallel()
			server := slackserver.Start()
			defer server.Close()
			server.Fail("apps.connections.open", slackserver.Failure{Error: row.word})
			err := open(t, server, nil).Run(t.Context(), nil)
			if err == nil || !strings.Contains(err.Error(), row.fix) || strings.Contains(err.Error(), slackserver.AppToken) {
				t.Errorf("Run gave %v, want the fix %q and no token", err, row.fix)
			}
		})
	}
}

// While the disk is slow nothing is acknowledged and nothing is lost. With an
// undrained library 33 of 80 envelopes were lost (PLATFORMS.md, measured).
func TestSlowDiskLosesNothing(t *testing.T) {
	const messages = 80
	release := make(chan struct{})
	r := start(t, func(bot.Event) error { <-release; return nil }, nil)
	var envelopes []string
	for i := range messages {
		envelopes = append(envelopes, r.mention(t, fmt.Sprint("message ", i)))
	}
	if _, ok := r.Acked(envelopes[0]); ok {
		t.Error("acknowledged before it was stored")
	}
	close(release)
	for i, id := range envelopes {
		if err := r.AwaitAck(r.ctx, id); err != nil {
			t.Fatal(err)
		}
		if e := r.next(t); e.Text != fmt.Sprint("message ", i) {
			t.Errorf("message %d is %q", i, e.Text)
		}
	}
}

// An event that was not stored, and of which nobody could be told, is not
// acknowledged: the platform's retry may be the only delivery.
func TestUnstoredComesAgain(t *testing.T) {
	broken := true
	r := start(t, func(bot.Event) error {
		if broken {
			return errors.New("disk is gone")
		}
		return nil
	}, nil)
	r.Fail("chat.postEphemeral", slackserver.Failure{Status: 500})
	first := r.mention(t, "wedge missing")
	r.next(t)
	second := r.mention(t, "told")
	r.next(t)
	if err := r.AwaitAck(r.ctx, second); err != nil { // this one heard of the trouble
		t.Fatal(err)
	}
	if _, ok := r.Acked(first); ok {
		t.Error("acknowledged, though nobody knows of it")
	}
}

// An envelope that nobody can read is acknowledged, or it would come for ever.
func TestUnreadableEnvelope(t *testing.T) {
	r := start(t, nil, nil)
	if err := r.AwaitLinks(r.ctx, 1); err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{
		`{"envelope_id":"bad1","type":"events_api","payload":{"type":"event_callback","event":"none"}}`,
		`{"envelope_id":"bad2","type":"interactive","payload":{"type":7}}`,
		`{"envelope_id":"bad3","type":"slash_commands","payload":[]}`,
	} {
		if err := r.SendRaw(r.ctx, text); err != nil {
			t.Fatal(err)
		}
	}
	for _, id := range []string{"bad1", "bad2", "bad3"} {
		if err := r.AwaitAck(r.ctx, id); err != nil {
			t.Error(err)
		}
	}
	r.mention(t, "still here")
	if e := r.next(t); e.Text != "still here" {
		t.Errorf("heard %+v", e)
	}
}

// Ready follows the links.
func TestReady(t *testing.T) {
	r := start(t, nil, nil)
	r.mention(t, "hello")
	r.next(t)
	if !r.adapter.Ready() {
		t.Error("not ready with a link that brings events")
	}
	if open(t, r.Server, nil).Ready() {
		t.Error("ready before it runs")
	}
}

func (r *running) mention(t *testing.T, text string) (envelope string) {
	t.Helper()
	envelope, _, err := r.As(slackserver.User).Mention(r.ctx, slackserver.Channel, text)
	if err != nil {
		t.Fatal(err)
	}
	return envelope
}
