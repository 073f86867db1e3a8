package command

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"kitbell/bot"
	"kitbell/bot/kit"
)

// asServed puts above what a reply shows of cards all that stands against going
// by them here today: what the chief of training has not approved, and the tools
// in them that are under stop-use.
func (r *Request) asServed(ctx context.Context, reply bot.Reply, ids ...string) (bot.Reply, error) {
	reply, err := r.asAdopted(ctx, reply, ids...)
	if err != nil {
		return reply, err
	}
	items := slices.Clone(ids) // a tool's card has the tool's id
	for _, id := range ids {
		if c, ok := r.Cards.Card(id); ok {
			items = append(items, c.Tools...)
		}
	}
	return r.underStops(ctx, reply, items...)
}

// underStops puts first which of the items are not to be used. One that was only
// asked for is named as well: it may be what is broken.
func (r *Request) underStops(ctx context.Context, reply bot.Reply, items ...string) (bot.Reply, error) {
	stops, err := r.stopUses(ctx)
	if err != nil {
		return reply, err
	}
	var lines []string
	for _, u := range stops {
		if slices.Contains(items, u.Item) {
			lines = append(lines, r.stopLine(u))
		}
	}
	reply.Text = strings.TrimSpace(strings.Join(append(lines, reply.Text), "\n"))
	return reply, nil
}

func (r *Request) stopLine(u kit.StopUse) string {
	if u.Called {
		return fmt.Sprintf("Stop-use since %s: %s. Do not use it.", r.day(u.At), r.stopName(u))
	}
	return fmt.Sprintf("Stop-use asked for: %s. Leave it until the lead has answered.", r.stopName(u))
}
