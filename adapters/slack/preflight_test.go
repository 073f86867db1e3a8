package slack_test

import (
	"strings"
	"testing"

	"kitbell/adapters/adaptertest/slackserver"
	"kitbell/adapters/slack"
	"kitbell/bot"
)

// Each thing that can be missing is found, with what to do, and nobody sees the
// look.
func TestPreflight(t *testing.T) {
	listening := here
	listening.Channel = slackserver.Other
	for _, row := range []struct {
		name    string
		change  func(*slack.Options)
		breaks  func(*slackserver.Server)
		channel bot.Address
		fix     string // empty: all is well
	}{
		{"all is well", nil, nil, here, ""},
		{"the bot's token as the app's", func(o *slack.Options) { o.AppToken = slackserver.BotToken }, nil, here, "xapp-"},
		{"another kind of bot token", func(o *slack.Options) { o.Token = "xoxp-1" }, nil, here, "xoxb-"},
		{"a token that was taken back", nil, func(s *slackserver.Server) { s.Fail("auth.test", slackserver.Failure{Error: "token_revoked"}) }, here, "take a new one"},
		{"a scope missing", nil, func(s *slackserver.Server) { s.Grant("chat:write,commands,app_mentions:read,im:history") }, here, "files:write"},
		{"listening without its scopes", nil, nil, listening, "channels:history"},
		{"not invited", nil, func(s *slackserver.Server) {
			s.Fail("chat.scheduleMessage", slackserver.Failure{Error: "not_in_channel"})
		}, here, "/invite"},
		{"no uploads", nil, func(s *slackserver.Server) {
			s.Fail("files.getUploadURLExternal", slackserver.Failure{Error: "missing_scope"})
		}, here, "add it under OAuth"},
	} {
		t.Run(row.name, func(t *testing.T) {
			server := slackserver.Start()
			defer server.Close()
			if row.breaks != nil {
				row.breaks(server)
			}
			var wrong []string
			for _, f := range open(t, server, row.change).Preflight(t.Context(), []bot.Address{row.channel}) {
				if !f.OK {
					wrong = append(wrong, f.What+": "+f.Fix)
				}
			}
			if len(server.Messages()) > 0 || row.fix == "" && len(wrong) > 0 || row.fix != "" && (len(wrong) != 1 || !strings.Contains(wrong[0], row.fix)) {
				t.Errorf("found %q, want %q", wrong, row.fix)
			}
		})
	}
}
