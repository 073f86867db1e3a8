package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"kitbell/adapters/adaptertest/discordserver"
	"kitbell/adapters/adaptertest/slackserver"
	"kitbell/bot/department"
)

// channelsFile is the file that init writes, for a slug, with channels of its
// own and a lead who has accounts.
func channelsFile(slug, channels, accounts, servers string) string {
	file := strings.Replace(string(department.Start("dept")), "department: dept", "department: "+slug, 1)
	file = regexp.MustCompile(`(?m)^channels:\n(  - .*\n)+`).ReplaceAllString(file, "channels:\n"+channels+servers)
	return strings.Replace(file, "unit: engine-1, platoon: A}", "unit: engine-1, platoon: A, accounts: "+accounts+"}", 1)
}

// both is the program at work for two departments on two platforms.
type both struct {
	*atWork
	discord *discordserver.Server
}

func startBoth(t *testing.T) both {
	t.Helper()
	slack, discord := slackserver.Start(), discordserver.Start()
	t.Cleanup(slack.Close)
	t.Cleanup(discord.Close)
	servers := fmt.Sprintf("platforms:\n  - {platform: slack, api: %q}\n  - {platform: discord, api: %q}\n", slack.URL(), discord.URL())
	dir := t.TempDir()
	for slug, file := range map[string]string{
		"north": channelsFile("north", `  - {platform: slack, workspace: T1, id: C1, use: station, station: station-1}
  - {platform: slack, workspace: T1, id: C2, use: programme}
  - {platform: discord, workspace: "`+discordserver.Guild+`", id: "`+discordserver.Channel+`", use: station, station: station-2}
`, `{slack: U1, discord: "`+discordserver.User+`"}`, servers),
		"south": channelsFile("south", `  - {platform: discord, workspace: "`+discordserver.Guild+`", id: "`+discordserver.Further(1)+`", use: station, station: station-1}
  - {platform: discord, workspace: "`+discordserver.Guild+`", id: "`+discordserver.Further(2)+`", use: programme}
`, `{discord: "7000000000000000002"}`, servers),
	} {
		if err := os.MkdirAll(filepath.Join(dir, slug), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, slug, department.FileName), []byte(file), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	t.Setenv(discordToken, discordserver.Token)
	return both{startAt(t, dir, slack, nil), discord}
}

func (b both) awaitDiscord(t *testing.T, text string) {
	t.Helper()
	if err := b.discord.Await(b.ctx, text); err != nil {
		t.Fatalf("%v\nlog: %s", err, b.out)
	}
}

// Two platforms and two departments work in one run: each message is its own
// department's, whatever the platform.
func TestBothPlatforms(t *testing.T) {
	b := startBoth(t)
	if _, _, err := b.As("U1").Mention(b.ctx, "C1", "E1 is missing a wood wedge"); err != nil {
		t.Fatal(err)
	}
	b.await(t, "#1 Engine 1: wood wedge missing")
	if _, err := b.discord.As(discordserver.User).Mention(b.ctx, discordserver.Channel, "queue"); err != nil {
		t.Fatal(err)
	}
	b.awaitDiscord(t, "#1 Engine 1: wood wedge missing")
	if _, err := b.discord.As("7000000000000000002").Mention(b.ctx, discordserver.Further(1), "queue"); err != nil {
		t.Fatal(err)
	}
	b.awaitDiscord(t, "Nothing open")
	if code := b.stop(); code != exitOK {
		t.Errorf("exit code %d: %s", code, b.out)
	}
	if !strings.Contains(b.out.String(), "stopping") || !strings.Contains(b.out.String(), "stopped") {
		t.Errorf("the log says nothing of the end:\n%s", b.out)
	}
}

// In a channel that no file lists, nothing but a refusal is said, to the person
// alone; in a person's own line everything.
func TestOnlyListedChannels(t *testing.T) {
	w := startServer(t, nil)
	if _, _, err := w.As("U1").Mention(w.ctx, "C95", "how do I use the wood wedge"); err != nil {
		t.Fatal(err)
	}
	w.await(t, "I do not work in this place")
	if _, _, err := w.As("U1").Write(w.ctx, slackserver.Direct, "how do I use the wood wedge"); err != nil {
		t.Fatal(err)
	}
	w.await(t, "[More]")
	for _, m := range w.Messages() {
		if m.Channel == "C95" && (m.Only == "" || strings.Contains(m.Text, "wedge")) {
			t.Errorf("in a channel that is not listed: %+v", m)
		}
	}
}

// A token that is refused while everything runs is told to the lead on the other
// platform, in words for a lead, and shows in readiness; the other platform goes
// on.
func TestRefusedTokenIsToldElsewhere(t *testing.T) {
	b := startBoth(t)
	b.Fail("chat.postMessage", slackserver.Failure{Error: "token_revoked"}, slackserver.Failure{Error: "token_revoked"}, slackserver.Failure{Error: "token_revoked"})
	if _, _, err := b.As("U1").Mention(b.ctx, "C1", "E1 is missing a wood wedge"); err != nil {
		t.Fatal(err)
	}
	b.awaitDiscord(t, "I cannot work on Slack any more")
	shown := b.discord.Shown()
	if !strings.Contains(shown, "Why: the token is not valid any more: take a new one") {
		t.Errorf("said:\n%s", shown)
	}
	if status, body := b.get(t, "/readyz"); status == 200 || !strings.Contains(body, "slack") {
		t.Errorf("readiness: %d %s", status, body)
	}
	for handled := ""; !strings.Contains(handled, `kitbell_events_handled_total{outcome="answered",platform="slack"} 1`); _, handled = b.get(t, "/metrics") {
		if b.ctx.Err() != nil {
			t.Fatalf("the report was not booked: %s", b.out)
		}
	}
	if _, err := b.discord.As(discordserver.User).Mention(b.ctx, discordserver.Channel, "queue"); err != nil {
		t.Fatal(err)
	}
	b.awaitDiscord(t, "wood wedge missing")
}

// However the platforms hang, the program ends within ten seconds, and says what
// may not have arrived when it starts again.
func TestStopsWithinTenSeconds(t *testing.T) {
	b := startBoth(t)
	b.Fail("chat.postMessage", slackserver.Failure{Hang: true}, slackserver.Failure{Hang: true}, slackserver.Failure{Hang: true})
	if _, _, err := b.As("U1").Mention(b.ctx, "C1", "E1 is missing a wood wedge"); err != nil {
		t.Fatal(err)
	}
	if err := b.AwaitThat(b.ctx, func() bool { return b.Calls("chat.postMessage") > 0 }); err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	if code := b.stop(); code != exitOK {
		t.Errorf("exit code %d: %s", code, b.out)
	}
	if took := time.Since(began); took > 10*time.Second {
		t.Errorf("took %v", took)
	}
}

// What a department on chat platforms would not hear is said before it starts.
func TestPreflightSaysWhoIsDeaf(t *testing.T) {
	server := slackserver.Start()
	defer server.Close()
	t.Setenv(slackAppToken, slackserver.AppToken)
	t.Setenv(slackBotToken, slackserver.BotToken)
	servers := fmt.Sprintf("platforms:\n  - {platform: slack, api: %q}\n", server.URL())
	for _, row := range []struct{ name, channels, want string }{
		{"no programme", "  - {platform: slack, workspace: T1, id: C1, use: station, station: station-1}\n", `"use: programme"`},
		{"no officers", "  - {platform: slack, workspace: T1, id: C1, use: station, station: station-1}\n", `nobody is asked who an account is`},
		{"the terminal's channels", "  - {platform: slack, workspace: T1, id: C2, use: programme}\n  - {platform: console, id: station-1, use: station, station: station-1}\n", "get nothing while I work"},
		{"a name for an id", "  - {platform: slack, workspace: T1, id: \"#station\", use: station, station: station-1}\n", `"#station" is no channel's id`},
		{"no workspace", "  - {platform: slack, id: C1, use: station, station: station-1}\n", `needs the key "workspace"`},
		{"a slip in the platform", "  - {platform: slakc, workspace: T1, id: C1, use: station, station: station-1}\n", `did you mean "slack"?`},
	} {
		t.Run(row.name, func(t *testing.T) {
			dir := t.TempDir()
			if err := os.WriteFile(filepath.Join(dir, department.FileName), []byte(channelsFile("north", row.channels, "{slack: U1}", servers)), 0o600); err != nil {
				t.Fatal(err)
			}
			if out := printed(t, exitError, "preflight", "-c", dir); !strings.Contains(out, row.want) {
				t.Errorf("said %s", out)
			}
		})
	}
	for _, accounts := range []string{`{slak: U1}`, `{slack: "@somebody"}`, `{discord: "somebody#1234"}`} {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, department.FileName), []byte(channelsFile("north", "  - {platform: slack, workspace: T1, id: C2, use: programme}\n", accounts, servers)), 0o600); err != nil {
			t.Fatal(err)
		}
		if out := printed(t, exitError, "preflight", "-c", dir); !strings.Contains(out, "department.yaml:") {
			t.Errorf("%s: said %s", accounts, out)
		}
	}
}

// A public key with a slip is named with where it is set and where it comes from.
func TestPublicKeyWithASlip(t *testing.T) {
	dir := t.TempDir()
	channels := fmt.Sprintf("  - {platform: discord, workspace: %q, id: %q, use: programme}\n", discordserver.Guild, discordserver.Channel)
	if err := os.WriteFile(filepath.Join(dir, department.FileName), []byte(channelsFile("north", channels, `{discord: "7000000000000000002"}`, "")), 0o600); err != nil {
		t.Fatal(err)
	}
	t.Setenv(discordToken, "token")
	t.Setenv(discordPublicKey, "abc")
	if out := printed(t, exitError, "run", "-c", dir); !strings.Contains(out, discordPublicKey+" is not 64") {
		t.Errorf("said %s", out)
	}
}
