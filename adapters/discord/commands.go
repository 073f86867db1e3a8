package discord

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"

	"kitbell/bot"
)

// command is a slash or message command as the platform keeps it.
type command struct {
	Name        string          `json:"name"`
	Description string          `json:"description"`
	Type        int             `json:"type"`
	Options     []commandOption `json:"options,omitempty"`
}

type commandOption struct {
	Type        int      `json:"type"`
	Name        string   `json:"name"`
	Description string   `json:"description"`
	Required    bool     `json:"required,omitempty"`
	Suggests    bool     `json:"autocomplete,omitempty"`
	Choices     []choice `json:"choices,omitempty"`
}

const (
	slashKind  = 1
	textOption = 3
)

// commands are those that the bot offers.
func (a *Adapter) commands() []command {
	all := []command{{Name: ReportCommand, Type: messageCommandKind}}
	for _, spec := range a.options.Commands {
		c := command{Name: spec.Name, Description: bot.Shorten(spec.Description, 100), Type: slashKind}
		for _, o := range spec.Options {
			option := commandOption{Type: textOption, Name: o.Name, Description: bot.Shorten(o.Description, 100), Required: o.Required, Suggests: o.Suggests != ""}
			for _, one := range o.Choices[:min(len(o.Choices), maxOptions)] {
				option.Choices = append(option.Choices, choice{one.Label, one.Value})
			}
			c.Options = append(c.Options, option)
		}
		all = append(all, c)
	}
	return all
}

// offer is offerCommands for a new session.
func (g *gateway) offer(ctx context.Context) {
	if err := g.offerCommands(ctx); err != nil && ctx.Err() == nil {
		g.options.Log.WarnContext(ctx, "commands not offered", "error", err)
	}
}

// offerCommands makes each guild's commands those of the bot, where they differ:
// the platform counts what is registered.
func (a *Adapter) offerCommands(ctx context.Context) error {
	app, _ := a.whoami()
	want := a.commands()
	var errs []error
	for _, guild := range a.options.Guilds() {
		errs = append(errs, a.offerIn(ctx, "applications/"+app+"/guilds/"+guild+"/commands", want))
	}
	return errors.Join(errs...) // one guild's trouble is not another's
}

func (a *Adapter) offerIn(ctx context.Context, path string, want []command) error {
	var have []command
	if err := a.call(ctx, http.MethodGet, path, nil, &have); err != nil {
		return fmt.Errorf("read commands of a guild: %w", err)
	}
	if same(have, want) {
		return nil
	}
	if err := a.call(ctx, http.MethodPut, path, want, nil); err != nil {
		return fmt.Errorf("write commands of a guild: %w", err)
	}
	return nil
}

func same(a, b []command) bool {
	key := func(all []command) []string {
		var keys []string
		for _, c := range all {
			encoded, err := json.Marshal(c)
			if err != nil {
				return nil
			}
			keys = append(keys, string(encoded))
		}
		slices.Sort(keys)
		return keys
	}
	return slices.Equal(key(a), key(b))
}
