package discord

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
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
		c := command{Name: spec.Name, Description: short(spec.Description, 100), Type: slashKind}
		for _, o := range spec.Options {
			option := commandOption{Type: textOption, Name: o.Name, Description: short(o.Description, 100), Required: o.Required, Suggests: o.Suggests != ""}
			for _, one := range o.Choices[:min(len(o.Choices), maxOptions)] {
				option.Choices = append(option.Choices, choice{one.Label, one.Value})
			}
			c.Options = append(c.Options, option)
		}
		all = append(all, c)
	}
	return all
}

// offerCommands makes each guild's commands those of the bot, where they differ:
// the platform counts what is registered.
func (a *Adapter) offerCommands(ctx context.Context) error {
	a.mu.Lock()
	app := a.app
	a.mu.Unlock()
	want := a.commands()
	for _, guild := range a.options.Guilds() {
		path := "applications/" + app + "/guilds/" + guild + "/commands"
		var have []command
		if err := a.call(ctx, "GET", path, nil, &have); err != nil {
			return fmt.Errorf("read commands of guild %s: %w", guild, err)
		}
		if same(have, want) {
			continue
		}
		if err := a.call(ctx, "PUT", path, want, nil); err != nil {
			return fmt.Errorf("write commands of guild %s: %w", guild, err)
		}
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
