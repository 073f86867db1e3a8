package main

import (
	"bytes"
	"encoding/json"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

func printed(t *testing.T, want int, args ...string) string {
	t.Helper()
	var out bytes.Buffer
	if code := dispatch(t.Context(), args, streams{strings.NewReader(""), &out, &out}); code != want {
		t.Fatalf("%v: exit code %d: %s", args, code, out.String())
	}
	return out.String()
}

// The manifest has the least scopes (PLATFORMS.md names them), and those of
// listening only when it is asked for.
func TestSlackManifest(t *testing.T) {
	type manifest struct {
		OAuth struct {
			Scopes struct {
				Bot []string `json:"bot"`
			} `json:"scopes"`
		} `json:"oauth_config"`
		Settings struct {
			Socket bool `json:"socket_mode_enabled"`
			Events struct {
				URL string `json:"request_url"`
			} `json:"event_subscriptions"`
		} `json:"settings"`
	}
	for _, row := range []struct {
		args   []string
		scopes int
		socket bool
		url    string
	}{
		{nil, 7, true, ""},
		{[]string{"--listening"}, 11, true, ""},
		{[]string{"--http", "https://kit.example.org/"}, 7, false, "https://kit.example.org/slack/events"},
	} {
		var m manifest
		if err := json.Unmarshal([]byte(printed(t, exitOK, append([]string{"slack", "manifest"}, row.args...)...)), &m); err != nil {
			t.Fatal(err)
		}
		least := []string{"channels:read", "groups:read", "commands", "chat:write", "app_mentions:read", "im:history", "files:write"}
		for _, scope := range least {
			if !slices.Contains(m.OAuth.Scopes.Bot, scope) {
				t.Errorf("%v: no scope %s", row.args, scope)
			}
		}
		if len(m.OAuth.Scopes.Bot) != row.scopes || m.Settings.Socket != row.socket || m.Settings.Events.URL != row.url {
			t.Errorf("%v: %+v", row.args, m)
		}
	}
	printed(t, exitUsage, "slack")
	printed(t, exitUsage, "slack", "manifest", "--http", "http://kit.example.org")
}

func TestDiscordInvite(t *testing.T) {
	link := printed(t, exitOK, "discord", "invite", "9000000000000000001")
	if !strings.Contains(link, "client_id=9000000000000000001") || strings.Contains(link, "permissions=8&") {
		t.Error(link)
	}
	printed(t, exitError, "discord", "invite", "abc")
	printed(t, exitUsage, "discord")
}

func TestService(t *testing.T) {
	dir := filepath.Join(t.TempDir(), `50% of $HOME "and\more"`)
	printed(t, exitOK, "init", dir)
	unit := printed(t, exitOK, "service", "-c", dir)
	for _, want := range []string{`/50%% of $$HOME \"and\\more\""`, `ReadWritePaths="`, `/50%% of $HOME \"and\\more\""`, "run -c \"/", "TimeoutStopSec=10", "ExecReload=/bin/kill -HUP", "EnvironmentFile="} {
		if !strings.Contains(unit, want) {
			t.Errorf("no %q in:\n%s", want, unit)
		}
	}
	printed(t, exitUsage, "service")
	printed(t, exitError, "service", "-c", filepath.Join(dir, "nowhere"))
}
