package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"slices"
	"strings"
	"time"

	"kitbell/adapters/console"
	"kitbell/adapters/discord"
	"kitbell/adapters/slack"
	"kitbell/bot"
	"kitbell/bot/command"
	"kitbell/bot/department"
)

// platform is a chat platform that departments talk on, with what the program
// does beside sending and hearing.
type platform struct {
	chat
	// look asks the platform whether the bot can work there; it blocks for the
	// network.
	look func(ctx context.Context) []bot.Finding
}

// chat is an adapter of a chat platform.
type chat interface {
	bot.Adapter
	// Ready says whether events can come in now. Any goroutine, no I/O.
	Ready() bool
}

// chatPlatforms are the platforms that need a token, in the order in which they
// are started.
func chatPlatforms() []string { return []string{slack.Name, discord.Name} }

// knownPlatforms are the platforms that a department's file may name.
func knownPlatforms() []department.Platform {
	number := department.IDShape{Fits: discord.IsID, Example: "123456789012345678"}
	return []department.Platform{
		{Name: console.Name},
		{
			Name: slack.Name, Workspace: department.IDShape{Fits: slack.IsWorkspace, Example: "T0123456789"},
			Channel: department.IDShape{Fits: slack.IsChannel, Example: "C0123456789"}, Account: department.IDShape{Fits: slack.IsAccount, Example: "U0123456789"},
		},
		{Name: discord.Name, Workspace: number, Channel: number, Account: number},
	}
}

// onlyChat takes the terminal's channels out of a department that works on chat
// platforms: nobody reads them there.
func onlyChat(d *department.Department) {
	d.Channels = slices.DeleteFunc(d.Channels, func(c department.Channel) bool { return !slices.Contains(chatPlatforms(), c.Platform) })
}

// deaf says what a department on chat platforms would not hear or tell.
func deaf(d *department.Department) []string {
	var all []string
	has := func(use department.ChannelUse) bool {
		return slices.ContainsFunc(d.Channels, func(c department.Channel) bool { return c.Use == use && c.Platform != console.Name })
	}
	if !has(department.ProgrammeChannel) {
		all = append(all, `no channel on a chat platform has "use: programme": the digest, and what I have to tell the lead, reach nobody there`)
	}
	if !has(department.ProgrammeChannel) && !has(department.OfficersChannel) {
		all = append(all, `none has "use: officers": nobody is asked who an account is`)
	}
	for _, c := range d.Channels {
		if c.Platform == console.Name {
			all = append(all, "channels on "+console.Name+" get nothing while I work on a chat platform: take them out")
			break
		}
	}
	return all
}

// platformsOf lists the chat platforms whose channels the departments name.
func platformsOf(all []*command.Desk) []string {
	return slices.DeleteFunc(chatPlatforms(), func(name string) bool {
		return !slices.ContainsFunc(all, func(d *command.Desk) bool { return talksOn(d.Department, name) })
	})
}

func talksOn(d *department.Department, platform string) bool {
	return slices.ContainsFunc(d.Channels, func(c department.Channel) bool { return c.Platform == platform })
}

// apiOf is where a platform's API is: the platform's own, or what the files
// say. They must agree, since one adapter serves all departments.
func apiOf(all []*command.Desk, platform string) (string, error) {
	api := ""
	for _, d := range all {
		own, ok := d.Department.Servers[platform]
		switch {
		case !ok:
		case api != "" && own != api:
			return "", &bot.UserError{Say: fmt.Sprintf("The departments name two servers for %s: %s and %s. One run has one.", platform, api, own)}
		default:
			api = own
		}
	}
	return api, nil
}

// connection is what the platforms' adapters share.
type connection struct {
	secrets  *secrets
	desks    *desks
	prompter bot.Prompter
	clock    bot.Clock
	log      *slog.Logger
	count    func(platform, what string)
	lost     func(ctx context.Context, at bot.Address, why string)
	since    time.Time // when the last event came in, for what was missed; zero when nobody knows
}

// openPlatform makes the adapter of a platform. The error says which token is
// missing.
func (c connection) openPlatform(name string) (platform, error) {
	switch name {
	case slack.Name:
		a, err := c.openSlack()
		if err != nil {
			return platform{}, err
		}
		return platform{a, func(ctx context.Context) []bot.Finding { return a.Preflight(ctx, c.addresses(name)) }}, nil
	case discord.Name:
		a, err := c.openDiscord()
		if err != nil {
			return platform{}, err
		}
		return platform{a, a.Preflight}, nil
	}
	return platform{}, fmt.Errorf("platform %s: %w", name, bot.ErrUnsupported)
}

// addresses are the channels of a platform.
func (c connection) addresses(platform string) []bot.Address {
	var all []bot.Address
	for _, d := range c.desks.all() {
		for _, one := range d.Department.Channels {
			if one.Platform == platform {
				all = append(all, one.Address())
			}
		}
	}
	return all
}

// channelIDs gives the ids of a platform's channels as the files are then.
func (c connection) channelIDs(platform string) func() []string {
	return func() []string {
		var ids []string
		for _, a := range c.addresses(platform) {
			ids = append(ids, a.Channel)
		}
		return ids
	}
}

func (c connection) openSlack() (*slack.Adapter, error) {
	o, err := c.slackOptions()
	if err != nil {
		return nil, err
	}
	a, err := slack.New(o)
	if err != nil {
		return nil, fmt.Errorf("open slack: %w", err)
	}
	return a, nil
}

func (c connection) slackOptions() (slack.Options, error) {
	all := c.desks.all()
	o := slack.Options{
		Tokens: make(map[string]string), Directory: c.desks.place, Prompter: c.prompter, Draw: c.desks.draw, Clock: c.clock,
		Channels: func() []bot.Address { return c.addresses(slack.Name) }, Lost: c.lost,
		Log: c.log.With("platform", slack.Name), Count: func(what string) { c.count(slack.Name, what) },
	}
	var errs [5]error
	o.API, errs[0] = apiOf(all, slack.Name)
	o.AppToken, errs[1] = c.secrets.read(slackAppToken)
	o.Token, errs[2] = c.secrets.read(slackBotToken)
	o.SigningSecret, errs[3] = c.secrets.read(slackSigningSecret)
	for _, workspace := range workspacesOf(all, slack.Name) {
		token, err := c.secrets.read(slackBotToken + "_" + workspace)
		if token != "" {
			o.Tokens[workspace] = token
		}
		errs[4] = errors.Join(errs[4], err)
	}
	if err := errors.Join(errs[:]...); err != nil {
		return o, err
	}
	switch {
	case o.Token == "" && len(o.Tokens) == 0:
		return o, &bot.UserError{Say: "A channel is on Slack, and there is no bot token. Set " + slackBotToken + " (it begins with xoxb-), or " + slackBotToken + "_FILE."}
	case o.AppToken == "" && o.SigningSecret == "":
		return o, &bot.UserError{Say: "A channel is on Slack, and nothing brings its events. Set " + slackAppToken + " (it begins with xapp-), or " + slackSigningSecret + " for HTTP."}
	}
	return o, nil
}

func (c connection) openDiscord() (*discord.Adapter, error) {
	all := c.desks.all()
	api, apiErr := apiOf(all, discord.Name)
	bearer, tokenErr := c.secrets.read(discordToken)
	key, keyErr := c.secrets.read(discordPublicKey)
	if err := errors.Join(apiErr, tokenErr, keyErr); err != nil {
		return nil, err
	}
	if bearer == "" {
		return nil, &bot.UserError{Say: "A channel is on Discord, and there is no bot token. Set " + discordToken + ", or " + discordToken + "_FILE."}
	}
	a, err := discord.New(discord.Options{
		Token: bearer, PublicKey: key, API: api, Directory: c.desks.place, Prompter: c.prompter, Draw: c.desks.draw, Clock: c.clock,
		Lost: c.lost, Since: c.since,
		Guilds:    func() []string { return workspacesOf(c.desks.all(), discord.Name) },
		Channels:  c.channelIDs(discord.Name),
		Listening: listens(all, discord.Name), Commands: slashCommands(),
		Log: c.log.With("platform", discord.Name), Count: func(what string) { c.count(discord.Name, what) },
	})
	if errors.Is(err, discord.ErrPublicKey) {
		return nil, &bot.UserError{Say: discordPublicKey + " is not 64 hexadecimal digits. Copy it anew from the application's first page.", Err: err}
	}
	if err != nil {
		return nil, fmt.Errorf("open discord: %w", err)
	}
	return a, nil
}

// slashCommands are what Discord offers while a person types. Each stands for a
// form, or for a sentence.
func slashCommands() []discord.CommandSpec {
	unit := discord.OptionSpec{Name: "unit", Description: "Whose kit", Suggests: "unit"}
	item := discord.OptionSpec{Name: "item", Description: "Which tool", Suggests: "item"}
	text := func(what string) []discord.OptionSpec {
		return []discord.OptionSpec{{Name: "text", Description: what, Required: true}}
	}
	return []discord.CommandSpec{
		{Name: "report", Description: "Report what is missing, broken or worn. With no options: a form.", Form: "report", Options: []discord.OptionSpec{
			unit, item, {Name: "count", Description: "How many"},
			{Name: "state", Description: "What is the matter", Choices: []bot.Choice{{Label: "missing", Value: "missing"}, {Label: "broken", Value: "damaged"}, {Label: "worn", Value: "worn"}, {Label: "dirty", Value: "dirty"}, {Label: "running low", Value: "low"}}},
		}},
		{Name: "ask", Description: "Ask about a tool, a lock or a technique.", Private: true, Options: text("Your question")},
		{Name: "door", Description: "Plan a door: say what you see.", Lead: "door:", Options: text("What you see")},
		{Name: "queue", Description: "See what is open.", Lead: "queue", Options: []discord.OptionSpec{unit}},
		{Name: "kit", Description: "See a rig's kit.", Lead: "kit", Options: []discord.OptionSpec{unit}},
		{Name: "desk", Description: "Anything else, as you would say it.", Options: text("What you want to say")},
		{Name: "help", Description: "See what you can type.", Private: true, Lead: "help"},
	}
}

func listens(all []*command.Desk, platform string) bool {
	return slices.ContainsFunc(all, func(d *command.Desk) bool {
		return slices.ContainsFunc(d.Department.Channels, func(c department.Channel) bool { return c.Platform == platform && c.Listen })
	})
}

func workspacesOf(all []*command.Desk, platform string) []string {
	var ids []string
	for _, d := range all {
		for _, c := range d.Department.Channels {
			if c.Platform == platform && c.Workspace != "" && !slices.Contains(ids, c.Workspace) {
				ids = append(ids, c.Workspace)
			}
		}
	}
	return ids
}

// place finds the department that a place on a platform belongs to: the one
// whose file lists the channel; else, in a person's own line in a workspace that
// a file lists, the one that knows the person, or the only one there. It is a
// bot.Directory.
func (d *desks) place(where bot.Address, person string) (bot.Place, bool) {
	var there []*department.Department
	for _, desk := range d.all() {
		if c, ok := desk.Department.ChannelAt(where); ok {
			return bot.Place{Department: desk.Department.Slug, Listen: c.Listen}, true
		}
		if slices.ContainsFunc(desk.Department.Channels, func(c department.Channel) bool {
			return c.Platform == where.Platform && (c.Workspace == where.Workspace || where.Workspace == "")
		}) {
			there = append(there, desk.Department)
		}
	}
	if inChannel(where) {
		return bot.Place{}, false // somebody invited the bot to a channel that no department calls its own
	}
	slices.SortFunc(there, func(a, b *department.Department) int { return strings.Compare(a.Slug, b.Slug) })
	for _, one := range there {
		if _, ok := one.MemberByAccount(where.Platform, person); ok {
			return bot.Place{Department: one.Slug}, true
		}
	}
	if len(there) == 1 {
		return bot.Place{Department: there[0].Slug}, true
	}
	return bot.Place{}, false
}

// inChannel says whether an address is a channel, and not a person's own line or
// page.
func inChannel(where bot.Address) bool {
	switch where.Platform {
	case slack.Name:
		return slack.IsChannel(where.Channel)
	case discord.Name:
		return where.Workspace != ""
	}
	return false
}

// draw draws a department's picture with its cards as they are now, or one that
// was kept. It is what adapters call, which know no ctx at that point.
func (d *desks) draw(slug, scene string) ([]byte, error) {
	desk, ok := d.desk(slug)
	if !ok {
		return nil, fmt.Errorf("department %s: %w", slug, bot.ErrNotFound)
	}
	return drawScene(context.Background(), desk, d.db, scene)
}

// endpoints are the addresses that platforms call over HTTP, for those whose
// secret is set.
func endpoints(mux *http.ServeMux, all []platform, h bot.Handler) {
	for _, p := range all {
		switch p := p.chat.(type) {
		case *slack.Adapter:
			mux.Handle("/slack/", p.Endpoints("/slack", h))
		case *discord.Adapter:
			mux.Handle("POST /discord/interactions", p.Interactions(h))
		}
	}
}

// tellOfPlatform says to the leads that a platform is lost until somebody mends
// something, on another platform where they have one. The others go on. The same
// trouble is told once a day.
func (o *office) tellOfPlatform(ctx context.Context, name string, why error) {
	o.log.ErrorContext(ctx, "platform lost; the others go on", "platform", name, "error", why)
	reply := bot.Reply{
		Title:  "I cannot work on " + upperFirst(name) + " any more",
		Text:   "Mend this and start me again. What I have to say there waits for two hours.",
		Fields: []bot.Field{{Name: "Why", Value: plainly(why)}},
	}
	for _, desk := range o.desks.all() {
		d, now := desk.Department, o.clock.Now()
		if !talksOn(d, name) {
			continue
		}
		key := "platform-" + name + "-" + now.In(d.Zone).Format(time.DateOnly)
		if err := o.db.Apply(ctx, command.NoticeBeside(d, name, key, now, reply, o.split)); err != nil {
			o.log.ErrorContext(ctx, "lead not told", "department", d.Slug, "error", err)
		}
	}
}

// tellOfPlace says to the leads of the departments that talk in a place that it
// is gone. What waits for it is given up, a message at a time.
func (o *office) tellOfPlace(ctx context.Context, at bot.Address, why string) {
	o.log.ErrorContext(ctx, "place lost", "platform", at.Platform, "workspace", at.Workspace, "channel", at.Channel, "why", why)
	for _, desk := range o.desks.all() {
		d, now := desk.Department, o.clock.Now()
		i := slices.IndexFunc(d.Channels, func(c department.Channel) bool {
			return c.Platform == at.Platform && c.Workspace == at.Workspace && (at.Channel == "" || c.ID == at.Channel)
		})
		if i < 0 {
			continue
		}
		where := placeWords(d, at)
		if at.Channel == "" {
			where = "all of " + upperFirst(at.Platform)
		}
		reply := bot.Reply{
			Title: "I have lost a place to talk", Text: "Let me in again, or take it out of the file.",
			Fields: []bot.Field{{Name: "Where", Value: where}, {Name: "Why", Value: why}},
		}
		key := fmt.Sprintf("place-%s-%s-%s-%s", at.Platform, at.Workspace, at.Channel, now.In(d.Zone).Format(time.DateOnly))
		turn := command.Notice(d, key, now, reply, o.split)
		if at.Channel == "" || d.Channels[i].Use == department.ProgrammeChannel {
			turn = command.NoticeBeside(d, at.Platform, key, now, reply, o.split)
		}
		if err := o.db.Apply(ctx, turn); err != nil {
			o.log.ErrorContext(ctx, "lead not told", "department", d.Slug, "error", err)
		}
	}
}

// plainly is the innermost words of an error that are for a person, or its last
// cause.
func plainly(err error) string {
	for {
		inner := errors.Unwrap(err)
		if inner == nil || slices.Contains([]error{bot.ErrBarred, bot.ErrNotFound, bot.ErrUnsupported}, inner) {
			return err.Error()
		}
		err = inner
	}
}

func upperFirst(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// notice is a post to a department's programme channel, at most one a day with
// one key: the same trouble is told once, and again when it lasts.
func (o *office) notice(d *department.Department, key string, reply bot.Reply) bot.Turn {
	now := o.clock.Now()
	return command.Notice(d, key+"-"+now.In(d.Zone).Format("2006-01-02"), now, reply, o.split)
}
