// Package slack connects kitbell to Slack: by Socket Mode, over two links that
// the platform may replace at any time, or by the signed HTTP Events API. It
// hears mentions, direct messages, one slash command, one message shortcut,
// presses, forms and the opening of its page; plain sentences only in channels
// that a department's file opens to listening.
//
// The smallest use:
//
//	a, err := slack.New(slack.Options{AppToken: app, Token: bot, Directory: directory, Clock: clock, Log: log})
//	err = a.Run(ctx, handler)
//
// What a payload says is handed on and stored before the platform is told that
// it arrived; the work happens later. Reply handles live in memory only. It does
// not decide what is answered, keeps no history of a channel and follows no
// links.
package slack
