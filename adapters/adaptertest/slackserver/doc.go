// Package slackserver is a chat server on loopback that speaks the wire of
// Slack as far as an adapter needs it: the Web API, Socket Mode, files. It does
// what people do there (Say, Press, Submit and others), keeps what was shown, and
// fails on request: refusals, pauses, cut and silent links.
//
// The smallest use:
//
//	server := slackserver.Start()
//	defer server.Close()
//	adapter, err := slack.New(slack.Options{API: server.URL(), ...})
//	server.Say(ctx, slackserver.Channel, "queue")
//
// The shapes are those of the platform's reference pages and of PLATFORMS.md. It
// checks tokens and the limits of what is sent, and nothing else.
package slackserver
