package discord_test

import (
	"context"
	"crypto/ed25519"
	"encoding/hex"
	"errors"
	"fmt"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"kitbell/adapters/adaptertest"
	"kitbell/adapters/adaptertest/discordserver"
	"kitbell/adapters/discord"
	"kitbell/bot"
)

func withCommands(o *discord.Options) {
	o.Prompter = prompter{}
	o.Commands = []discord.CommandSpec{
		{Name: "ask", Description: "Ask.", Private: true, Options: []discord.OptionSpec{{Name: "text", Description: "Question", Required: true}}},
		{Name: "queue", Description: "Queue.", Lead: "queue", Options: []discord.OptionSpec{{Name: "unit", Description: "Rig", Suggests: "unit"}}},
		{Name: "report", Description: "Report.", Form: "report", Options: []discord.OptionSpec{{Name: "unit", Description: "Rig", Suggests: "unit"}}},
	}
}

type prompter struct{}

func (prompter) Form(_ context.Context, p bot.Press) (bot.Form, bool) {
	return bot.Form{ID: "report", Title: "Report", Inputs: []bot.FormInput{
		{Name: "unit", Label: "Whose kit", Choices: []bot.Choice{{Label: "Engine 4", Value: "engine-4"}}, Value: "engine-4"},
		{Name: "more", Label: "More", Long: true},
	}}, p.Value == "form:report"
}

func (prompter) Suggest(_ context.Context, p bot.Partial) []bot.Choice {
	return []bot.Choice{{Label: "Engine 4 " + p.Field + p.Text, Value: "engine-4"}}
}

// What people do becomes events.
func TestHears(t *testing.T) {
	listening, line, only := here, here, here
	listening.Channel = discordserver.Other
	line.Workspace, line.Channel = "", discordserver.Direct
	only.Person = discordserver.User
	said := func(where bot.Address, text string, direct bool) bot.Event {
		return bot.Event{Kind: bot.Said, Where: where, Text: text, Direct: direct}
	}
	for _, row := range []struct {
		name string
		do   func(r *running, p discordserver.Person) error
		want bot.Event
	}{
		{"a mention", func(r *running, p discordserver.Person) error {
			_, err := p.Mention(r.ctx, discordserver.Channel, "queue")
			return err
		}, said(here, "queue", true)},
		{"a direct message", func(r *running, p discordserver.Person) error {
			_, err := p.Write(r.ctx, discordserver.Direct, "queue")
			return err
		}, said(line, "queue", true)},
		{"a plain sentence where it listens", func(r *running, p discordserver.Person) error {
			_, err := p.Write(r.ctx, discordserver.Other, "E4 wedge missing")
			return err
		}, said(listening, "E4 wedge missing", false)},
		{"a private command", func(r *running, p discordserver.Person) error {
			_, err := p.Slash(r.ctx, discordserver.Channel, "ask", map[string]string{"text": "what is a shim"})
			return err
		}, said(only, "what is a shim", true)},
		{"a command with a lead", func(r *running, p discordserver.Person) error {
			_, err := p.Slash(r.ctx, discordserver.Channel, "queue", map[string]string{"unit": "engine-4"})
			return err
		}, said(here, "queue engine-4", true)},
		{"a command that is a form", func(r *running, p discordserver.Person) error {
			_, err := p.Slash(r.ctx, discordserver.Channel, "report", map[string]string{"unit": "engine-4"})
			return err
		}, bot.Event{Kind: bot.Submitted, Where: here, Direct: true, Form: "report", Values: map[string]string{"unit": "engine-4"}}},
		{"report this", func(r *running, p discordserver.Person) error {
			_, err := p.MessageCommand(r.ctx, discordserver.Channel, discord.ReportCommand, "E4 lost a hook")
			return err
		}, said(here, "E4 lost a hook", true)},
		{"a changed message", func(r *running, p discordserver.Person) error {
			return p.Change(r.ctx, discordserver.Other, "77", "E6 wedge missing")
		},
			bot.Event{Kind: bot.Edited, Where: listening, Text: "E6 wedge missing", About: "m77"}},
		{"a mark", func(r *running, p discordserver.Person) error {
			return p.React(r.ctx, discordserver.Other, "77", "👍")
		},
			bot.Event{Kind: bot.Reacted, Where: listening, Text: "👍", On: "77"}},
		{"a bare picture", func(r *running, p discordserver.Person) error {
			_, err := p.Write(r.ctx, discordserver.Direct, "", r.WithFile("9", "image/jpeg"))
			return err
		}, bot.Event{Kind: bot.Shared, Where: line, Direct: true}},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Parallel()
			r := start(t, nil, withCommands)
			if err := row.do(r, r.As(discordserver.User)); err != nil {
				t.Fatal(err)
			}
			got := r.next(t)
			if got.Kind != row.want.Kind || got.Where != row.want.Where || got.Text != row.want.Text || got.Direct != row.want.Direct ||
				got.About != row.want.About || got.Form != row.want.Form || fmt.Sprint(got.Values) != fmt.Sprint(row.want.Values) || got.ID == "" || got.At.IsZero() {
				t.Errorf("heard %+v, want %+v", got, row.want)
			}
			if row.want.Kind == bot.Shared && (len(got.Files) != 1 || got.Files[0].Kind != bot.PictureFile) {
				t.Errorf("files %+v", got.Files)
			}
		})
	}
}

// A deleted message is told of when it was heard; a plain sentence where the bot
// does not listen is not heard at all.
func TestDeletedAndUnheard(t *testing.T) {
	r := start(t, nil, nil)
	p := r.As(discordserver.User)
	if _, err := p.Write(r.ctx, discordserver.Channel, "not for you"); err != nil {
		t.Fatal(err)
	}
	id, err := p.Write(r.ctx, discordserver.Other, "E4 wedge missing")
	if err != nil {
		t.Fatal(err)
	}
	if e := r.next(t); e.Text != "E4 wedge missing" {
		t.Fatalf("heard %+v", e)
	}
	if err := p.Delete(r.ctx, discordserver.Other, id); err != nil {
		t.Fatal(err)
	}
	if e := r.next(t); e.Kind != bot.Deleted || e.About != "m"+id || e.From.ID != discordserver.User {
		t.Errorf("heard %+v", e)
	}
}

// An interaction is answered at once: typing with choices, a bare command with
// its form, a refusal to the one person, strangers elsewhere politely.
func TestFirstAnswers(t *testing.T) {
	refuse := func(e bot.Event) error {
		if strings.Contains(e.Text, "code") {
			return &bot.UserError{Say: "That looks like an access code."}
		}
		return nil
	}
	for _, row := range []struct {
		name string
		do   func(r *running, p discordserver.Person) (string, error)
		want string
	}{
		{"typing", func(r *running, p discordserver.Person) (string, error) {
			return p.Type(r.ctx, discordserver.Channel, "queue", "unit", "eng")
		}, `"name":"Engine 4 uniteng"`},
		{"a bare command", func(r *running, p discordserver.Person) (string, error) {
			return p.Slash(r.ctx, discordserver.Channel, "report", nil)
		}, `"type":9`},
		{"a refusal", func(r *running, p discordserver.Person) (string, error) {
			return p.Slash(r.ctx, discordserver.Channel, "ask", map[string]string{"text": "the code is 4471"})
		}, `"flags":68`},
		{"elsewhere", func(r *running, p discordserver.Person) (string, error) {
			p.Guild = "5000000000000000777"
			return p.Slash(r.ctx, discordserver.Channel, "ask", map[string]string{"text": "what is a shim"})
		}, "I do not work in this place"},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Parallel()
			r := start(t, refuse, withCommands)
			r.Check = descriptionIfThere(t)
			id, err := row.do(r, r.As(discordserver.User))
			if err != nil {
				t.Fatal(err)
			}
			answer, err := r.Answer(r.ctx, id)
			if err != nil || !strings.Contains(string(answer), row.want) {
				t.Errorf("answered %s, %v", answer, err)
			}
		})
	}
}

// The answer to a private command is for the one person, by its token; without
// one it goes to their own line.
func TestPrivateAnswers(t *testing.T) {
	r := start(t, nil, withCommands)
	if _, err := r.As(discordserver.User).Slash(r.ctx, discordserver.Channel, "ask", map[string]string{"text": "what is a shim"}); err != nil {
		t.Fatal(err)
	}
	e := r.next(t)
	for i, answers := range []string{e.ID, ""} {
		o := bot.Outgoing{Key: fmt.Sprint("k", i), To: e.Where, Answers: answers, Reply: bot.Reply{Text: fmt.Sprint("Answer ", i), Private: true}}
		if err := r.AwaitThat(r.ctx, func() bool { _, err := r.adapter.Send(r.ctx, o); return err == nil }); err != nil {
			t.Fatal(err)
		}
	}
	all := r.Messages()
	if last := all[len(all)-1]; last.Channel != discordserver.Direct {
		t.Errorf("without a token: %+v", last)
	}
}

// A message that is changed keeps no button and no picture of what it was.
// Who takes no direct messages is told in the channel that there is an answer,
// and not what it says.
func TestNoDirectMessages(t *testing.T) {
	r := start(t, nil, nil)
	r.Fail("POST users", discordserver.Failure{Status: 403, Code: 50007})
	o := bot.Outgoing{Key: "k", To: here, Reply: bot.Reply{Text: "Yours alone.", Private: true}}
	o.To.Person = discordserver.User
	if _, err := r.adapter.Send(r.ctx, o); err != nil {
		t.Fatal(err)
	}
	all := r.Messages()
	if len(all) != 1 || all[0].Channel != here.Channel || strings.Contains(all[0].Text, "Yours alone") || !strings.Contains(all[0].Text, "no direct messages") {
		t.Errorf("shown %+v", all)
	}
}

// A channel or a guild that is gone is told of; one that is only not available
// for a while is not.
func TestLostPlaces(t *testing.T) {
	lost := make(chan bot.Address, 9)
	r := start(t, nil, func(o *discord.Options) { o.Lost = func(_ context.Context, at bot.Address, _ string) { lost <- at } })
	for _, gone := range []struct {
		kind string
		data map[string]any
	}{
		{"CHANNEL_DELETE", map[string]any{"id": discordserver.Channel, "guild_id": discordserver.Guild}},
		{"GUILD_DELETE", map[string]any{"id": discordserver.Guild, "unavailable": true}},
		{"GUILD_DELETE", map[string]any{"id": discordserver.Guild}},
	} {
		if err := r.Server.Send(r.ctx, gone.kind, gone.data); err != nil {
			t.Fatal(err)
		}
	}
	for _, want := range []bot.Address{here, {Platform: discord.Name, Workspace: discordserver.Guild}} {
		select {
		case got := <-lost:
			if got != want {
				t.Errorf("told of %+v, want %+v", got, want)
			}
		case <-r.ctx.Done():
			t.Fatal(r.ctx.Err())
		}
	}
}

func TestChangeLeavesNothingBehind(t *testing.T) {
	r := start(t, nil, nil)
	before := bot.Reply{Text: "Line 1: reported.", Buttons: []bot.Button{{Label: "Take it", Value: "queue:own-take:1:1"}}}
	ref, err := r.adapter.Send(t.Context(), bot.Outgoing{Key: "k1", To: here, Reply: before})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := r.adapter.Send(t.Context(), bot.Outgoing{Key: "k2", To: here, Edit: &ref, Reply: bot.Reply{Text: "Line 1: closed."}}); err != nil {
		t.Fatal(err)
	}
	for _, m := range r.Messages() {
		for _, want := range []string{`"components":[]`, `"attachments":[]`, `"embeds":[]`} {
			if m.ID == ref.ID && !strings.Contains(string(m.Raw), want) {
				t.Errorf("no %s in %s", want, m.Raw)
			}
		}
	}
}

// The platform's errors become ours.
func TestSendErrors(t *testing.T) {
	for _, row := range []struct {
		name    string
		failure discordserver.Failure
		want    func(error) bool
	}{
		{"told how long to wait", discordserver.Failure{Status: 429, After: 2}, func(err error) bool {
			var l *bot.RateLimitError
			return errors.As(err, &l) && l.After == 2*time.Second
		}},
		{"gone", discordserver.Failure{Status: 404, Code: 10003}, func(err error) bool { return errors.Is(err, bot.ErrNotFound) }},
		{"not allowed", discordserver.Failure{Status: 403, Code: 50013}, func(err error) bool {
			return errors.Is(err, bot.ErrNotFound) && strings.Contains(err.Error(), "Send Messages")
		}},
		{"bad token", discordserver.Failure{Status: 401}, func(err error) bool { return strings.Contains(err.Error(), "take a new one") }},
		{"in trouble", discordserver.Failure{Status: 500}, func(err error) bool { return !errors.Is(err, bot.ErrNotFound) }},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Parallel()
			server := discordserver.Start()
			defer server.Close()
			server.Fail("POST channels", row.failure)
			_, err := open(t, server, nil).Send(t.Context(), bot.Outgoing{Key: "k", To: here, Reply: bot.Reply{Text: "Hello."}})
			if err == nil || !row.want(err) || strings.Contains(err.Error(), discordserver.Token) {
				t.Errorf("error %v", err)
			}
		})
	}
}

// A connection that is cut after the work was done leads to one message, by its
// nonce.
func TestCutConnectionPostsOnce(t *testing.T) {
	server := discordserver.Start()
	defer server.Close()
	a := open(t, server, nil)
	server.Fail("POST channels", discordserver.Failure{Cut: true})
	o := bot.Outgoing{Key: "k", To: here, Reply: bot.Reply{Text: "Hello."}}
	if _, err := a.Send(t.Context(), o); err == nil {
		t.Fatal("no error for a cut connection")
	}
	if _, err := a.Send(t.Context(), o); err != nil || len(server.Messages()) != 1 {
		t.Errorf("%v, shown %d times", err, len(server.Messages()))
	}
}

// Over HTTP only what the platform signed lately is taken.
func TestInteractionsOverHTTP(t *testing.T) {
	public, private, err := ed25519.GenerateKey(nil)
	if err != nil {
		t.Fatal(err)
	}
	server := discordserver.Start()
	defer server.Close()
	a := open(t, server, func(o *discord.Options) { o.PublicKey = hex.EncodeToString(public) })
	press := `{"id":"1420000000000000001","application_id":"9","type":3,"token":"t","guild_id":"` + discordserver.Guild + `","channel_id":"` + discordserver.Channel +
		`","member":{"user":{"id":"7"}},"data":{"custom_id":"0|queue:"},"message":{"id":"5"}}`
	for _, row := range []struct {
		name, body     string
		age            time.Duration
		wrong          bool
		status, events int
		answer         string
	}{
		{"ping", `{"type":1}`, 0, false, 200, 0, `"type":1`},
		{"a press", press, 0, false, 200, 1, `"type":6`},
		{"six minutes old", press, 6 * time.Minute, false, 401, 0, ""},
		{"six minutes ahead", press, -6 * time.Minute, false, 401, 0, ""},
		{"another signature", press, 0, true, 401, 0, ""},
		{"too large", strings.Repeat(" ", 2<<20), 0, false, 413, 0, ""},
		{"signed nonsense", "}", 0, false, 400, 0, ""},
		{"of no type", `{"type":0}`, 0, false, 400, 0, ""},
	} {
		stamp := fmt.Sprint(time.Now().Add(-row.age).Unix())
		signature := ed25519.Sign(private, []byte(stamp+row.body))
		if row.wrong {
			signature[0]++
		}
		request := httptest.NewRequest("POST", "/discord/interactions", strings.NewReader(row.body))
		request.Header.Set("X-Signature-Timestamp", stamp)
		request.Header.Set("X-Signature-Ed25519", hex.EncodeToString(signature))
		response, h := httptest.NewRecorder(), adaptertest.NewHandler(nil)
		a.Interactions(h).ServeHTTP(response, request)
		if response.Code != row.status || h.Left() != row.events || !strings.Contains(response.Body.String(), row.answer) {
			t.Errorf("%s: status %d, %d events, %s", row.name, response.Code, h.Left(), response.Body)
		}
	}
}
