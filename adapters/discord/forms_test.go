package discord_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"kitbell/adapters/adaptertest/discordserver"
	"kitbell/adapters/discord"
	"kitbell/bot"
)

// many is a prompter whose form has more choices than a list takes (reference
// page "Message components": 25), and more inputs and longer words than a modal
// takes.
type many struct{}

func (many) Form(_ context.Context, p bot.Press) (bot.Form, bool) {
	f := bot.Form{ID: "report", Title: strings.Repeat("Report ", 10), Inputs: []bot.FormInput{{Name: "item", Label: strings.Repeat("Which tool ", 9), Value: "tool-3"}}}
	for i := range 40 {
		f.Inputs[0].Choices = append(f.Inputs[0].Choices, bot.Choice{Label: fmt.Sprint("Tool number ", i), Value: fmt.Sprint("tool-", i)})
	}
	for i := range 6 {
		f.Inputs = append(f.Inputs, bot.FormInput{Name: fmt.Sprint("more", i), Label: "More", Long: true, Value: strings.Repeat("x", 5000)})
	}
	return f, p.Value == "form:report"
}

func (many) Suggest(context.Context, bot.Partial) []bot.Choice { return nil }

// A name that was typed where a list is too short stands for its choice.
func TestFormWithManyChoices(t *testing.T) {
	server := discordserver.Start()
	defer server.Close()
	server.Check = descriptionIfThere(t)
	r := startOn(t, server, nil, func(o *discord.Options) { withCommands(o); o.Prompter = many{} })
	p := r.As(discordserver.User)
	id, err := p.Slash(r.ctx, discordserver.Channel, "report", nil)
	if err != nil {
		t.Fatal(err)
	}
	if answer, err := r.Answer(r.ctx, id); err != nil || !strings.Contains(string(answer), `"value":"Tool number 3"`) {
		t.Fatalf("answered %s, %v", answer, err)
	}
	if err := r.AwaitThat(r.ctx, func() bool { return len(r.Forms()) == 1 }); err != nil {
		t.Fatal(err)
	}
	if _, err := p.Submit(r.ctx, discordserver.Channel, map[string]string{"item": "tool NUMBER 31", "more0": "bent"}); err != nil {
		t.Fatal(err)
	}
	e := r.next(t)
	if e.Kind != bot.Submitted || e.Form != "report" || e.Values["item"] != "tool-31" || e.Values["more0"] != "bent" || e.Where != here {
		t.Errorf("heard %+v", e)
	}
}
