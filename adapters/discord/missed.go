package discord

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"time"

	"kitbell/bot"
)

// How much is fetched after a gap.
const (
	// missedFor is how far back a new start looks that knows no better.
	missedFor   = 15 * time.Minute
	mostFetched = 100 // in one call
	mostCalls   = 10  // for one channel
	// before is how much earlier than the last thing heard of a gap may begin: the
	// server's parts do not speak in the order of the ids.
	before = 10 * time.Second
)

// missed fetches what was said after an id in the channels that the files name
// and in the direct lines heard of, and queues it. The worker sorts out what was
// heard already and what was said to nobody.
func (g *gateway) missed(ctx context.Context, after uint64) {
	after -= min(after-1, uint64(before.Milliseconds())<<22)
	all := append(slices.Clone(g.options.Channels()), g.places.direct()...)
	for _, id := range all {
		if !isID(id) {
			continue
		}
		if err := g.missedIn(ctx, id, after); err != nil && ctx.Err() == nil {
			g.options.Log.WarnContext(ctx, "missed messages not fetched", "channel", id, "error", err)
		}
	}
}

func (g *gateway) missedIn(ctx context.Context, channel string, after uint64) error {
	at, err := g.place(ctx, channel)
	if err != nil {
		return err
	}
	for range mostCalls {
		var page []json.RawMessage
		path := fmt.Sprintf("channels/%s/messages?limit=%d&after=%d", channel, mostFetched, after)
		if err := g.patiently(ctx, request{method: http.MethodGet, path: path}, &page); err != nil {
			return err
		}
		slices.Reverse(page) // the newest stands first
		for _, raw := range page {
			raw, id, err := inGuild(raw, at.Guild)
			if err != nil {
				continue
			}
			after = max(after, id)
			select {
			case g.queue <- payload{Op: opDispatch, Type: "MESSAGE_CREATE", Data: raw, fetched: true}:
			case <-ctx.Done():
				return ctx.Err()
			}
		}
		if len(page) < mostFetched {
			return nil
		}
	}
	return nil
}

// patiently makes a call and waits, a few times, when it is asked to.
func (g *gateway) patiently(ctx context.Context, c request, into any) error {
	const tries = 5
	for try := 1; ; try++ {
		err := g.do(ctx, c, into)
		var limited *bot.RateLimitError
		if !errors.As(err, &limited) || try == tries {
			return err
		}
		if err := g.options.Clock.Wait(ctx, g.options.Clock.Now().Add(max(limited.After, time.Second))); err != nil {
			return err
		}
	}
}

// inGuild puts the guild into a message: what is fetched does not say it.
func inGuild(raw json.RawMessage, guild string) (json.RawMessage, uint64, error) {
	var fields map[string]json.RawMessage
	if err := json.Unmarshal(raw, &fields); err != nil {
		return nil, 0, err
	}
	var id string
	if err := json.Unmarshal(fields["id"], &id); err != nil {
		return nil, 0, err
	}
	if guild != "" {
		fields["guild_id"] = json.RawMessage(strconv.Quote(guild))
	}
	out, err := json.Marshal(fields)
	return out, number(id), err
}

// number is an id as a number, 0 for what is none.
func number(id string) uint64 {
	n, err := strconv.ParseUint(id, 10, 64)
	if err != nil {
		return 0
	}
	return n
}
