package discord

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/bwmarrin/discordgo"

	"kitbell/bot"
)

// needed are the permissions that the bot asks for, and no more (reference page
// "Permissions"): see a channel, write in it and in its threads, make a thread,
// attach drawings, show a text in an embed that is too long without, and read
// what it missed.
func needed() []permission {
	return []permission{
		{"View Channel", discordgo.PermissionViewChannel},
		{"Send Messages", discordgo.PermissionSendMessages},
		{"Embed Links", discordgo.PermissionEmbedLinks},
		{"Attach Files", discordgo.PermissionAttachFiles},
		{"Read Message History", discordgo.PermissionReadMessageHistory},
		{"Create Public Threads", discordgo.PermissionCreatePublicThreads},
		{"Send Messages in Threads", discordgo.PermissionSendMessagesInThreads},
	}
}

type permission struct {
	name string
	bit  int64
}

// Invite is the link with which somebody who may manage a guild lets the bot in,
// with the least permissions that it needs.
func Invite(applicationID string) string {
	all := int64(0)
	for _, p := range needed() {
		all |= p.bit
	}
	q := url.Values{"client_id": {applicationID}, "scope": {"bot applications.commands"}, "permissions": {strconv.FormatInt(all, 10)}}
	return "https://discord.com/oauth2/authorize?" + q.Encode()
}

// Preflight looks at the token, the intents, the HTTP endpoint, every guild and
// every channel, and changes nothing. It blocks for the network.
func (a *Adapter) Preflight(ctx context.Context) []bot.Finding {
	app, findings := a.checkToken(ctx)
	if app.ID == "" {
		return findings
	}
	findings = append(findings, a.checkIntents(app), a.checkEndpoint(app))
	guilds := make(map[string]guildView)
	for _, id := range a.options.Guilds() {
		view, finding := a.checkGuild(ctx, id, app)
		guilds[id] = view
		findings = append(findings, finding)
	}
	for _, id := range a.options.Channels() {
		findings = append(findings, a.checkChannel(ctx, id, guilds))
	}
	return findings
}

// applicationView is what the application's page says of itself.
type applicationView struct {
	ID       string `json:"id"`
	Name     string `json:"name"`
	Flags    int    `json:"flags"`
	Endpoint string `json:"interactions_endpoint_url"`
	Key      string `json:"verify_key"`
	Bot      user   `json:"bot"`
}

func (a *Adapter) checkToken(ctx context.Context) (applicationView, []bot.Finding) {
	var app applicationView
	err := a.do(ctx, request{method: http.MethodGet, path: "applications/@me"}, &app)
	if err == nil && app.Bot.ID == "" {
		err = a.do(ctx, request{method: http.MethodGet, path: "users/@me"}, &app.Bot)
	}
	if err != nil {
		return applicationView{}, []bot.Finding{{What: "token", Fix: err.Error()}}
	}
	a.know(app.ID, app.Bot.ID)
	return app, []bot.Finding{{What: "token: of the application " + app.Name, OK: true}}
}

// checkIntents looks whether the message-content intent is on (reference page
// "Application", flags 18 and 19).
func (a *Adapter) checkIntents(app applicationView) bot.Finding {
	on := app.Flags&(1<<18|1<<19) != 0
	switch {
	case a.options.Listening && !on:
		return bot.Finding{
			What: "message-content intent: off, and a channel is opened to listening",
			Fix:  "turn Message Content Intent on, under Bot, Privileged Gateway Intents; or take listen out of the file",
		}
	case a.options.Listening:
		return bot.Finding{What: "message-content intent: on, for listening", OK: true}
	}
	return bot.Finding{What: "message-content intent: not asked for", OK: true}
}

func (a *Adapter) checkEndpoint(app applicationView) bot.Finding {
	switch {
	case app.Endpoint != "" && len(a.key) == 0:
		return bot.Finding{
			What: "interactions endpoint: set, and no public key is",
			Fix:  "set the public key, or clear Interactions Endpoint URL on the application's page: commands and presses do not arrive",
		}
	case len(a.key) > 0 && app.Key != "" && !strings.EqualFold(app.Key, a.options.PublicKey):
		return bot.Finding{What: "public key: another application's", Fix: "copy Public Key from the application's page, General Information"}
	case app.Endpoint != "":
		return bot.Finding{What: "interactions: over HTTP", OK: true}
	}
	return bot.Finding{What: "interactions: over the link", OK: true}
}

// guildView is what the bot may do in a guild.
type guildView struct {
	ID    string `json:"id"`
	Name  string `json:"name"`
	Owner string `json:"owner_id"`
	Roles []struct {
		ID          string `json:"id"`
		Permissions string `json:"permissions"`
	} `json:"roles"`
	self  string
	roles []string // of the bot
}

func (a *Adapter) checkGuild(ctx context.Context, id string, app applicationView) (guildView, bot.Finding) {
	var view guildView
	var member struct {
		Roles []string `json:"roles"`
	}
	err := a.do(ctx, request{method: http.MethodGet, path: "guilds/" + id}, &view)
	if err == nil {
		err = a.do(ctx, request{method: http.MethodGet, path: "guilds/" + id + "/members/" + app.Bot.ID}, &member)
	}
	if errors.Is(err, bot.ErrNotFound) {
		return guildView{}, bot.Finding{What: "guild " + id + ": the bot is not in it", Fix: "open " + Invite(app.ID) + " and choose it, or mend its id in the file"}
	}
	if err != nil {
		return guildView{}, bot.Finding{What: "guild " + id, Fix: err.Error()}
	}
	view.self, view.roles = app.Bot.ID, member.Roles
	return view, bot.Finding{What: "guild " + view.Name, OK: true}
}

func (a *Adapter) checkChannel(ctx context.Context, id string, guilds map[string]guildView) bot.Finding {
	var c channel
	err := a.do(ctx, request{method: http.MethodGet, path: "channels/" + id}, &c)
	what := "channel " + id
	if err != nil {
		return bot.Finding{What: what, Fix: err.Error()}
	}
	if c.Name != "" {
		what += " (#" + c.Name + ")"
	}
	view, ok := guilds[c.Guild]
	if !ok {
		return bot.Finding{What: what, Fix: "it is in guild " + c.Guild + ": write that as the channel's workspace in the file"}
	}
	if missing := missingIn(view, c); len(missing) > 0 {
		return bot.Finding{What: what, Fix: "give the bot's role there: " + strings.Join(missing, ", ")}
	}
	return bot.Finding{What: what + ": can see, post and attach", OK: true}
}

// missingIn lists the permissions that the bot lacks in a channel (reference page
// "Permissions": everyone's, the roles', then the channel's overwrites).
func missingIn(view guildView, c channel) []string {
	has := view.base()
	if has&discordgo.PermissionAdministrator != 0 || view.Owner == view.self && view.self != "" {
		return nil
	}
	has = view.overwritten(has, c)
	var missing []string
	for _, p := range needed() {
		if has&p.bit == 0 {
			missing = append(missing, p.name)
		}
	}
	return missing
}

func (v guildView) has(role string) bool {
	if role == v.ID {
		return true // everyone
	}
	for _, r := range v.roles {
		if r == role {
			return true
		}
	}
	return false
}

func (v guildView) base() int64 {
	has := int64(0)
	for _, r := range v.Roles {
		if v.has(r.ID) {
			has |= bits(r.Permissions)
		}
	}
	return has
}

func (v guildView) overwritten(has int64, c channel) int64 {
	var allow, deny int64
	for _, o := range c.Override {
		switch {
		case o.ID == v.ID:
			has = has&^bits(o.Deny) | bits(o.Allow)
		case o.Type == 0 && v.has(o.ID):
			allow, deny = allow|bits(o.Allow), deny|bits(o.Deny)
		}
	}
	has = has&^deny | allow
	for _, o := range c.Override {
		if o.Type == 1 && o.ID == v.self {
			has = has&^bits(o.Deny) | bits(o.Allow)
		}
	}
	return has
}

func bits(text string) int64 {
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return 0
	}
	return n
}
