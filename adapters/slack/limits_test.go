package slack_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"kitbell/adapters/adaptertest/slackserver"
	"kitbell/bot"
)

// Each limit of the platform's, by the reference page that states it: the server
// of the tests refuses what is one over it, and takes what the adapter makes of a
// reply that would be.
func TestDocumentedLimits(t *testing.T) {
	long := func(n int) string { return strings.Repeat("x", n) }
	block := func(format string, args ...any) string { return "[" + fmt.Sprintf(format, args...) + "]" }
	button := func(label, value string) string {
		return fmt.Sprintf(`{"type":"button","action_id":%q,"text":{"type":"plain_text","text":%q},"value":%q}`, "a"+value, label, value)
	}
	options := func(n, text, value int) string {
		var all []string
		for i := range n {
			all = append(all, fmt.Sprintf(`{"text":{"type":"plain_text","text":"%s"},"value":"%s"}`, fmt.Sprint(i)+long(text-len(fmt.Sprint(i))), fmt.Sprint(i)+long(value-len(fmt.Sprint(i)))))
		}
		return fmt.Sprintf(`{"type":"actions","elements":[{"type":"static_select","action_id":"s","options":[%s]}]}`, strings.Join(all, ","))
	}
	buttons := func(n int) (all []string) {
		for i := range n {
			all = append(all, button("b", fmt.Sprint(i)))
		}
		return all
	}
	many := func(n int) (all []bot.Button) {
		for i := range n {
			all = append(all, bot.Button{Label: fmt.Sprint("Choice ", i), Value: fmt.Sprint("say:", i)})
		}
		return all
	}
	for _, row := range []struct {
		page, limit  string
		within, over string // blocks at the limit, and one over it
		reply        bot.Reply
	}{
		{"Header block", "150 characters", block(`{"type":"header","text":{"type":"plain_text","text":%q}}`, long(150)),
			block(`{"type":"header","text":{"type":"plain_text","text":%q}}`, long(151)), bot.Reply{Title: long(151), Text: "x"}},
		{"Section block", "3,000 characters of text", block(`{"type":"section","text":{"type":"mrkdwn","text":%q}}`, long(3000)),
			block(`{"type":"section","text":{"type":"mrkdwn","text":%q}}`, long(3001)), bot.Reply{Text: long(3001)}},
		{"Actions block", "25 elements", block(`{"type":"actions","elements":[%s]}`, strings.Join(buttons(25), ",")),
			block(`{"type":"actions","elements":[%s]}`, strings.Join(buttons(26), ",")), bot.Reply{Text: "x", Buttons: many(25)}},
		{"Button element", "75 characters of label", block(`{"type":"actions","elements":[%s]}`, button(long(75), "v")),
			block(`{"type":"actions","elements":[%s]}`, button(long(76), "v")), bot.Reply{Text: "x", Buttons: []bot.Button{{Label: long(76), Value: "say:x"}}}},
		{"Button element", "2,000 characters of value", block(`{"type":"actions","elements":[%s]}`, button("b", long(200))),
			block(`{"type":"actions","elements":[%s]}`, button("b", long(2001))), bot.Reply{Text: "x", Buttons: []bot.Button{{Label: "b", Value: "say:" + long(60)}}}},
		{"Block elements", "255 characters of an action's id", block(`{"type":"actions","elements":[%s]}`, button("b", long(254))),
			block(`{"type":"actions","elements":[%s]}`, button("b", long(255))), bot.Reply{Text: "x", Buttons: many(2)}},
		{"Select menu element", "100 options", block("%s", options(100, 10, 10)), block("%s", options(101, 10, 10)), bot.Reply{Text: "x", Buttons: many(24)}},
		{"Option object", "75 characters of text", block("%s", options(1, 75, 10)), block("%s", options(1, 76, 10)), bot.Reply{Text: "x", Buttons: many(6)}},
		{"Option object", "150 characters of value", block("%s", options(1, 10, 150)), block("%s", options(1, 10, 151)), bot.Reply{Text: "x", Buttons: many(6)}},
		{"Image block", "2,000 characters of alt text", block(`{"type":"image","alt_text":%q,"slack_file":{"id":"F1"}}`, long(2000)),
			block(`{"type":"image","alt_text":%q,"slack_file":{"id":"F1"}}`, long(2001)), bot.Reply{Text: "x", Pictures: []bot.Picture{{Scene: "s", Alt: long(2001)}}}},
		{"Blocks", "50 blocks in a message", "[" + strings.Repeat(`{"type":"divider"},`, 49) + `{"type":"divider"}]`, "[" + strings.Repeat(`{"type":"divider"},`, 50) + `{"type":"divider"}]`,
			bot.Reply{Text: "x", Fields: fields(80)}},
	} {
		t.Run(row.page+": "+row.limit, func(t *testing.T) {
			if err := slackserver.CheckBlocks(json.RawMessage(row.within), 50); err != nil {
				t.Errorf("at the limit: %v", err)
			}
			if slackserver.CheckBlocks(json.RawMessage(row.over), 50) == nil {
				t.Error("one over the limit was taken")
			}
			r := start(t, nil, drawn)
			if _, err := r.adapter.Send(r.ctx, bot.Outgoing{Key: "k", To: here, Reply: row.reply}); err != nil {
				t.Error(err)
			}
		})
	}
}

func fields(n int) (all []bot.Field) {
	for i := range n {
		all = append(all, bot.Field{Name: fmt.Sprint("Field ", i), Value: "value"})
	}
	return all
}
