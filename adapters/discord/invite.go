package discord

import (
	"fmt"
	"net/url"
)

// permissions are the least that the bot works with (reference page
// "Permissions"): View Channel, Send Messages, Embed Links, Attach Files, Read
// Message History, Create Public Threads, Send Messages in Threads.
const permissions = 1<<10 | 1<<11 | 1<<14 | 1<<15 | 1<<16 | 1<<35 | 1<<38

// Invite is the link by which somebody who manages a guild lets the bot in, with
// the least permissions. application is the application's id.
func Invite(application string) string {
	q := url.Values{}
	q.Set("client_id", application)
	q.Set("scope", "bot applications.commands")
	q.Set("permissions", fmt.Sprint(int64(permissions)))
	return "https://discord.com/oauth2/authorize?" + q.Encode()
}
