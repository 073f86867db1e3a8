package slack

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/slack-go/slack"

	"kitbell/bot"
)

// leastScopes are what the bot works with, and wideScopes what listening adds.
func leastScopes() []string {
	return []string{"app_mentions:read", "channels:read", "chat:write", "commands", "files:write", "groups:read", "im:history"}
}

func wideScopes() []string {
	return []string{"channels:history", "files:read", "groups:history", "reactions:read"}
}

// trialAhead is how far ahead the message is put by which Preflight learns
// whether it may post. It is taken back at once (reference page
// "chat.scheduleMessage": at most 120 days).
const trialAhead = 100 * 24 * time.Hour

// Preflight looks at the tokens, the scopes, and whether the bot may post in each
// of the channels and upload pictures. Nothing is shown to anybody. It blocks for
// the network.
func (a *Adapter) Preflight(ctx context.Context, channels []bot.Address) []bot.Finding {
	findings := a.checkAppToken(ctx)
	var workspaces []string
	for _, c := range channels {
		if !slices.Contains(workspaces, c.Workspace) {
			workspaces = append(workspaces, c.Workspace)
		}
	}
	usable := make(map[string]bool)
	for _, w := range workspaces {
		found, ok := a.checkBotToken(ctx, w, channels)
		findings, usable[w] = append(findings, found...), ok
	}
	for _, c := range channels {
		if usable[c.Workspace] {
			findings = append(findings, a.checkPost(ctx, c), a.checkWhoReads(ctx, c))
		}
	}
	return findings
}

// finding is what came of a look: err nil is well.
func (a *Adapter) finding(what string, err error) bot.Finding {
	f := bot.Finding{What: what, OK: err == nil}
	var refused slack.SlackErrorResponse
	switch {
	case err == nil:
	case errors.As(err, &refused):
		f.Fix = fix(refused)
	default:
		f.Fix = "the platform was not reached: " + a.translate(err, true).Error()
	}
	return f
}

func (a *Adapter) checkAppToken(ctx context.Context) []bot.Finding {
	if a.options.AppToken == "" {
		return nil // HTTP brings the events
	}
	const what = "app token"
	if !strings.HasPrefix(a.options.AppToken, "xapp-") {
		return []bot.Finding{{What: what, Fix: "it begins with xapp-: take it from Basic Information, App-Level Tokens"}}
	}
	client := slack.New(a.options.Token, slack.OptionAppLevelToken(a.options.AppToken), slack.OptionAPIURL(a.options.API), slack.OptionHTTPClient(a.client))
	_, _, err := client.StartSocketModeContext(ctx)
	return []bot.Finding{a.finding(what, err)}
}

// checkBotToken looks at a workspace's token and its scopes; ok says that it can
// be used.
func (a *Adapter) checkBotToken(ctx context.Context, workspace string, channels []bot.Address) (findings []bot.Finding, ok bool) {
	what := "bot token for workspace " + workspace
	if _, err := a.api(workspace); err != nil {
		return []bot.Finding{{What: what, Fix: err.Error()}}, false
	}
	token := a.tokenOf(workspace)
	if !strings.HasPrefix(token, "xoxb-") {
		return []bot.Finding{{What: what, Fix: "it begins with xoxb-: take it from OAuth & Permissions"}}, false
	}
	var scopes string
	client := slack.New(token, slack.OptionAPIURL(a.options.API), slack.OptionHTTPClient(a.client),
		slack.OptionOnResponseHeaders(func(_ string, h http.Header) { scopes = h.Get("X-OAuth-Scopes") }))
	who, err := client.AuthTestContext(ctx)
	if err == nil && who.TeamID != workspace {
		return []bot.Finding{{What: what, Fix: "it is for workspace " + who.TeamID + ": put that id into the file, or take the other workspace's token"}}, false
	}
	if err != nil {
		return []bot.Finding{a.finding(what, err)}, false
	}
	granted := scopes // of this answer: not every one says them
	_, uploadErr := client.GetUploadURLExternalContext(ctx, slack.GetUploadURLExternalParameters{FileName: "drawing.png", FileSize: 1})
	return []bot.Finding{
		{What: what, OK: true}, a.checkScopes(granted, channels), a.finding("upload pictures", uploadErr),
	}, true
}

// checkScopes holds what was granted to what is needed.
func (a *Adapter) checkScopes(granted string, channels []bot.Address) bot.Finding {
	needed := leastScopes()
	if slices.ContainsFunc(channels, func(c bot.Address) bool { p, ok := a.options.Directory(c, ""); return ok && p.Listen }) {
		needed = append(needed, wideScopes()...)
	}
	var have []string
	for scope := range strings.SplitSeq(granted, ",") {
		have = append(have, strings.TrimSpace(scope))
	}
	missing := slices.DeleteFunc(needed, func(s string) bool { return slices.Contains(have, s) })
	f := bot.Finding{What: "scopes", OK: len(missing) == 0}
	if !f.OK {
		f.Fix = "add " + strings.Join(missing, ", ") + " under OAuth & Permissions, and install the app again"
	}
	return f
}

// checkPost learns whether the bot may post in a channel.
func (a *Adapter) checkPost(ctx context.Context, c bot.Address) bot.Finding {
	what := "post in channel " + c.Channel
	api, err := a.api(c.Workspace)
	if err != nil {
		return bot.Finding{What: what, Fix: err.Error()}
	}
	at := strconv.FormatInt(time.Now().Add(trialAhead).Unix(), 10)
	channel, id, err := api.ScheduleMessageContext(ctx, c.Channel, at, slack.MsgOptionText("A look at whether I may post here.", false))
	if err != nil {
		return a.finding(what, err)
	}
	if _, err := api.DeleteScheduledMessageContext(ctx, &slack.DeleteScheduledMessageParameters{Channel: channel, ScheduledMessageID: id}); err != nil {
		return bot.Finding{What: what, Fix: fmt.Sprintf("I may post, but could not take back the message that I put %d days ahead: delete it under the app's scheduled messages", int(trialAhead.Hours()/24))}
	}
	return bot.Finding{What: what, OK: true}
}
