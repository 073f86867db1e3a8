package slack_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"image/png"
	"strings"
	"testing"
	"time"

	"kitbell/adapters/adaptertest/slackserver"
	"kitbell/adapters/slack"
	"kitbell/bot"
)

// The platform's errors become ours, each by its code.
func TestSendErrors(t *testing.T) {
	for _, row := range []struct {
		name    string
		failure slackserver.Failure
		edit    bool
		want    func(error) bool
	}{
		{"told how long to wait", slackserver.Failure{Status: 429, After: "7"}, false, limited(7 * time.Second)},
		{"told to wait, not how long", slackserver.Failure{Status: 429}, false, limited(0)},
		{"told to wait with status 200", slackserver.Failure{Error: "ratelimited"}, false, limited(0)},
		{"no such channel", slackserver.Failure{Error: "channel_not_found"}, false, notFound},
		{"archived", slackserver.Failure{Error: "is_archived"}, false, notFound},
		{"put out of the channel", slackserver.Failure{Error: "not_in_channel"}, false, notFound},
		{"message deleted", slackserver.Failure{Error: "message_not_found"}, true, notFound},
		{"bad token", slackserver.Failure{Error: "invalid_auth"}, false, says("take a new one")},
		{"scope missing", slackserver.Failure{Error: "missing_scope"}, false, says("chat:write")},
		{"server trouble: it may have arrived", slackserver.Failure{Status: 503}, false, maybe(true)},
		{"cut after the work was done", slackserver.Failure{Cut: true}, false, maybe(true)},
		{"server trouble at an edit: once more does no harm", slackserver.Failure{Status: 503}, true, maybe(false)},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Parallel()
			server := slackserver.Start()
			defer server.Close()
			a := open(t, server, nil)
			o := bot.Outgoing{Key: "k", To: here, Reply: bot.Reply{Text: "Hello."}}
			method := "chat.postMessage"
			if row.edit {
				ref, err := a.Send(t.Context(), o)
				if err != nil {
					t.Fatal(err)
				}
				o.Edit, method = &ref, "chat.update"
			}
			server.Fail(method, row.failure)
			_, err := a.Send(t.Context(), o)
			if err == nil || !row.want(err) || strings.Contains(err.Error(), slackserver.BotToken) {
				t.Errorf("error %v", err)
			}
			if calls := server.Calls(method); calls != 1 {
				t.Errorf("called %d times; one Send is one try", calls)
			}
		})
	}
}

func limited(after time.Duration) func(error) bool {
	return func(err error) bool {
		var limit *bot.RateLimitError
		return errors.As(err, &limit) && limit.After == after
	}
}

func notFound(err error) bool { return errors.Is(err, bot.ErrNotFound) }

func says(text string) func(error) bool {
	return func(err error) bool { return strings.Contains(err.Error(), text) && !errors.Is(err, bot.ErrNotFound) }
}

func maybe(sent bool) func(error) bool {
	return func(err error) bool {
		var unsure interface{ MaybeSent() bool }
		return errors.As(err, &unsure) == sent
	}
}

// What one person asked is shown to that person; where the channel does not let
// the bot, by the handle of what they did, and else in their own line.
func TestPrivateAnswers(t *testing.T) {
	for _, row := range []struct {
		name   string
		before func(r *running)
		want   slackserver.Message
	}{
		{"in the channel", func(*running) {}, slackserver.Message{Channel: "C1", Only: "U1"}},
		{"by the handle", func(r *running) { r.Fail("chat.postEphemeral", slackserver.Failure{Error: "not_in_channel"}) },
			slackserver.Message{Channel: "C1", Only: "U1"}},
		{"in their own line", func(r *running) {
			r.Fail("chat.postEphemeral", slackserver.Failure{Error: "not_in_channel"})
			r.Fail("reply", slackserver.Failure{})
		}, slackserver.Message{Channel: "D1"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Parallel()
			r := start(t, nil, nil)
			if _, err := r.As("U1").Slash(r.ctx, slackserver.Channel, "my kit"); err != nil {
				t.Fatal(err)
			}
			e := r.next(t)
			row.before(r)
			if _, err := r.adapter.Send(r.ctx, bot.Outgoing{To: e.Where, Answers: e.ID, Reply: bot.Reply{Text: "Yours.", Private: true}}); err != nil {
				t.Fatal(err)
			}
			all := r.Messages()
			if len(all) != 1 || all[0].Channel != row.want.Channel || all[0].Only != row.want.Only || !strings.Contains(all[0].Text, "Yours.") {
				t.Errorf("shown %+v", all)
			}
		})
	}
}

// A private message cannot be changed later: the change is a new one.
func TestEditOfAPrivateMessage(t *testing.T) {
	server := slackserver.Start()
	defer server.Close()
	a := open(t, server, nil)
	to := here
	to.Person = slackserver.User
	ref, err := a.Send(t.Context(), bot.Outgoing{To: to, Reply: bot.Reply{Text: "First.", Private: true}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := a.Send(t.Context(), bot.Outgoing{To: to, Edit: &ref, Reply: bot.Reply{Text: "Second.", Private: true}}); err != nil {
		t.Fatal(err)
	}
	if all := server.Messages(); len(all) != 2 || all[1].Only != slackserver.User {
		t.Errorf("shown %+v", all)
	}
}

// Nothing that people typed calls anybody or becomes a link, and all of the
// plain text stands in the text that screen readers read, labels too.
func TestTextIsSafeAndComplete(t *testing.T) {
	server := slackserver.Start()
	defer server.Close()
	reply := bot.Reply{
		Title: "<!channel> & <@U2>", Text: "*bold* <https://example.org|here>", Steps: []string{"<!everyone>"},
		Fields:  []bot.Field{{Name: "Caution", Value: "<#C1>"}},
		Buttons: []bot.Button{{Label: "Undo", Value: "undo:1"}},
	}
	if _, err := open(t, server, nil).Send(t.Context(), bot.Outgoing{To: here, Reply: reply}); err != nil {
		t.Fatal(err)
	}
	m := server.Messages()[0]
	if strings.ContainsAny(m.Text, "<>") {
		t.Errorf("text has marks: %q", m.Text)
	}
	read := strings.NewReplacer("&lt;", "<", "&gt;", ">", "&amp;", "&").Replace(m.Text)
	if !strings.HasPrefix(read, reply.Plain()) || !strings.Contains(read, "Undo") {
		t.Errorf("text %q", read)
	}
	if bytes.Contains(m.Blocks, []byte("mrkdwn")) {
		t.Errorf("blocks with text that is read for marks: %s", m.Blocks)
	}
}

// Whatever a reply holds, what is sent keeps to the platform's limits. The
// server holds it to them (reference pages "Blocks" and "Block elements").
func TestLimits(t *testing.T) {
	long := func(n int) string { return strings.Repeat("ä", n) }
	var many []bot.Button
	for i := range 25 {
		many = append(many, bot.Button{Label: fmt.Sprint(i, long(90)), Value: fmt.Sprintf("say:%d%s", i, strings.Repeat("x", 50))})
	}
	for _, row := range []struct {
		name  string
		reply bot.Reply
	}{
		{"title", bot.Reply{Title: long(300)}},
		{"text", bot.Reply{Text: long(3800)}},
		{"a button's label", bot.Reply{Text: "x", Buttons: many[:1]}},
		{"as many buttons as it says", bot.Reply{Text: "x", Buttons: many}},
		{"alt text", bot.Reply{Pictures: []bot.Picture{{Scene: "door", Alt: long(3000)}}}},
		{"many fields", bot.Reply{Fields: slicesOf(60, bot.Field{Name: "Name", Value: "value"})}},
	} {
		t.Run(row.name, func(t *testing.T) {
			server := slackserver.Start()
			defer server.Close()
			if _, err := open(t, server, drawn).Send(t.Context(), bot.Outgoing{To: here, Reply: row.reply}); err != nil {
				t.Error(err)
			}
		})
	}
}

func slicesOf[T any](n int, one T) []T {
	all := make([]T, n)
	for i := range all {
		all[i] = one
	}
	return all
}

func drawn(o *slack.Options) {
	o.Draw = func(string, string) ([]byte, error) {
		var b bytes.Buffer
		err := png.Encode(&b, image.NewGray(image.Rect(0, 0, 2, 2)))
		return b.Bytes(), err
	}
}

// A picture is uploaded with its words; when that fails, the words stand alone.
func TestPictures(t *testing.T) {
	server := slackserver.Start()
	defer server.Close()
	a := open(t, server, drawn)
	o := bot.Outgoing{To: here, Reply: bot.Reply{Text: "See.", Pictures: []bot.Picture{{Scene: "door", Alt: "A door that opens in."}}}}
	if _, err := a.Send(t.Context(), o); err != nil {
		t.Fatal(err)
	}
	server.Fail("files.getUploadURLExternal", slackserver.Failure{Error: "missing_scope"})
	if _, err := a.Send(t.Context(), o); err != nil {
		t.Fatal(err)
	}
	with, without := server.Messages()[0], server.Messages()[1]
	if !strings.Contains(string(with.Blocks), `"slack_file"`) || !strings.Contains(slackserver.Readable(with), "A door that opens in.") {
		t.Errorf("with its picture: %s", with.Blocks)
	}
	if strings.Contains(string(without.Blocks), `"slack_file"`) || !strings.Contains(slackserver.Readable(without), "Picture: A door that opens in.") {
		t.Errorf("without its picture: %s", without.Blocks)
	}
}

// A file is fetched through the API alone, and no more of it than asked for.
func TestFetch(t *testing.T) {
	server := slackserver.Start()
	defer server.Close()
	a := open(t, server, nil)
	id := server.Put("image/jpeg", []byte("picture"))
	if got, err := a.Fetch(t.Context(), bot.File{ID: slackserver.Team + "/" + id}, 100); err != nil || string(got) != "picture" {
		t.Errorf("got %q, %v", got, err)
	}
	if _, err := a.Fetch(t.Context(), bot.File{ID: slackserver.Team + "/" + id}, 3); err == nil {
		t.Error("fetched more than the limit")
	}
	if _, err := a.Fetch(t.Context(), bot.File{ID: "https://example.org/x.jpg"}, 100); err == nil {
		t.Error("fetched by an address")
	}
}

// A press that asks for a form opens it, and what is sent becomes one event; a
// refusal stands in the form.
func TestForms(t *testing.T) {
	refuse := func(e bot.Event) error {
		if strings.Contains(e.Values["what"], "code") {
			return &bot.UserError{Say: "That looks like an access code."}
		}
		return nil
	}
	r := start(t, refuse, func(o *slack.Options) { o.Prompter = prompter{} })
	if _, err := r.adapter.Send(r.ctx, bot.Outgoing{To: here, Reply: bot.Reply{Text: "Tell.", Buttons: []bot.Button{{Label: "Report", Value: "form:report"}}}}); err != nil {
		t.Fatal(err)
	}
	p := r.As(slackserver.User)
	id, err := p.Press(r.ctx, "Report")
	if err != nil {
		t.Fatal(err)
	}
	if err := r.AwaitAck(r.ctx, id); err != nil {
		t.Fatal(err)
	}
	if len(r.Views()) != 1 || r.handler.Left() != 0 {
		t.Fatalf("%d forms, %d events", len(r.Views()), r.handler.Left())
	}
	if _, err := p.Submit(r.ctx, map[string]string{"unit": "engine-4", "what": "wedge"}); err != nil {
		t.Fatal(err)
	}
	if e := r.next(t); e.Kind != bot.Submitted || e.Form != "report" || e.Values["unit"] != "engine-4" || e.Where != here {
		t.Errorf("heard %+v", e)
	}
	id, err = p.Submit(r.ctx, map[string]string{"what": "code 1234"})
	if err != nil {
		t.Fatal(err)
	}
	if err := r.AwaitAck(r.ctx, id); err != nil {
		t.Fatal(err)
	}
	payload, _ := r.Acked(id)
	var answer struct {
		Action string            `json:"response_action"`
		Errors map[string]string `json:"errors"`
	}
	if json.Unmarshal(payload, &answer) != nil || answer.Action != "errors" || answer.Errors["what"] != "That looks like an access code." {
		t.Errorf("acknowledged with %s", payload)
	}
}

type prompter struct{}

func (prompter) Form(_ context.Context, p bot.Press) (bot.Form, bool) {
	return bot.Form{ID: "report", Title: "What is missing, broken or worn out?", Inputs: []bot.FormInput{
		{Name: "unit", Label: "Rig", Choices: []bot.Choice{{Label: "Engine 4", Value: "engine-4"}}, Value: "engine-4"},
		{Name: "what", Label: "What", Long: true},
	}}, p.Value == "form:report"
}

func (prompter) Suggest(context.Context, bot.Partial) []bot.Choice { return nil }

// The page of one person takes what is sent there.
func TestHome(t *testing.T) {
	server := slackserver.Start()
	defer server.Close()
	to := bot.Address{Platform: slack.Name, Workspace: slackserver.Team, Channel: bot.HomeChannel, Person: slackserver.User}
	if _, err := open(t, server, nil).Send(t.Context(), bot.Outgoing{To: to, Reply: bot.Reply{Title: "Your kit", Text: "All there."}}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(server.Shown(), "Your kit") || len(server.Messages()) != 0 {
		t.Errorf("shown %q, messages %v", server.Shown(), server.Messages())
	}
}

// Tokens go out over https, or to this machine alone.
func TestAddressOfTheAPI(t *testing.T) {
	for _, row := range []struct {
		api string
		ok  bool
	}{
		{"", true}, {"https://chat.example.org/api", true}, {"http://127.0.0.1:9/api/", true}, {"http://[::1]:9/api/", true}, {"http://localhost:9/", true},
		{"http://chat.example.org/api/", false}, {"ftp://127.0.0.1/", false}, {"chat.example.org", false}, {"http://127.0.0.1.example.org/", false},
	} {
		_, err := slack.New(slack.Options{Token: "xoxb-1", API: row.api, Directory: directory, Log: discard})
		if (err == nil) != row.ok {
			t.Errorf("%q: %v", row.api, err)
		}
	}
}

// Where other organisations read along, the bot posts nothing that all see, and
// what is done there counts as done in front of them: presses and commands too.
func TestSharedChannel(t *testing.T) {
	r := start(t, nil, nil)
	card := bot.Outgoing{Key: "k", To: here, Reply: bot.Reply{Text: "A card.", Buttons: []bot.Button{{Label: "More", Value: "ask:more:x"}}}}
	if _, err := r.adapter.Send(r.ctx, card); err != nil {
		t.Fatal(err)
	}
	r.ShareOutside(slackserver.Channel, true)
	p := r.As("U1")
	if _, _, err := p.Mention(r.ctx, slackserver.Channel, "queue"); err != nil {
		t.Fatal(err)
	}
	if e := r.next(t); !e.Outside {
		t.Errorf("a mention: %+v", e)
	}
	if _, err := p.Press(r.ctx, "More"); err != nil {
		t.Fatal(err)
	}
	if e := r.next(t); !e.Outside {
		t.Errorf("a press: %+v", e)
	}
	if _, err := p.Shortcut(r.ctx, slack.ReportShortcut, slackserver.Channel, "how do I slip a tight gap"); err != nil {
		t.Fatal(err)
	}
	if e := r.next(t); !e.Outside {
		t.Errorf("a shortcut: %+v", e)
	}
	if _, err := r.adapter.Send(r.ctx, card); !errors.Is(err, bot.ErrNotFound) || !strings.Contains(err.Error(), "read along") {
		t.Errorf("a post: %v", err)
	}
	private := card
	private.To.Person = "U1"
	if _, err := r.adapter.Send(r.ctx, private); err != nil {
		t.Errorf("to one person: %v", err)
	}
	r.ShareOutside(slackserver.Channel, false)
	if _, _, err := p.Mention(r.ctx, slackserver.Channel, "queue"); err != nil {
		t.Fatal(err)
	}
	if e := r.next(t); e.Outside {
		t.Errorf("no longer shared: %+v", e)
	}
}

// A channel that was shared while the program was away is known from the start.
func TestSharedBeforeTheStart(t *testing.T) {
	r := start(t, nil, func(o *slack.Options) { o.Channels = func() []bot.Address { return []bot.Address{here} } })
	if err := r.AwaitThat(r.ctx, func() bool { return r.Calls("conversations.info") == 1 }); err != nil {
		t.Fatal(err)
	}
}

// A place that is gone is told of, and is nobody's message.
func TestLostPlaces(t *testing.T) {
	type place struct{ channel, why string }
	lost := make(chan place, 9)
	r := start(t, nil, func(o *slack.Options) {
		o.Lost = func(_ context.Context, at bot.Address, why string) { lost <- place{at.Channel, why} }
	})
	p := r.As("U1")
	for _, row := range []struct {
		event map[string]any
		want  place
	}{
		{map[string]any{"type": "channel_archive", "channel": "C1", "user": "U2"}, place{"C1", "archived"}},
		{map[string]any{"type": "channel_deleted", "channel": "C1"}, place{"C1", "deleted"}},
		{map[string]any{"type": "member_left_channel", "channel": "C1", "user": slackserver.Bot}, place{"C1", "taken out"}},
		{map[string]any{"type": "app_uninstalled"}, place{"", "taken out"}},
		{map[string]any{"type": "tokens_revoked", "tokens": map[string]any{"bot": []string{slackserver.Bot}}}, place{"", "revoked"}},
	} {
		if _, err := p.Tell(r.ctx, row.event); err != nil {
			t.Fatal(err)
		}
		select {
		case got := <-lost:
			if got.channel != row.want.channel || !strings.Contains(got.why, row.want.why) {
				t.Errorf("%v: told %+v", row.event, got)
			}
		case <-r.ctx.Done():
			t.Fatal(r.ctx.Err())
		}
	}
	if _, err := p.Tell(r.ctx, map[string]any{"type": "member_left_channel", "channel": "C1", "user": "U2"}); err != nil {
		t.Fatal(err)
	}
	if _, _, err := p.Mention(r.ctx, slackserver.Channel, "after it"); err != nil {
		t.Fatal(err)
	}
	if e := r.next(t); e.Text != "after it" || len(lost) > 0 {
		t.Errorf("heard %+v, lost %d", e, len(lost))
	}
}
