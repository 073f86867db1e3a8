package slack

import (
	"context"

	"github.com/slack-go/slack"

	"kitbell/bot"
)

// Which channels other organisations read too. Only an event that is a message
// says it; presses, commands and the bot's own posts go by what was learned.

// learnShared keeps what an event says of its channel.
func (a *Adapter) learnShared(team, channel string, shared bool) {
	if team == "" || channel == "" {
		return
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	switch at := team + "/" + channel; {
	case shared:
		a.shared[at] = true
	default:
		delete(a.shared, at)
	}
}

// isShared says whether a channel is known to be read by others.
func (a *Adapter) isShared(at bot.Address) bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.shared[at.Workspace+"/"+at.Channel]
}

// lookWhoReads asks the platform of each channel that a file lists, once: what
// was shared while the program was away is known before the first post.
func (a *Adapter) lookWhoReads(ctx context.Context) {
	if a.options.Channels == nil {
		return
	}
	for _, at := range a.options.Channels() {
		api, err := a.api(at.Workspace)
		if err != nil {
			continue
		}
		if _, err := a.lookWhoReadsOne(ctx, api, at); err != nil && ctx.Err() == nil {
			a.options.Log.InfoContext(ctx, "not known who reads a channel", "channel", at.Channel, "error", a.translate(err, true))
		}
	}
}

func (a *Adapter) lookWhoReadsOne(ctx context.Context, api *slack.Client, at bot.Address) (shared bool, err error) {
	ctx, cancel := context.WithTimeout(ctx, callFor)
	defer cancel()
	c, err := api.GetConversationInfoContext(ctx, &slack.GetConversationInfoInput{ChannelID: at.Channel})
	if err != nil {
		return false, err
	}
	shared = c.IsExtShared || c.IsPendingExtShared
	a.learnShared(at.Workspace, at.Channel, shared)
	return shared, nil
}

// checkWhoReads is what preflight says of a channel's readers.
func (a *Adapter) checkWhoReads(ctx context.Context, at bot.Address) bot.Finding {
	f := bot.Finding{What: "readers of channel " + at.Channel}
	api, err := a.api(at.Workspace)
	if err != nil {
		f.Fix = err.Error()
		return f
	}
	shared, err := a.lookWhoReadsOne(ctx, api, at)
	if err != nil {
		return a.finding(f.What, err)
	}
	f.OK = !shared
	if shared {
		f.Fix = "people of other organisations read along: stop sharing the channel, or take it out of the file"
	}
	return f
}
