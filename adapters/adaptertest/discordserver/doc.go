// Package discordserver is a chat server on loopback that speaks the wire of
// Discord as far as an adapter needs it: the REST API and the gateway. It does
// what people do there (Say, Press, Submit and others), keeps what was shown, and
// fails on request: refusals, pauses, reconnects, invalid sessions, silence,
// heartbeats without an answer.
//
// The smallest use:
//
//	server := discordserver.Start()
//	defer server.Close()
//	adapter, err := discord.New(discord.Options{API: server.URL(), ...})
//	server.As(discordserver.User).Mention(ctx, discordserver.Channel, "queue")
//
// The shapes are those of the platform's reference pages and of PLATFORMS.md. It
// checks tokens and the limits of what is sent, and nothing else. What a link did
// not bring, taking the session up again does.
package discordserver
