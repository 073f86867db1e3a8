package discord_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"kitbell/adapters/adaptertest/discordserver"
	"kitbell/adapters/discord"
	"kitbell/bot"
)

// slash types the private command and gives its event and interaction.
func (r *running) slash(t *testing.T, name string) (e bot.Event, interaction string) {
	t.Helper()
	id, err := r.As(discordserver.User).Slash(r.ctx, discordserver.Channel, name, map[string]string{"text": "what is a shim", "unit": "engine-4"})
	if err != nil {
		t.Fatal(err)
	}
	return r.next(t), id
}

// An answer that is ready before the platform has the first one waits for it: by
// a token that is not yet answered nothing can be sent (measured at the server
// here, as the platform's: 10015).
func TestAnswerWaitsForItsInteraction(t *testing.T) {
	sent := make(chan error, 1)
	var r *running
	ready := make(chan struct{})
	answer := func(e bot.Event) error {
		<-ready
		go func() {
			_, err := r.adapter.Send(r.ctx, bot.Outgoing{Key: "k", To: e.Where, Answers: e.ID, Reply: bot.Reply{Text: "A thin wedge.", Private: true}})
			sent <- err
		}()
		return nil
	}
	r = start(t, answer, withCommands)
	close(ready)
	r.slash(t, "ask")
	if err := <-sent; err != nil {
		t.Fatal(err)
	}
	if all := r.Messages(); len(all) != 1 || all[0].Only != discordserver.User || all[0].Channel != discordserver.Channel {
		t.Errorf("shown %+v", all)
	}
}

// However slow the disk is, the platform has its answer within three seconds,
// and what then goes wrong is told.
func TestSlowDiskIsAnsweredInTime(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	r := start(t, func(bot.Event) error { <-release; return errors.New("disk is gone") }, withCommands)
	begin := time.Now()
	_, id := r.slash(t, "ask")
	if _, err := r.Answer(r.ctx, id); err != nil {
		t.Fatal(err)
	}
	if took := time.Since(begin); took > 3*time.Second {
		t.Errorf("answered after %s", took)
	}
	close(release)
	if err := r.Await(r.ctx, "Something went wrong on my side"); err != nil {
		t.Fatal(err)
	}
}

// Who sees an answer is who shall see it, whatever the first answer promised;
// and no promise is left standing.
func TestWhoSeesAnAnswer(t *testing.T) {
	for _, row := range []struct {
		name, command string
		private       bool
		want          string // the one person, empty for all
	}{
		{"promised to one, for one", "ask", true, discordserver.User},
		{"promised to one, for all", "ask", false, ""},
		{"promised to all, for all", "queue", false, ""},
		{"promised to all, for one", "queue", true, discordserver.User},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Parallel()
			r := start(t, nil, withCommands)
			e, _ := r.slash(t, row.command)
			to := e.Where
			to.Person = ""
			if row.private {
				to.Person = e.From.ID
			}
			for i := range 2 { // the first keeps or takes back the promise
				o := bot.Outgoing{Key: fmt.Sprint("k", i), To: to, Answers: e.ID, Reply: bot.Reply{Text: fmt.Sprint("Answer ", i), Private: row.private}}
				if _, err := r.adapter.Send(r.ctx, o); err != nil {
					t.Fatal(err)
				}
			}
			all := r.Messages()
			if len(all) != 2 || all[0].Only != row.want || all[1].Only != row.want || all[1].Channel != discordserver.Channel {
				t.Errorf("shown %+v", all)
			}
			if n := r.Promised(); n != 0 {
				t.Errorf("%d promises stand", n)
			}
		})
	}
}

// What one person saw can be changed while its token lives; later the change is
// a message in their own line.
func TestPrivateAnswerChanges(t *testing.T) {
	clock := bot.NewManualClock(time.Now())
	r := start(t, nil, func(o *discord.Options) { withCommands(o); o.Clock = clock })
	e, _ := r.slash(t, "ask")
	o := bot.Outgoing{Key: "k", To: e.Where, Answers: e.ID, Reply: bot.Reply{Text: "As it was.", Private: true}}
	ref, err := r.adapter.Send(r.ctx, o)
	if err != nil {
		t.Fatal(err)
	}
	o.Key, o.Edit, o.Reply.Text = "k2", &ref, "As it is."
	if _, err := r.adapter.Send(r.ctx, o); err != nil {
		t.Fatal(err)
	}
	if all := r.Messages(); len(all) != 1 || all[0].Text != "As it is\\." && all[0].Text != "As it is." {
		t.Errorf("shown %+v", all)
	}
	clock.Set(clock.Now().Add(16 * time.Minute))
	o.Key = "k3"
	if _, err := r.adapter.Send(r.ctx, o); err != nil {
		t.Fatal(err)
	}
	if all := r.Messages(); all[len(all)-1].Channel != discordserver.Direct {
		t.Errorf("after the token's time: %+v", all)
	}
}

// A change takes away what is not there any more: buttons, an embed.
func TestChangeTakesAway(t *testing.T) {
	server := discordserver.Start()
	defer server.Close()
	server.Check = descriptionIfThere(t)
	a := open(t, server, nil)
	o := bot.Outgoing{Key: "k", To: here, Reply: bot.Reply{Text: strings.Repeat("*", 1500), Buttons: []bot.Button{{Label: "Undo", Value: "undo:1"}}}}
	ref, err := a.Send(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	o.Key, o.Edit, o.Reply = "k2", &ref, bot.Reply{Text: "Undone."}
	if _, err := a.Send(t.Context(), o); err != nil {
		t.Fatal(err)
	}
	var sent map[string]json.RawMessage
	if err := json.Unmarshal(server.Messages()[0].Raw, &sent); err != nil {
		t.Fatal(err)
	}
	for _, field := range []string{"components", "embeds", "attachments"} {
		if string(sent[field]) != "[]" {
			t.Errorf("%s is %s: what was there stays", field, sent[field])
		}
	}
	if string(sent["allowed_mentions"]) != `{"parse":[]}` {
		t.Errorf("a change lets people be called: %s", sent["allowed_mentions"])
	}
}

// A thread hangs below the question; where none can be made, the answer stands in
// the channel.
func TestThreads(t *testing.T) {
	for _, row := range []struct {
		name    string
		failure *discordserver.Failure
		known   bool
		want    func(question string) string
	}{
		{"made", nil, false, func(q string) string { return q }},
		{"made already", nil, true, func(q string) string { return q }},
		{"not allowed", &discordserver.Failure{Status: 403, Code: 50013}, false, func(string) string { return discordserver.Channel }},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Parallel()
			r := start(t, nil, nil)
			r.mention(t, "how do I slip a gap")
			e := r.next(t)
			if row.known {
				other := open(t, r.Server, nil) // another run made it
				to := e.Where
				to.Thread = e.On
				if _, err := other.Send(r.ctx, bot.Outgoing{Key: "first", To: to, Reply: bot.Reply{Text: "First."}}); err != nil {
					t.Fatal(err)
				}
			}
			if row.failure != nil {
				r.Fail("POST channels", *row.failure)
			}
			to := e.Where
			to.Thread = e.On
			ref, err := r.adapter.Send(r.ctx, bot.Outgoing{Key: "k", To: to, Reply: bot.Reply{Text: "Here."}})
			if err != nil {
				t.Fatal(err)
			}
			all := r.Messages()
			if got := all[len(all)-1].Channel; got != row.want(e.On) {
				t.Errorf("it stands in %s, want %s", got, row.want(e.On))
			}
			if _, err := r.adapter.Send(r.ctx, bot.Outgoing{Key: "k2", To: to, Edit: &ref, Reply: bot.Reply{Text: "Here now."}}); err != nil {
				t.Errorf("change: %v", err)
			}
		})
	}
}

// A channel that the bot may not write in hears the answer to a command anyway:
// the command's own token opens it.
func TestAnswersWhereItMayNotWrite(t *testing.T) {
	r := start(t, nil, withCommands)
	e, _ := r.slash(t, "queue")
	if _, err := r.adapter.Send(r.ctx, bot.Outgoing{Key: "k", To: e.Where, Answers: e.ID, Reply: bot.Reply{Text: "First."}}); err != nil {
		t.Fatal(err)
	}
	r.Fail("POST channels", discordserver.Failure{Status: 403, Code: 50001})
	if _, err := r.adapter.Send(r.ctx, bot.Outgoing{Key: "k2", To: e.Where, Answers: e.ID, Reply: bot.Reply{Text: "Second."}}); err != nil {
		t.Errorf("second: %v", err)
	}
}

// An interaction that nothing is done with is answered all the same: without an
// answer the platform says that the bot is broken.
func TestEveryInteractionIsAnswered(t *testing.T) {
	r := start(t, nil, withCommands)
	p := r.As(discordserver.User)
	for name, do := range map[string]func() (string, error){
		"a command of an earlier version": func() (string, error) {
			return p.Slash(r.ctx, discordserver.Channel, "gone", nil)
		},
		"a message with no words": func() (string, error) {
			return p.MessageCommand(r.ctx, discordserver.Channel, discord.ReportCommand, "")
		},
	} {
		id, err := do()
		if err != nil {
			t.Fatal(err)
		}
		if answer, err := r.Answer(r.ctx, id); err != nil || !strings.Contains(string(answer), "Type what you need") {
			t.Errorf("%s: %s, %v", name, answer, err)
		}
	}
}

// What people typed is shown as they typed it, calls nobody, and unfolds nothing
// (reference page "Message formatting"). The server's screen takes away what is
// not escaped.
func TestTypedWordsAreNoMarks(t *testing.T) {
	server := discordserver.Start()
	defer server.Close()
	server.Check = descriptionIfThere(t)
	a := open(t, server, nil)
	for i, typed := range []string{
		"**wedge** and __hook__", "||secret||", "# heading", "  > quote", "- item", "-# small", "`code` and ```block```", "~~gone~~",
		"<@123456789012345678> and <#1> and <t:0:R>", "@everyone @here", "[this](https://example.org)", "a :smile: and :broken_key:", "\\_(o)_/",
		"https://example.org/a_b_c*d", strings.Repeat("*_`", 500),
	} {
		if _, err := a.Send(t.Context(), bot.Outgoing{Key: fmt.Sprint("k", i), To: here, Reply: bot.Reply{Text: typed}}); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(server.Shown(), typed) {
			t.Errorf("%.40q is shown as %.80q", typed, server.Messages()[i].Text)
		}
	}
}
