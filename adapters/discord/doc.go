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
// Calls go through the library's session and its buckets. The link to the
// gateway is this package's own: the library's can hang for good while it
// reconnects, cannot be ended with a ctx, and leaves goroutines behind. What
// arrives is stored before the platform is told so. Interaction tokens
// live in memory only. It does not decide what is answered and follows no links.
package discord
