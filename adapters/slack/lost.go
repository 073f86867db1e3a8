package slack

import (
	"context"

	"kitbell/bot"
)

// lost tells of a place that is gone, where an event says so. It is nobody's
// message.
func (a *Adapter) lost(ctx context.Context, c callback) (is bool) {
	at := bot.Address{Platform: Name, Workspace: c.Team, Channel: c.Event.Channel}
	why := ""
	switch c.Event.Type {
	case "channel_archive", "group_archive":
		why = "the channel was archived"
	case "channel_deleted", "group_deleted":
		why = "the channel was deleted"
	case "member_left_channel":
		if c.Event.User != c.self() {
			return true
		}
		why = "I was taken out of the channel"
	case "app_uninstalled":
		at.Channel, why = "", "the app was taken out of the workspace"
	case "tokens_revoked":
		at.Channel, why = "", "the bot's token was revoked"
	default:
		return false
	}
	a.options.Lost(ctx, at, why)
	return true
}
