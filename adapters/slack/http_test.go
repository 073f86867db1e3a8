package slack_test

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"kitbell/adapters/adaptertest"
	"kitbell/adapters/adaptertest/slackserver"
	"kitbell/adapters/slack"
	"kitbell/bot"
)

var discard = slog.New(slog.DiscardHandler)

const secret = "8f742231b10e"

// sign signs a body as the platform does: HMAC-SHA256 over v0:time:body
// (reference page "Verifying requests", PLATFORMS.md).
func sign(body string, at time.Time) http.Header {
	mac := hmac.New(sha256.New, []byte(secret))
	fmt.Fprintf(mac, "v0:%d:%s", at.Unix(), body)
	h := http.Header{}
	h.Set("X-Slack-Request-Timestamp", fmt.Sprint(at.Unix()))
	h.Set("X-Slack-Signature", "v0="+hex.EncodeToString(mac.Sum(nil)))
	return h
}

const mention = `{"type":"event_callback","team_id":"T1","event_id":"Ev1","authorizations":[{"user_id":"UBOT","is_bot":true}],` +
	`"event":{"type":"app_mention","user":"U1","text":"<@UBOT> queue","ts":"1790000001.000100","channel":"C1"}}`

// Each endpoint takes only what the platform signed lately, of a size that it
// sends.
func TestEndpoints(t *testing.T) {
	now := time.Now()
	press := "payload=" + url.QueryEscape(`{"type":"block_actions","trigger_id":"t1","team":{"id":"T1"},"user":{"id":"U1"},"channel":{"id":"C1"},"actions":[{"value":"queue:","action_ts":"1790000001.0001"}]}`)
	command := "team_id=T1&channel_id=C1&user_id=U1&text=queue&trigger_id=t2&response_url=" + url.QueryEscape("https://example.org/r")
	for _, row := range []struct {
		name, path, body string
		header           http.Header
		status, events   int
		answer           string
	}{
		{"an event", "events", mention, sign(mention, now), 200, 1, ""},
		{"a press", "interactions", press, sign(press, now), 200, 1, ""},
		{"a command", "commands", command, sign(command, now), 200, 1, ""},
		{"the platform's first call", "events", `{"type":"url_verification","challenge":"abc"}`, sign(`{"type":"url_verification","challenge":"abc"}`, now), 200, 0, "abc"},
		{"no signature", "events", mention, http.Header{}, 401, 0, ""},
		{"another body's signature", "events", mention, sign("{}", now), 401, 0, ""},
		{"six minutes old", "events", mention, sign(mention, now.Add(-6*time.Minute)), 401, 0, ""},
		{"six minutes ahead", "events", mention, sign(mention, now.Add(6*time.Minute)), 401, 0, ""},
		{"four minutes old", "events", mention, sign(mention, now.Add(-4*time.Minute)), 200, 1, ""},
		{"too large", "events", strings.Repeat(" ", 2<<20), sign(strings.Repeat(" ", 2<<20), now), 413, 0, ""},
		{"signed nonsense", "events", "}", sign("}", now), 200, 0, ""},
		{"a form with no payload", "interactions", "a=b", sign("a=b", now), 400, 0, ""},
		{"a wrong path", "other", mention, sign(mention, now), 404, 0, ""},
	} {
		t.Run(row.name, func(t *testing.T) {
			h := adaptertest.NewHandler(nil)
			response := call(t, h, "POST", row.path, row.body, row.header)
			if response.Code != row.status || h.Left() != row.events || row.answer != "" && response.Body.String() != row.answer {
				t.Errorf("status %d, %d events, answer %q", response.Code, h.Left(), response.Body)
			}
		})
	}
	if response := call(t, adaptertest.NewHandler(nil), "GET", "events", "", sign("", now)); response.Code != 405 {
		t.Errorf("GET gave %d", response.Code)
	}
}

// What was not stored is answered so that the platform brings it again.
func TestUnstoredOverHTTP(t *testing.T) {
	h := adaptertest.NewHandler(func(bot.Event) error { return errors.New("disk is gone") })
	if response := call(t, h, "POST", "events", mention, sign(mention, time.Now())); response.Code != 500 {
		t.Errorf("status %d", response.Code)
	}
}

func call(t *testing.T, h bot.Handler, method, path, body string, header http.Header) *httptest.ResponseRecorder {
	t.Helper()
	server := slackserver.Start()
	defer server.Close()
	server.Fail("chat.postEphemeral", slackserver.Failure{Status: 500})
	a := open(t, server, func(o *slack.Options) { o.AppToken, o.SigningSecret = "", secret })
	request := httptest.NewRequest(method, "/slack/"+path, strings.NewReader(body))
	for k, v := range header {
		request.Header[k] = v
	}
	response := httptest.NewRecorder()
	a.Endpoints("/slack", h).ServeHTTP(response, request)
	_, _ = io.Copy(io.Discard, response.Result().Body)
	return response
}

// FuzzEvents: no body that the platform could have signed brings the adapter
// down, and whatever is handed on is complete.
func FuzzEvents(f *testing.F) {
	f.Add(mention)
	f.Add(`{"type":"event_callback","team_id":"T1","event":{"type":"message","subtype":"message_changed","message":null,"previous_message":null}}`)
	f.Add(`{"type":"event_callback","team_id":"T1","event":{"type":"reaction_added","channel":{"id":"C1"},"item":{}}}`)
	server := slackserver.Start()
	defer server.Close()
	a, err := slack.New(slack.Options{Token: slackserver.BotToken, SigningSecret: secret, API: server.URL(), Directory: directory, Log: discard})
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, body string) {
		for _, path := range []string{"events", "interactions"} {
			sent := body
			if path == "interactions" {
				sent = "payload=" + url.QueryEscape(body)
			}
			request := httptest.NewRequest("POST", "/slack/"+path, strings.NewReader(sent))
			request.Header = sign(sent, time.Now())
			h := adaptertest.NewHandler(func(e bot.Event) error {
				if e.ID == "" || e.From.ID == "" || e.Department == "" || e.At.IsZero() || e.Where.Platform != slack.Name {
					t.Errorf("not complete: %+v", e)
				}
				return nil
			})
			a.Endpoints("/slack", h).ServeHTTP(httptest.NewRecorder(), request)
		}
	})
}
