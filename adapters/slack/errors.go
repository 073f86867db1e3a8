package slack

import (
	"errors"
	"fmt"
	"net/http"
	"slices"

	"github.com/slack-go/slack"

	"kitbell/bot"
)

// hopelessWords are the platform's errors that only a person can mend.
func hopelessWords() []string {
	return []string{"invalid_auth", "account_inactive", "not_authed", "token_revoked", "token_expired", "not_allowed_token_type", "missing_scope"}
}

// barred says whether an error is about the bot's token as a whole.
func barred(word string) bool {
	return word != "missing_scope" && slices.Contains(hopelessWords(), word)
}

// because says in words for a person why something was refused; it is an error of
// the kind as.
type because struct {
	why string
	as  error
}

// Error is the words alone.
func (b because) Error() string { return b.why }

// Unwrap gives the kind.
func (b because) Unwrap() error { return b.as }

// goneWords are those that say that a channel, a message or a person is gone.
func goneWords() []string {
	return []string{
		"channel_not_found", "is_archived", "not_in_channel", "message_not_found", "cant_update_message", "edit_window_closed",
		"user_not_found", "user_not_in_channel", "thread_not_found", "restricted_action", "cannot_reply_to_message", "users_not_found",
	}
}

// fix says what a person does about an error of the platform.
func fix(e slack.SlackErrorResponse) string {
	switch e.Err {
	case "missing_scope":
		return "the app lacks the scope " + e.Needed + ": add it under OAuth & Permissions and install the app again"
	case "not_allowed_token_type":
		return "this is the wrong kind of token: the bot's begins with xoxb-, the app's with xapp-"
	case "token_expired", "token_revoked", "invalid_auth", "not_authed":
		return "the token is not valid any more: take a new one from the app's page"
	case "account_inactive":
		return "the app was taken out of the workspace: install it again"
	case "not_in_channel":
		return "the bot is not in the channel: type /invite and its name there"
	case "channel_not_found":
		return "there is no such channel for the bot: check the id in the file, and invite the bot there"
	case "is_archived":
		return "the channel is archived: take it out of the file, or restore it"
	}
	return "the platform says " + e.Err
}

// unsure is an error that leaves open whether a message arrived.
type unsure struct{ error }

// MaybeSent is always true.
func (unsure) MaybeSent() bool { return true }

// Unwrap gives the cause.
func (u unsure) Unwrap() error { return u.error }

// translate makes the library's error one of ours. twice says that the call can
// be made again without harm.
func (a *Adapter) translate(err error, twice bool) error {
	var limited *slack.RateLimitedError
	var refused slack.SlackErrorResponse
	var status slack.StatusCodeError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &limited):
		a.options.Count("rate-limit")
		return &bot.RateLimitError{After: limited.RetryAfter, Err: err}
	case errors.As(err, &refused) && slices.Contains([]string{"ratelimited", "rate_limited", "message_limit_exceeded"}, refused.Err),
		errors.As(err, &status) && status.Code == http.StatusTooManyRequests:
		a.options.Count("rate-limit")
		return &bot.RateLimitError{Err: err}
	case errors.As(err, &refused) && slices.Contains(goneWords(), refused.Err):
		return because{fix(refused), bot.ErrNotFound}
	case errors.As(err, &refused) && barred(refused.Err):
		return because{fix(refused), bot.ErrBarred}
	case errors.As(err, &refused):
		return fmt.Errorf("%s: %w", fix(refused), err)
	case twice:
		return err
	}
	return unsure{err} // a 5xx or a cut connection: it may have arrived
}
