package slack_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"kitbell/adapters/adaptertest/slackserver"
	"kitbell/adapters/slack"
	"kitbell/bot"
)

// What people do becomes events. Ids and times are looked at elsewhere.
func TestHears(t *testing.T) {
	const ts = "1790000500.000100"
	inThread := here
	inThread.Thread = ts
	listening := here
	listening.Channel = slackserver.Other
	line := here
	line.Channel = slackserver.Direct
	only := here
	only.Person = slackserver.User
	said := func(where bot.Address, text string, direct bool) bot.Event {
		return bot.Event{Kind: bot.Said, Where: where, Text: text, Direct: direct}
	}
	for _, row := range []struct {
		name string
		do   func(r *running, p slackserver.Person) error
		want bot.Event
	}{
		{"a mention", func(r *running, p slackserver.Person) error {
			_, _, err := p.Mention(r.ctx, slackserver.Channel, "queue")
			return err
		}, said(here, "queue", true)},
		{"only the bot's name", func(r *running, p slackserver.Person) error {
			_, _, err := p.Mention(r.ctx, slackserver.Channel, "")
			return err
		}, said(here, "help", true)},
		{"a direct message", func(r *running, p slackserver.Person) error {
			_, _, err := p.Write(r.ctx, slackserver.Direct, "E4 wedge missing")
			return err
		}, said(line, "E4 wedge missing", true)},
		{"a plain sentence where it listens", func(r *running, p slackserver.Person) error {
			_, _, err := p.Write(r.ctx, slackserver.Other, "E4 wedge missing")
			return err
		}, said(listening, "E4 wedge missing", false)},
		{"a mention in a thread", func(r *running, p slackserver.Person) error {
			_, _, err := p.Write(r.ctx, slackserver.Channel, "x", slackserver.Thread(ts), map[string]any{"type": "app_mention", "text": "<@UBOT> and the large one?"})
			return err
		}, said(inThread, "and the large one?", true)},
		{"a slash command, for one person", func(r *running, p slackserver.Person) error {
			_, err := p.Slash(r.ctx, slackserver.Channel, "queue E4")
			return err
		}, said(only, "queue E4", true)},
		{"report this", func(r *running, p slackserver.Person) error {
			_, err := p.Shortcut(r.ctx, slack.ReportShortcut, slackserver.Channel, "E4 lost its small hook")
			return err
		}, said(here, "E4 lost its small hook", true)},
		{"a changed message", func(r *running, p slackserver.Person) error {
			_, err := p.Change(r.ctx, slackserver.Other, ts, "E4 wedge missing", "E6 wedge missing")
			return err
		}, bot.Event{Kind: bot.Edited, Where: listening, Text: "E6 wedge missing", About: "T1/C2/" + ts}},
		{"a deleted message", func(r *running, p slackserver.Person) error {
			_, err := p.Delete(r.ctx, slackserver.Other, ts, "E4 wedge missing")
			return err
		}, bot.Event{Kind: bot.Deleted, Where: listening, About: "T1/C2/" + ts}},
		{"a mark", func(r *running, p slackserver.Person) error {
			_, err := p.React(r.ctx, slackserver.Other, ts, "+1")
			return err
		}, bot.Event{Kind: bot.Reacted, Where: listening, Text: "+1", On: ts}},
		{"a bare picture", func(r *running, p slackserver.Person) error {
			_, _, err := p.Write(r.ctx, slackserver.Direct, "", slackserver.WithFile("F9", "image/jpeg"))
			return err
		}, bot.Event{Kind: bot.Shared, Where: line, Direct: true, Files: []bot.File{{ID: "T1/F9", Kind: bot.PictureFile, Size: 3}}}},
		{"a voice note", func(r *running, p slackserver.Person) error {
			_, _, err := p.Write(r.ctx, slackserver.Direct, "", slackserver.WithFile("F9", "audio/mp4"))
			return err
		}, bot.Event{Kind: bot.Shared, Where: line, Direct: true, Files: []bot.File{{ID: "T1/F9", Kind: bot.VoiceFile, Size: 3}}}},
		{"words from a shared channel", func(r *running, p slackserver.Person) error {
			_, err := p.Outside(r.ctx, slackserver.Channel, "how do I slip a gap")
			return err
		}, bot.Event{Kind: bot.Said, Where: here, Text: "how do I slip a gap", Direct: true, Outside: true}},
		{"somebody of another organisation", func(r *running, p slackserver.Person) error {
			p.Team = "T77"
			_, _, err := p.Mention(r.ctx, slackserver.Channel, "queue")
			return err
		}, bot.Event{Kind: bot.Said, Where: here, Text: "queue", Direct: true, Outside: true}},
		{"the bot's page", func(r *running, p slackserver.Person) error {
			_, err := p.OpenHome(r.ctx)
			return err
		}, bot.Event{Kind: bot.Opened, Direct: true, Where: bot.Address{Platform: slack.Name, Workspace: "T1", Channel: bot.HomeChannel, Person: "U1"}}},
		{"a press on the bot's page", func(r *running, p slackserver.Person) error {
			_, err := p.PressOn(r.ctx, slackserver.Message{}, "queue:")
			return err
		}, bot.Event{Kind: bot.Pressed, Direct: true, Press: "queue:", Where: bot.Address{Platform: slack.Name, Workspace: "T1", Person: "U1"}}},
		{"marks, links and escapes", func(r *running, p slackserver.Person) error {
			_, _, err := p.Write(r.ctx, slackserver.Other, "", map[string]any{"text": "<!here> ask <@U2> in <#C1|station>: 2 &lt; 3 &amp; <https://example.org/a|that>"})
			return err
		}, said(listening, "ask @U2 in #station: 2 < 3 & that", false)},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Parallel()
			r := start(t, nil, nil)
			if err := row.do(r, r.As(slackserver.User)); err != nil {
				t.Fatal(err)
			}
			got := r.next(t)
			row.want.Department, row.want.From = "tarn-harbor", bot.Speaker{ID: slackserver.User}
			ignore := []string{"ID", "At"}
			if row.want.On == "" {
				ignore = append(ignore, "On")
			}
			if diff := cmp.Diff(row.want, got, cmpopts.IgnoreFields(bot.Event{}, ignore...)); diff != "" || got.ID == "" || got.At.IsZero() {
				t.Errorf("-want +got:\n%s id %q at %s", diff, got.ID, got.At)
			}
		})
	}
}

// What concerns nobody is acknowledged and never handed on.
func TestHearsNothing(t *testing.T) {
	for _, row := range []struct {
		name string
		do   func(r *running, p slackserver.Person) (string, error)
	}{
		{"a plain sentence where it does not listen", func(r *running, p slackserver.Person) (string, error) {
			id, _, err := p.Write(r.ctx, slackserver.Channel, "E4 wedge missing")
			return id, err
		}},
		{"another app's message", func(r *running, p slackserver.Person) (string, error) {
			id, _, err := p.Write(r.ctx, slackserver.Other, "queue", map[string]any{"bot_id": "B2"})
			return id, err
		}},
		{"its own message", func(r *running, p slackserver.Person) (string, error) {
			p.User = slackserver.Bot
			id, _, err := p.Write(r.ctx, slackserver.Other, "queue")
			return id, err
		}},
		{"somebody joins", func(r *running, p slackserver.Person) (string, error) {
			id, _, err := p.Write(r.ctx, slackserver.Other, "has joined", map[string]any{"subtype": "channel_join"})
			return id, err
		}},
		{"a link that unfolds", func(r *running, p slackserver.Person) (string, error) {
			return p.Change(r.ctx, slackserver.Other, "1790000500.000100", "see this", "see this")
		}},
		{"another app's shortcut", func(r *running, p slackserver.Person) (string, error) {
			return p.Shortcut(r.ctx, "somebody_elses", slackserver.Channel, "E4 wedge missing")
		}},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Parallel()
			r := start(t, nil, nil)
			id, err := row.do(r, r.As(slackserver.User))
			if err != nil {
				t.Fatal(err)
			}
			if err := r.AwaitAck(r.ctx, id); err != nil {
				t.Fatal(err)
			}
			if r.handler.Left() > 0 || r.Shown() != "" {
				t.Errorf("heard %+v, shown %q", r.next(t), r.Shown())
			}
		})
	}
}

// A mention in a channel that is listened to comes twice, as a mention and as a
// message; both are one event (PLATFORMS.md: they share a ts).
func TestMentionAndMessageAreOne(t *testing.T) {
	r := start(t, nil, nil)
	p := r.As(slackserver.User)
	const ts = "1790000600.000100"
	for _, kind := range []string{"message", "app_mention"} {
		if _, _, err := p.Write(r.ctx, slackserver.Other, "", map[string]any{"type": kind, "ts": ts, "text": "<@UBOT> queue"}); err != nil {
			t.Fatal(err)
		}
	}
	first, second := r.next(t), r.next(t)
	if first.ID != second.ID || !first.Direct || !second.Direct || first.Text != "queue" {
		t.Errorf("first %+v, second %+v", first, second)
	}
}

// People in a workspace that no file lists are told so once, and nothing of
// theirs is handed on.
func TestElsewhere(t *testing.T) {
	r := start(t, nil, func(o *slack.Options) { o.Tokens = map[string]string{"T77": slackserver.BotToken} })
	p := r.As("U77")
	r.Fail("chat.postEphemeral", slackserver.Failure{Error: "channel_not_found"})
	for range 3 {
		id, err := p.Elsewhere(r.ctx, "T77", "how do I slip a gap")
		if err != nil {
			t.Fatal(err)
		}
		if err := r.AwaitAck(r.ctx, id); err != nil {
			t.Fatal(err)
		}
	}
	if err := r.Await(r.ctx, "I do not work in this place"); err != nil {
		t.Fatal(err)
	}
	if r.handler.Left() != 0 || len(r.Messages()) != 1 {
		t.Errorf("%d events, messages %+v", r.handler.Left(), r.Messages())
	}
}
