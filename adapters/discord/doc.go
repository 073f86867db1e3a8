// Package discord connects kitbell to Discord: by the gateway, with no
// privileged intent unless a channel is opened to listening, or by signed HTTP
// interactions. It hears mentions, direct messages, commands with suggestions,
// one message command, presses and forms.
//
// The smallest use:
//
//	a, err := discord.New(discord.Options{Token: token, Directory: directory, Log: log})
//	err = a.Run(ctx, handler)
//
// The library underneath can hang while it reconnects, so the loop, the watch
// over a silent gateway and the count of logins are here. Interaction tokens
// live in memory only. It does not decide what is answered and follows no links.
package discord
